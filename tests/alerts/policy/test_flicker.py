"""A forecast that flickers does not nag. Threats are invented."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tests.alerts.made_up import BEGINS, ENDS, MAPLE, NOW, RULES, SECOND, judged, mild, raised, threat

held = st.fixed_dictionaries(
    {
        # In the band: above what keeps a warning, below what would make its danger new.
        "chances": st.tuples(st.floats(RULES.caution.kept_from, 1.0), st.floats(0.0, 0.19)),
        "typical": st.floats(30.0, 50.0),
        "bad": st.floats(36.0, 41.9),
        "begins": st.integers(-119, 179).map(lambda m: BEGINS + timedelta(minutes=m)),
        "ends": st.integers(-300, 179).map(lambda m: ENDS + timedelta(minutes=m)),
        "found": st.booleans(),
    }
)


@given(st.lists(held, max_size=8))
def test_a_forecast_that_flickers_within_its_band_tells_nothing_more(course: list[dict[str, Any]]) -> None:
    standing, found_before = raised(mild()).standing, True
    for run, values in enumerate(course, start=1):
        # Lost in one forecast, but not in two in a row.
        found = values.pop("found") or not found_before
        found_before = found
        threats = [mild(**values), mild(SECOND, **values)] if found else []
        now = NOW + run * timedelta(hours=1)
        for change in judged(threats, [standing], now=now):
            assert change.action is None
            standing = change.standing
    assert standing.revision == 1


@given(st.lists(st.floats(0.1, 1.0), max_size=6))
def test_danger_that_wobbles_in_its_chance_is_told_once(chances: list[float]) -> None:
    standing = raised().standing
    for run, chance in enumerate(chances, start=1):
        for change in judged([threat(chances=(1.0, chance))], [standing], now=NOW + run * timedelta(hours=1)):
            assert change.action is None
            standing = change.standing


def test_one_forecast_takes_back_neither_a_tree_nor_its_danger() -> None:
    """Else the next one that brings them again would be told as a new danger."""
    begins = BEGINS - timedelta(hours=2)
    easing = [
        threat(typical=39.0, chances=(0.9, 0.0), begins=begins),
        threat(SECOND, typical=36.0, chances=(0.1, 0.0)),
    ]
    (eased,) = judged(easing, [raised(threat(), threat(SECOND)).standing], now=NOW + timedelta(hours=6))
    assert (eased.what, eased.standing.levels) == (("earlier",), {MAPLE: "danger", SECOND: "danger"})
    back = [threat(begins=begins), threat(SECOND)]
    (again,) = judged(back, [eased.standing], now=NOW + timedelta(hours=12))
    assert again.action is None
