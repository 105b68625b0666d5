"""Due, wished, possible or not: from the state of a tree alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.cycle import Calendar
from calendar_core.garden.model import MonthDay
from calendar_core.garden.past_work import latest_done
from calendar_core.garden.state import Done, TreeState, Wish
from calendar_core.knowledge.words import AIMS, SIZES
from calendar_core.planning.works.due import Decision, decide
from tests.planning.made_up import bundled_work, knowledge, work_of

CALENDAR = Calendar(MonthDay(11, 12), south=False)
CYCLE = 2015
REPOT = bundled_work("acer-palmatum", "repot")  # every 2, 3 or 4 years by size
FULL = bundled_work("acer-palmatum", "full defoliation")


def state(*done: tuple[str, date], **keys: Any) -> TreeState:
    """A strong tree with a log of what was done."""
    log = [Done(operation, on, UUID(int=n)) for n, (operation, on) in enumerate(done)]
    return TreeState(**{"vigour": 5, "done": log, **keys})


def decided(
    work: Any,
    tree: TreeState,
    cycle: int = CYCLE,
    fed_from: date | None = None,
    middle: date | None = None,
) -> Decision:
    """What is decided; without the middle of a window the calendar's cycles tell where entries belong."""

    def belongs(_operation: str, day: date) -> int:
        return CALENDAR.belongs(day, [] if middle is None else [(cycle, middle)])

    return decide(
        work,
        tree,
        cycle,
        belongs,
        fed_from,
        knowledge().operations,
        latest_done(tree, knowledge().operations),
    )


def cycle_of_day(_operation: str, day: date) -> int:
    return CALENDAR.cycle(day)


def for_and_against(found: Decision) -> tuple[list[str], list[str]]:
    return [r.code for r in found.reasons], [r.code for r in found.against]


# What fertilizing waits for


def feeding_moved(
    *log: Done, operation: str = "feeding", after: bool = True
) -> tuple[date | None, list[str]]:
    """The end of the waits of a structured maple's work, and what they follow."""
    known, tree = knowledge(), TreeState(vigour=5, aim="structure", done=list(log))
    latest, rules = latest_done(tree, known.operations), known.feeding.after if after else ()
    work = bundled_work("acer-palmatum", operation)
    found = decide(work, tree, CYCLE, cycle_of_day, None, known.operations, latest, rules)
    return found.not_before, [reason.subject for reason in found.reasons if reason.code == "hold"]


def test_fertilizing_waits_after_a_cut_that_took_most_leaves() -> None:
    day = date(CYCLE, 6, 10)
    cut = Done("cut back", day, UUID(int=1), share=0.85)
    assert feeding_moved(cut) == (day + timedelta(weeks=2), ["cut back"])
    assert feeding_moved(replace(cut, share=0.5)) == feeding_moved(cut, after=False) == (None, [])


def test_a_wait_that_the_work_knows_itself_is_told_once() -> None:
    repotted = Done("repot", date(CYCLE, 3, 10), UUID(int=1))
    assert feeding_moved(repotted) == feeding_moved(repotted, after=False)


# What makes it due


@pytest.mark.parametrize(("size", "years"), [("small", 2), ("medium", 3), ("large", 4)])
def test_repotting_is_due_by_years_and_size(size: str, years: int) -> None:
    spring = date(CYCLE - years, 3, 20)
    due = decided(REPOT, state(("repot", spring), size=size))
    assert (due.status, due.reasons[0].code) == ("due", "interval")
    assert (due.reasons[0].found, due.reasons[0].needed) == (spring, years)
    early = decided(REPOT, state(("repot", spring), size=size), CYCLE - 1)
    assert (early.status, early.reasons[0].code) == ("possible", "interval_early")


def test_years_count_by_cycles_and_not_by_dates() -> None:
    # Late one spring and early the next but one: two cycles, though fewer than 730 days.
    assert decided(REPOT, state(("repot", date(2013, 4, 20)), size="small")).status == "due"
    # After leaf fall the next cycle has begun.
    assert decided(REPOT, state(("repot", date(2012, 11, 20)), size="medium")).status == "possible"


