"""Work before heat that is forecast. The forecasts and items are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any
from uuid import UUID

import pytest

from calendar_core.planning.items import Follows, Item, Range
from calendar_core.planning.works import heat_ahead
from calendar_core.planning.works.heat_ahead import after_heat
from tests.planning.made_up import knowledge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.planning.items import NotPlanned

TODAY = date(2015, 7, 1)


def repot(closes_in: int) -> Item:
    opens, closes = (TODAY + timedelta(days=days) for days in (-3, closes_in))
    return Item(
        UUID(int=1), UUID(int=2), "rhododendron-indicum", "repot", "repot", 2015, "structure",
        Range(opens, opens, opens), Range(closes, closes, closes), 1.0, "due", "", (), ("heat_after_repotting",),
    )  # fmt: skip


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Give what plans an item before so many days of 36 degC."""

    def after(hot_days: int, item: Item) -> tuple[Sequence[Item], Sequence[NotPlanned]]:
        maxima = [36.0] * hot_days + [28.0] * 16
        monkeypatch.setattr(heat_ahead, "expected_maxima", lambda *_: maxima)
        known = SimpleNamespace(forecast=SimpleNamespace(to=TODAY + timedelta(days=len(maxima) - 1)))
        traces: Any = SimpleNamespace(known=known)
        return after_heat([item], traces, knowledge().cautions, TODAY)

    return after


@pytest.mark.parametrize(
    ("hot_days", "closes_in", "opens_in"), [(3, 10, 3), (3, 3, 3), (3, 2, None), (5, 0, None)]
)
def test_work_opens_after_the_heat_or_not_at_all(
    hot_days: int, closes_in: int, opens_in: int | None, planned: Any
) -> None:
    """Its caution puts repotting off before 35 degC, which is common practice: on its last day too."""
    kept, lost = planned(hot_days, repot(closes_in))
    if opens_in is None:
        assert kept == []
        assert [reason.code for reason in lost[0].reasons] == ["heat_ahead", "heat_outlasts"]
        assert lost[0].reasons[1].found == TODAY + timedelta(days=closes_in)
    else:
        assert lost == []
        assert kept[0].opens.likely == TODAY + timedelta(days=opens_in)


def test_what_was_done_is_looked_after_in_the_heat(planned: Any) -> None:
    look = replace(repot(2), operation="look", follows=Follows("after repotting", UUID(int=3), None))
    assert planned(3, look) == ([look], [])
