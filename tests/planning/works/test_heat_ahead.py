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
    from collections.abc import Collection, Sequence

    from calendar_core.planning.items import NotPlanned

TODAY = date(2015, 7, 1)


def repot(closes_in: int, opens_in: int = -3) -> Item:
    opens, closes = (TODAY + timedelta(days=days) for days in (opens_in, closes_in))
    return Item(
        UUID(int=1), UUID(int=2), "rhododendron-indicum", "repot", "repot", 2015, "structure",
        Range(opens, opens, opens), Range(closes, closes, closes), 1.0, "due", "", (), ("heat_after_repotting",),
    )  # fmt: skip


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Give what plans an item before days of 36 degC, counted from today, among those of 28."""

    def after(
        hot_days: Collection[int], item: Item, ended_days_ago: int | None = None
    ) -> tuple[Sequence[Item], Sequence[NotPlanned]]:
        maxima = [36.0 if day in hot_days else 28.0 for day in range(24)]
        monkeypatch.setattr(heat_ahead, "expected_maxima", lambda *_: maxima)
        ends = len(maxima) - 1 if ended_days_ago is None else -ended_days_ago
        known = SimpleNamespace(forecast=SimpleNamespace(to=TODAY + timedelta(days=ends)))
        traces: Any = SimpleNamespace(known=known)
        return after_heat([item], traces, knowledge(), TODAY)

    return after


@pytest.mark.parametrize(
    ("hot_days", "closes_in", "opens_in"), [(3, 10, 3), (3, 3, 3), (3, 2, None), (5, 0, None)]
)
def test_work_opens_after_the_heat_or_not_at_all(
    hot_days: int, closes_in: int, opens_in: int | None, planned: Any
) -> None:
    """Its caution puts repotting off before 35 degC, which is common practice: on its last day too."""
    kept, lost = planned(range(hot_days), repot(closes_in))
    if opens_in is None:
        assert kept == []
        assert [reason.code for reason in lost[0].reasons] == ["heat_ahead", "heat_outlasts"]
        assert lost[0].reasons[1].found == TODAY + timedelta(days=closes_in)
    else:
        assert lost == []
        assert kept[0].opens.likely == TODAY + timedelta(days=opens_in)


@pytest.mark.parametrize(
    ("opens_in", "hot_day", "waits"),
    [(0, 7, True), (0, 8, False), (9, 8, False), (9, 16, True), (9, 17, False)],
)
def test_heat_of_a_week_from_the_opening_counts(
    opens_in: int, hot_day: int, waits: bool, planned: Any
) -> None:
    """Seven days are those of its caution: neither heat before the window opens counts, nor after them."""
    (kept,), _ = planned([hot_day], repot(40, opens_in))
    assert [reason.code for reason in kept.reasons] == ["heat_ahead"] * waits
    assert kept.opens.likely == TODAY + timedelta(days=hot_day + 1 if waits else opens_in)


def test_the_longer_of_two_waits_counts(planned: Any) -> None:
    """One caution looks a day ahead, the other a week."""
    both = ("hot_spell_feeding", "heat_after_repotting")
    for cautions in (both, both[::-1]):
        (kept,), _ = planned([0, 5], replace(repot(40), cautions=cautions))
        assert kept.opens.likely == TODAY + timedelta(days=6)


def test_a_forecast_that_has_ended_says_nothing(planned: Any) -> None:
    assert planned(range(3), repot(2), ended_days_ago=1) == ([repot(2)], [])
    assert planned(range(3), repot(2), ended_days_ago=0)[0] == []


def test_fertilizing_has_lines_of_heat_of_its_own(planned: Any) -> None:
    fed = replace(repot(2), operation="feeding", rule="feeding", cautions=("hot_spell_feeding",))
    assert planned(range(3), fed) == ([fed], [])


def test_what_was_done_is_looked_after_in_the_heat(planned: Any) -> None:
    look = replace(repot(2), operation="look", follows=Follows("after repotting", UUID(int=3), None))
    assert planned(range(3), look) == ([look], [])