@pytest.mark.parametrize(
    ("on", "status"),
    [
        (date(2012, 4, 20), "due"),  # late that spring
        (date(2012, 9, 1), "due"),  # nearer to the window of that year than to the next
        (date(2012, 9, 25), "due"),  # half a year from any: of the cycle of its day
        (date(2012, 12, 25), "possible"),  # near the window of the next
        (date(2013, 3, 20), "possible"),
    ],
)
def test_years_count_from_window_to_window(on: date, status: str) -> None:
    # Medium: every three years; the window's middle is the spring equinox.
    found = decided(REPOT, state(("repot", on), size="medium"), middle=date(2015, 3, 20))
    assert found.status == status


def test_the_last_repotting_counts_and_other_work_does_not() -> None:
    log = (("repot", date(2014, 3, 1)), ("repot", date(2010, 3, 1)), ("wire", date(2015, 2, 1)))
    assert decided(REPOT, state(*log)).reasons[0].code == "interval_early"


def test_without_a_last_time_it_is_only_possible() -> None:
    found = decided(REPOT, state())
    assert (found.status, found.reasons[0].code) == ("possible", "interval_unknown")


@pytest.mark.parametrize("aim", AIMS)
def test_a_programme_belongs_to_its_aims(aim: str) -> None:
    work = work_of(due="programme", programme=["refinement"])
    found = decided(work, state(aim=aim))
    expected = ("due", "programme") if aim == "refinement" else ("possible", "other_aim")
    assert (found.status, found.reasons[0].code) == expected


def test_the_season_is_due_for_every_tree() -> None:
    for aim in AIMS:
        assert decided(work_of(due="season"), state(aim=aim, vigour=1)).status == "due"


def test_the_rest_waits_for_a_wish() -> None:
    work = work_of(operation="wire")
    assert for_and_against(decided(work, state())) == (["not_wished"], [])
    for wish in (Wish("wire", None), Wish("wire", CYCLE)):
        assert decided(work, state(wishes=[wish])).status == "wished"
    for wish in (Wish("repot", None), Wish("wire", CYCLE + 1)):
        assert decided(work, state(wishes=[wish])).status == "possible"


def test_a_wish_goes_before_every_other_claim() -> None:
    wish = [Wish("repot", CYCLE)]
    assert decided(REPOT, state(("repot", date(2010, 3, 1)), wishes=wish)).status == "wished"
    assert decided(REPOT, state(("repot", date(2014, 3, 1)), wishes=wish)).status == "wished"


# What rules it out


def test_a_weak_tree_is_left_alone_even_where_it_was_wished() -> None:
    found = decided(FULL, state(vigour=4, aim="refinement", wishes=[Wish("full defoliation", None)]))
    assert found.status is None
    assert [(r.code, r.found, r.needed) for r in found.against] == [("vigour_low", 4, 5)]


@pytest.mark.parametrize("vigour", [1, 2, 3, 4, 5])
def test_vigour_is_wanted_from_a_line_on(vigour: int) -> None:
    work = work_of(requires={"vigour_min": 3})
    found = for_and_against(decided(work, state(vigour=vigour)))
    # What speaks for it is only told where nothing speaks against it.
    assert found == ((["not_wished", "vigour_enough"], []) if vigour >= 3 else ([], ["vigour_low"]))


def test_what_follows_work_of_the_same_day_goes_by_the_order_of_the_log() -> None:
    """Old wire off and new wire on: there is wire to take off; wired and unwired, there is none."""
    unwire, day = work_of(operation="unwire", requires={"since": "wire"}), date(2015, 6, 1)
    on, off = ("wire", day), ("unwire", day)
    assert for_and_against(decided(unwire, state(("wire", date(2014, 11, 28)), on, off), 2016))[1] == [
        "nothing_since"
    ]
    assert decided(unwire, state(("wire", date(2014, 11, 28)), off, on), 2016).status is not None


def test_an_aim_that_does_not_fit() -> None:
    found = decided(FULL, state(aim="trunk"))
    assert (found.status, found.against[0].code, found.against[0].found) == (None, "aim_unfit", "trunk")


