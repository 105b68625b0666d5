"""What is raised, changed and withdrawn. Threats are invented."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alerts.policy.judging import WarningChange, judge, stale
from alerts.policy.standing import as_data, from_data, warning_id
from tests.alerts.made_up import (
    BEECH,
    BEGINS,
    DAY,
    ENDS,
    FORECAST,
    GARDEN,
    MAPLE,
    NOW,
    RULES,
    SECOND,
    judged,
    mild,
    raised,
    threat,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from alerts.policy.standing import Standing
    from alerts.threats import Threat

RUN = timedelta(hours=6)  # from one forecast to the next


def one(threats: Iterable[Threat], standing: Standing, runs: float = 1) -> WarningChange:
    """Return what the judgement so many forecasts later makes of the one warning that stands."""
    (change,) = judged(threats, [standing], now=NOW + runs * RUN)
    return change


def test_a_warning_names_its_trees_with_the_most_endangered_first() -> None:
    change = raised(mild(BEECH), threat(MAPLE), threat(SECOND, bad=45.0))
    assert [each.tree for each in change.threats] == [SECOND, MAPLE, BEECH]
    assert change.standing.levels == {SECOND: "danger", MAPLE: "danger", BEECH: "caution"}
    assert (change.standing.onset, change.standing.expires) == (BEGINS, ENDS)
    assert change.standing.severity == "Severe"


@pytest.mark.parametrize(
    ("chances", "level"),
    [((0.49, 0.19), None), ((0.5, 0.0), "caution"), ((0.2, 0.2), "danger"), ((1.0, 0.19), "caution")],
)
def test_a_level_is_raised_by_its_chance(chances: tuple[float, float], level: str | None) -> None:
    """The lines stand in config/warnings.toml."""
    changes = judged([threat(chances=chances)])
    assert [each.standing.levels.get(MAPLE) for each in changes] == ([level] if level else [])


def test_there_is_one_warning_for_a_hazard_and_a_day() -> None:
    frost = threat(hazard="frost")
    later = threat(day=DAY + timedelta(days=1), begins=BEGINS + timedelta(hours=18))
    ids = {each.standing.id for each in judged([threat(), threat(SECOND), frost, later])}
    assert len(ids) == 3
    assert warning_id(GARDEN, "heat", DAY) in ids


def test_a_warning_is_raised_in_the_coming_36_hours_only() -> None:
    """So far ahead goes a freeze warning of the US National Weather Service (its Blacksburg office, criteria page)."""
    far = threat(begins=NOW + timedelta(hours=37), ends=NOW + timedelta(hours=40))
    assert judged([far]) == ()
    assert len(judged([replace(far, begins=NOW + timedelta(hours=36))])) == 1


def test_what_is_over_is_not_warned_of() -> None:
    assert judged([threat(ends=NOW)]) == ()


# Changes


@given(
    st.lists(
        st.lists(
            st.tuples(
                st.sampled_from((MAPLE, SECOND, BEECH)), st.floats(0, 1), st.floats(0, 1), st.integers(-6, 6)
            )
        ),
        max_size=12,
    )
)
def test_any_course_of_forecasts_keeps_id_and_counts_revisions(course: list[list[tuple[Any, ...]]]) -> None:
    standings: dict[Any, Standing] = {}
    for run, found in enumerate(course):
        threats = [
            threat(tree, chances=(max(a, b), min(a, b)), begins=BEGINS + timedelta(hours=h))
            for tree, a, b, h in found
        ]
        unique = {each.tree: each for each in threats}.values()
        for change in judged(unique, standings.values(), now=NOW + run * timedelta(hours=1)):
            before = standings.get(change.standing.id)
            told = change.action is not None
            assert change.standing.revision == (before.revision if before else 0) + told
            assert change.standing.id == warning_id(GARDEN, "heat", DAY)
            assert (
                change.action != "update"
                or "danger" in change.what
                or change.standing.changes <= RULES.change.most
            )
            standings[change.standing.id] = change.standing
            assert from_data(json.loads(json.dumps(as_data(change.standing)))) == change.standing


def test_a_tree_that_comes_into_danger_late_is_told_at_once() -> None:
    standing = replace(raised(mild()).standing, changes=9)
    for late in ([threat()], [mild(), threat(SECOND)]):
        change = one(late, standing)
        assert (change.action, change.what) == ("update", ("danger",))
        assert change.standing.severity == "Severe"


def test_danger_that_shows_only_as_it_begins_is_told_at_once() -> None:
    (change,) = judged([threat()], now=BEGINS + timedelta(minutes=10))
    assert change.action == "new"


def test_a_tree_more_at_caution_waits_for_the_next_change() -> None:
    standing = raised(mild()).standing
    quiet = one([mild(), mild(SECOND)], standing)
    assert (quiet.action, set(quiet.standing.levels)) == (None, {MAPLE})
    told = one([mild(), mild(SECOND), threat(BEECH)], quiet.standing, 2)
    assert set(told.standing.levels) == {MAPLE, SECOND, BEECH}


@pytest.mark.parametrize(
    ("begins_h", "ends_h", "what"),
    [
        (-1.9, 0, ()),
        (-2, 0, ("earlier",)),
        (2.9, 0, ()),
        (3, 0, ("later",)),
        (0, 2.9, ()),
        (0, 3, ("longer",)),
        (0, -6, ()),
    ],
)
def test_other_hours_are_told_when_they_matter(begins_h: float, ends_h: float, what: tuple[str, ...]) -> None:
    moved = threat(begins=BEGINS + timedelta(hours=begins_h), ends=ENDS + timedelta(hours=ends_h))
    change = one([moved], raised().standing)
    assert change.what == what
    assert change.action == ("update" if what else None)


def test_a_tree_near_its_line_has_no_hours_of_its_own() -> None:
    """Where no line is reached, a threat is bounded by its worst hour, which may be any (see `alerts.hazards.judge`)."""
    near = mild(typical=37.5, bad=37.9, chances=(0.0, 0.0))
    near = replace(near, begins=BEGINS - timedelta(hours=5), ends=ENDS + timedelta(hours=5))
    standing = raised(mild(), mild(SECOND)).standing
    assert one([near, mild(SECOND)], standing).action is None
    told = one([near, mild(SECOND), threat(BEECH)], standing)
    assert (told.standing.onset, told.standing.expires) == (BEGINS, ENDS)


def test_danger_that_was_told_is_kept_from_a_lower_chance() -> None:
    moved = threat(typical=39.0, chances=(0.9, 0.12), begins=BEGINS - timedelta(hours=2))
    assert one([moved], raised().standing).standing.levels == {MAPLE: "danger"}
    assert one([moved], raised(mild()).standing).standing.levels == {MAPLE: "caution"}


def test_hours_are_changed_twice_at_most() -> None:
    standing = raised().standing
    told: list[str | None] = []
    for run, hours in enumerate((-2, 1, -3, 2), start=1):
        change = one([threat(begins=BEGINS + timedelta(hours=hours))], standing, run / 6)
        standing, told = change.standing, [*told, change.action]
    assert told == ["update", "update", None, None]


def test_once_begun_it_does_not_begin_later() -> None:
    now = BEGINS + timedelta(hours=4)
    (change,) = judged([threat(begins=now)], [raised().standing], now=now)
    assert change.action is None


def test_a_change_after_it_has_begun_leaves_it_begun() -> None:
    now = BEGINS + timedelta(hours=1)
    (change,) = judged([threat(begins=now + timedelta(hours=2))], [raised(mild()).standing], now=now)
    assert (change.what, change.standing.onset) == (("danger",), BEGINS)
    assert judged([], [change.standing], now=now + RUN) == ()


# Withdrawal


def test_it_takes_two_forecasts_in_a_row_to_withdraw() -> None:
    first = one([], raised().standing)
    assert (first.action, first.standing.missed) == (None, 1)
    found = one([threat()], first.standing, 2)
    assert found.standing.missed == 0
    again = one([], first.standing, 2)
    assert (again.action, again.standing.state) == ("withdraw", "withdrawn")
    assert again.standing.revision == 2


def test_the_same_forecast_judged_twice_counts_once() -> None:
    first = one([], raised().standing)
    assert judged([], [first.standing], now=NOW + 2 * RUN, forecast_at=first.standing.forecast_at) == ()


def test_an_older_forecast_that_comes_late_does_not_count_the_newer_twice() -> None:
    newest = one([], raised().standing, 2).standing
    (late,) = judged([threat()], [newest], now=NOW + 2 * RUN, forecast_at=FORECAST + RUN)
    assert late.standing.forecast_at == newest.forecast_at


def test_a_middle_course_within_a_degree_of_the_line_keeps_it() -> None:
    near = mild(typical=37.0, chances=(0.1, 0.0))
    assert one([near], raised(mild()).standing).standing.missed == 0
    assert one([replace(near, typical=36.9)], raised(mild()).standing).standing.missed == 1
    frost = threat(hazard="frost", typical=0.0, chances=(0.1, 0.0))  # its line is at -1
    assert one([frost], raised(threat(hazard="frost")).standing).standing.missed == 0
    assert one([replace(frost, typical=0.1)], raised(threat(hazard="frost")).standing).standing.missed == 1


def test_what_has_begun_passes_and_is_not_withdrawn() -> None:
    missed = one([], raised().standing).standing
    assert judged([], [missed], now=BEGINS) == ()
    assert judged([], [missed], now=ENDS + RUN) == ()


def test_a_passed_warning_whose_hours_wobble_does_not_come_again() -> None:
    (change,) = judged(
        [threat(ends=ENDS + timedelta(hours=2))], [raised().standing], now=ENDS + timedelta(hours=1)
    )
    assert change.action is None


def test_a_withdrawn_warning_comes_again_under_its_id() -> None:
    gone = one([], one([], raised().standing).standing, 2).standing
    assert judged([threat(chances=(0.4, 0.15))], [gone], now=NOW + 2.5 * RUN) == ()
    change = one([threat()], gone, 2)
    assert (change.action, change.standing.id, change.standing.revision) == ("new", gone.id, 3)


# Old forecasts


def test_an_old_forecast_raises_and_withdraws_nothing() -> None:
    old = NOW - timedelta(hours=RULES.stale_h.value, minutes=1)
    assert stale(old, NOW, RULES)
    assert not stale(FORECAST, NOW, RULES)
    missed = one([], raised().standing).standing
    assert judge(GARDEN, [threat(SECOND)], [missed], old, NOW, RULES) == ()


def test_what_nobody_was_told_of_is_raised_as_new_under_a_later_revision() -> None:
    """Hot pots of which nobody was told, because a move against heat helped too; then nothing helps any more."""
    roots = raised(threat(hazard="hot roots")).standing
    later = NOW + RUN
    (change,) = judge(GARDEN, [threat(hazard="hot roots")], [roots], later, later, RULES, untold={roots.id})
    assert (change.action, change.standing.revision) == ("new", roots.revision + 1)
    again = judge(GARDEN, [threat(hazard="hot roots")], [roots], later, later, RULES)
    assert [one.action for one in again] == [None]
    assert judge(GARDEN, [], [roots], later, later, RULES, untold={roots.id}) == ()


# Hours of which the forecast tells nothing


def test_what_lies_in_hours_of_which_nothing_is_known_is_not_missed() -> None:
    standing, hour = raised().standing, timedelta(hours=1)
    for first, last in ((ENDS - hour, ENDS), (BEGINS, BEGINS + hour), (NOW + hour, ENDS + RUN)):
        later = NOW + 2 * RUN
        assert judge(GARDEN, [], [standing], later, later, RULES, [(first, last)]) == ()
    beside = [(NOW + RUN, BEGINS), (ENDS, ENDS + RUN)]
    later = NOW + RUN
    assert [one.standing.missed for one in judge(GARDEN, [], [standing], later, later, RULES, beside)] == [1]


def test_a_warning_keeps_the_hours_of_which_nothing_is_known_now() -> None:
    standing, later = raised(mild()).standing, NOW + RUN
    late = mild(begins=BEGINS + timedelta(hours=4), ends=ENDS)
    (known,) = judge(GARDEN, [late], [standing], later, later, RULES)
    assert known.what == ("later",)
    gap = [(BEGINS, BEGINS + timedelta(hours=4))]
    (unknown,) = judge(GARDEN, [late], [standing], later, later, RULES, gap)
    assert (unknown.what, unknown.standing.onset) == ((), BEGINS)
    short = threat(begins=BEGINS + timedelta(hours=4), ends=ENDS - timedelta(hours=2))
    gap.append((ENDS - timedelta(hours=2), ENDS))
    (worse,) = judge(GARDEN, [short], [standing], later, later, RULES, gap)
    assert (worse.what, worse.standing.onset, worse.standing.expires) == (("danger",), BEGINS, ENDS)


def test_a_warning_that_came_back_is_withdrawn_by_twice_as_many_forecasts() -> None:
    """Else a forecast that changes its mind each half day is told twice a day."""
    standing, told = raised().standing, []
    course = (False, False, True, False, False, False, True, False, False, False, False)
    for run, found in enumerate(course, start=1):
        (change,) = judged([threat()] if found else [], [standing], now=NOW + run * timedelta(hours=1))
        standing = change.standing
        told.append(change.action)
    back, gone = told.index("new"), [n for n, action in enumerate(told) if action == "withdraw"]
    assert (back, gone) == (2, [1, 10])
    assert (standing.returned, standing.revision) == (1, 4)


def test_a_clock_that_ran_ahead_does_not_make_later_forecasts_count_for_nothing() -> None:
    ahead = replace(raised().standing, forecast_at=NOW + timedelta(days=3))
    assert one([], ahead).standing.missed == 1


def test_danger_is_told_first() -> None:
    found = judged([mild(hazard="heat"), mild(BEECH, hazard="heat"), threat(hazard="hot roots")])
    assert [one.standing.hazard for one in found] == ["hot roots", "heat"]