def test_feeding_must_be_in_the_log_since_the_stage() -> None:
    work, since = bundled_work("pinus-thunbergii", "decandling"), date(2015, 3, 10)
    tree = {"aim": "ramification"}
    assert decided(work, state(**tree), fed_from=since).against[0].code == "not_fed"
    assert (
        decided(work, state(("feeding", date(2015, 3, 9)), **tree), fed_from=since).against[0].code
        == "not_fed"
    )
    for feeding in ("feeding", "feeding gently", "feeding low nitrogen"):
        assert decided(work, state((feeding, since), **tree), fed_from=since).status == "due"
    assert decided(work, state(**tree), fed_from=None).status == "due"


def test_done_in_a_cycle_is_done() -> None:
    work = work_of(operation="wire", due="season")
    log = (("wire", date(2015, 6, 1)),)
    assert for_and_against(decided(work, state(*log)))[1] == ["done"]
    assert decided(work, state(*log), CYCLE + 1).status == "due"
    assert decided(work, state(("wire", date(2014, 11, 12)))).against[0].code == "done"  # the cycle had begun
    assert decided(work, state(("wire", date(2014, 11, 11)))).status == "due"


@pytest.mark.parametrize(
    ("on", "code"),
    [
        (date(2014, 11, 11), "done"),  # leaves fell early: the day before the cycle begins by the calendar
        (date(2014, 11, 20), "done"),
        (date(2015, 1, 30), "done"),  # late, and of no other window
        (date(2014, 5, 1), None),  # that was the summer before
        (date(2013, 12, 1), None),
    ],
)
def test_work_belongs_to_the_window_it_is_nearest_to(on: date, code: str | None) -> None:
    """Whatever the day on which the cycle begins by the calendar."""
    work = work_of(operation="wire", due="season")
    found = decided(work, state(("wire", on)), middle=date(2014, 11, 25))
    assert [reason.code for reason in found.against] == ([code] if code else [])


def test_work_in_december_is_that_winter_s_only() -> None:
    """A move is no such work any more: what it does stands in test_log_and_plan."""
    work = work_of(operation="wire", due="season")
    wired = state(("wire", date(2015, 12, 5)))
    # By the calendar the cycle of 2016 has begun with the leaf fall in November.
    assert decided(work, wired, 2015, middle=date(2015, 12, 1)).against[0].code == "done"
    assert decided(work, wired, 2016, middle=date(2016, 12, 1)).status == "due"


def test_a_wish_later_than_the_work_asks_for_more_of_it() -> None:
    """What was written later wins; a wish that was there before the work is met by it."""
    wired = ("wire", date(2014, 12, 5))
    before, after = Wish("wire", CYCLE), Wish("wire", CYCLE, after=frozenset({UUID(int=0)}))
    assert for_and_against(decided(work_of(), state(wired, wishes=[before])))[1] == ["done"]
    assert decided(work_of(), state(wired, wishes=[before, after])).status == "wished"
    assert for_and_against(decided(work_of(), state(wired, wishes=[replace(after, cycle=2016)])))[1] == [
        "done"
    ]
    again = state(wired, ("wire", date(2015, 5, 30)), wishes=[after])
    assert for_and_against(decided(work_of(), again))[1] == ["done"]


def test_a_wish_does_not_take_a_year_of_rest_away() -> None:
    """Rule of the trade: full defoliation of the maple not yearly."""
    log = state(("full defoliation", date(2015, 6, 1)), aim="refinement")
    log.wishes.append(Wish("full defoliation", CYCLE, after=frozenset({UUID(int=0)})))
    assert for_and_against(decided(FULL, log))[1] == ["done"]


def test_a_year_of_rest_between_two() -> None:
    """Rule of the trade: full defoliation of the maple not yearly."""
    log = (("full defoliation", date(2014, 6, 20)),)
    tree = state(*log, aim="refinement", wishes=[Wish("full defoliation", None)])
    for middle in (None, date(2015, 7, 1)):
        assert for_and_against(decided(FULL, tree, 2015, middle=middle))[1] == ["rests"]
    for middle in (None, date(2016, 7, 1)):
        assert decided(FULL, tree, 2016, middle=middle).status == "wished"


def test_not_in_the_cycle_of_a_repotting() -> None:
    """Rule of the trade: repotting and full defoliation not in one season."""
    tree = state(("repot", date(2015, 3, 10)), aim="refinement", wishes=[Wish("full defoliation", None)])
    (against,) = decided(FULL, tree).against
    assert (against.code, against.subject, against.found) == ("same_cycle", "repot", date(2015, 3, 10))
    assert decided(FULL, tree, 2016).status == "wished"


def test_all_that_speaks_against_it_is_told() -> None:
    tree = state(("repot", date(2015, 3, 10)), aim="trunk", vigour=2)
    assert for_and_against(decided(FULL, tree))[1] == ["aim_unfit", "vigour_low", "same_cycle"]


# What makes it wait


def test_the_longest_hold_sets_the_day_and_each_is_a_reason() -> None:
    holds = [
        {"after": "repot", "weeks": 12, "basis": "common practice"},
        {"after": "structural prune", "weeks": 2, "basis": "common practice"},
        {"after": "decandling", "weeks": 4, "basis": "common practice"},
    ]
    repotted, pruned = date(2015, 3, 10), date(2015, 5, 10)
    found = decided(work_of(holds=holds), state(("repot", repotted), ("structural prune", pruned)))
    assert found.not_before == repotted + timedelta(weeks=12)
    held = [(r.subject, r.found, r.needed, r.unit) for r in found.reasons if r.code == "hold"]
    assert held == [("repot", repotted, 12, "wk"), ("structural prune", pruned, 2, "wk")]
    assert decided(work_of(holds=holds), state()).not_before is None


def test_work_that_comes_again_waits_for_its_weeks_within_a_cycle() -> None:
    work, fed = bundled_work("acer-palmatum", "feeding gently"), date(2015, 6, 1)
    weeks = knowledge().operations["feeding gently"].again_weeks
    assert weeks is not None
    # One feeding counts for the others: the tree does not know which bag it came from.
    found = decided(work, state(("feeding", fed), aim="ramification"))
    assert (found.status, found.not_before) == ("due", fed + timedelta(weeks=weeks))
    assert [r.found for r in found.reasons if r.code == "again"] == [fed]


works = st.sampled_from([work for profile in knowledge().profiles.values() for work in profile.work])
logs = st.lists(
    st.tuples(
        st.sampled_from(sorted(knowledge().operations)),
        st.integers(0, 1500).map(lambda n: date(2012, 1, 1) + timedelta(days=n)),
    ),
    max_size=6,
)
trees = st.builds(
    lambda log, **keys: state(*log, **keys),
    logs,
    aim=st.sampled_from(AIMS),
    vigour=st.integers(1, 5),
    size=st.sampled_from(SIZES),
)


middles = st.one_of(st.none(), st.integers(0, 1500).map(lambda n: date(2013, 6, 1) + timedelta(days=n)))


@given(works, trees, st.integers(2014, 2017), middles)
@settings(max_examples=150, deadline=None)
def test_whatever_is_not_planned_has_a_reason_and_whatever_is_planned_has_one(
    work: Any, tree: TreeState, cycle: int, middle: date | None
) -> None:
    found = decided(work, tree, cycle, middle=middle)
    assert (found.status is None) == bool(found.against)
    assert (found.status is None) != bool(found.reasons)
    if found.status is not None:
        waits = any(reason.code in ("hold", "again") for reason in found.reasons)
        assert (found.not_before is not None) == waits


@given(works, trees, st.integers(2014, 2017), middles)
@settings(max_examples=100, deadline=None)
def test_a_stronger_tree_is_never_refused_more(
    work: Any, tree: TreeState, cycle: int, middle: date | None
) -> None:
    found = decided(work, tree, cycle, middle=middle)
    tree.vigour = 5
    assert len(decided(work, tree, cycle, middle=middle).against) <= len(found.against)


@pytest.mark.parametrize("species", ["pinus-thunbergii", "pinus-parviflora", "pinus-sylvestris"])
def test_candles_that_were_broken_rest_until_the_next_flush(species: str) -> None:
    # A pine of one flush makes no new candles, and one of two is decandled next (B. Manakitivipart, May 2010).
    work = bundled_work(species, "pinch")
    assert decided(work, state(aim="refinement")).status == "due"
    after = decided(work, state(("pinch", date(2015, 5, 2)), aim="refinement"))
    assert (after.status, [reason.code for reason in after.against]) == (None, ["done"])
