"""Which computed changes reach subscribers. The bands are our own; SEQUENCE follows RFC 5545 3.8.7.4."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

import pytest

from calendar_core.planning.events import ComputedEvent, PublishedEvent
from calendar_core.publishing.revise import Change, MassWithdrawalError, Revision, revise

UID = UUID(int=7)
DAY = timedelta(days=1)
MARCH = date(2015, 3, 1)
PLAN = ComputedEvent(
    uid=UID,
    group="wiring",
    cycle=2015,
    tree_ids=(UUID(int=1),),
    start=date(2015, 4, 10),
    end=date(2015, 4, 30),
    summary="Wiring: 3 trees",
    description="Why: the leaves are open.",
    reminder="Wiring",
    categories=("Wiring",),
    status="TENTATIVE",
)


def noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def run(
    told: tuple[PublishedEvent, ...],
    *plans: ComputedEvent,
    today: date,
    edited: frozenset[UUID] = frozenset(),
    late: frozenset[UUID] = frozenset(),
    gone: tuple[PublishedEvent, ...] = (),
) -> Revision:
    before = {event.uid: event for event in gone}
    return revise(told, plans, now=noon(today), today=today, edited=edited, late=late, gone=before)


def told_on(today: date, plan: ComputedEvent = PLAN) -> tuple[PublishedEvent, ...]:
    return run((), plan, today=today).events


def shifted(opens_d: int = 0, closes_d: int = 0) -> ComputedEvent:
    return replace(PLAN, start=PLAN.start + opens_d * DAY, end=PLAN.end + closes_d * DAY)


def test_a_new_event_is_told_as_computed() -> None:
    revision = run((), PLAN, today=MARCH)
    (event,) = revision.events
    assert revision.changes == (Change(UID, "added"),)
    assert (event.sequence, event.created_at, event.revised_at) == (0, noon(MARCH), noon(MARCH))
    assert (event.start, event.end, event.summary, event.status) == (
        PLAN.start,
        PLAN.end,
        PLAN.summary,
        "TENTATIVE",
    )


def test_a_window_that_is_over_is_not_told_any_more() -> None:
    assert run((), PLAN, today=PLAN.end + DAY) == Revision((), ())
    assert run((), PLAN, today=PLAN.end).changes == (Change(UID, "added"),)


def test_nothing_changed_is_nothing_told() -> None:
    told = told_on(MARCH)
    assert run(told, PLAN, today=MARCH + 8 * DAY) == Revision(told, ())


def test_a_move_raises_the_sequence_and_both_stamps() -> None:
    today = PLAN.start - 10 * DAY
    revision = run(told_on(MARCH), shifted(5, 5), today=today)
    (event,) = revision.events
    assert revision.changes == (Change(UID, "moved"),)
    assert (event.start, event.end) == (PLAN.start + 5 * DAY, PLAN.end + 5 * DAY)
    assert (event.sequence, event.revised_at, event.created_at) == (1, noon(today), noon(MARCH))


@pytest.mark.parametrize(
    ("lead_d", "opens_d", "told"),
    [
        (100, 19, False),  # a fifth of the days left
        (100, 20, True),
        (100, -20, True),
        (40, 7, False),
        (40, 8, True),
        (14, 1, False),  # two days when near
        (14, 2, True),
        (2, -1, False),
        (2, -2, True),
    ],
)
def test_an_opening_moves_by_the_band_of_its_lead(lead_d: int, opens_d: int, told: bool) -> None:
    today = PLAN.start - lead_d * DAY
    (event,) = run(told_on(today - 10 * DAY), shifted(opens_d), today=today).events
    assert event.start == (PLAN.start + opens_d * DAY if told else PLAN.start)


@pytest.mark.parametrize(("closes_d", "told"), [(-2, True), (-1, False), (1, False), (2, False), (3, True)])
def test_a_last_day_moves_sooner_more_readily_than_later(closes_d: int, told: bool) -> None:
    (event,) = run(told_on(MARCH), shifted(0, closes_d), today=PLAN.end - 5 * DAY).events
    assert event.end == (PLAN.end + closes_d * DAY if told else PLAN.end)


def test_small_shifts_of_both_ends_do_not_add_up() -> None:
    assert not run(told_on(MARCH), shifted(1, 2), today=PLAN.start - 2 * DAY).changes


@pytest.mark.parametrize(("lead_d", "rest_d"), [(60, 7), (20, 1)])
def test_moves_rest_a_day_or_a_week(lead_d: int, rest_d: int) -> None:
    today = PLAN.start - lead_d * DAY
    assert not run(told_on(today - (rest_d - 1) * DAY), shifted(15, 15), today=today).changes
    assert run(told_on(today - rest_d * DAY), shifted(15, 15), today=today).changes == (Change(UID, "moved"),)


def test_each_move_makes_the_next_dearer() -> None:
    today = PLAN.start - 10 * DAY
    once = run(told_on(MARCH), shifted(2, 2), today=today).events
    assert not run(once, shifted(-1, 1), today=today + DAY).changes
    back = run(once, shifted(-2, 1), today=today + DAY)
    assert [event.sequence for event in back.events] == [2]


def test_however_often_a_date_moved_it_is_not_frozen() -> None:
    today = PLAN.start - 10 * DAY
    often = tuple(replace(event, sequence=9, moves=9) for event in told_on(MARCH))
    assert not run(often, shifted(5, 5), today=today).changes
    assert run(often, shifted(6, 6), today=today).changes == (Change(UID, "moved"),)  # three bands


def test_what_the_grower_ticks_off_makes_no_move_dearer_and_takes_no_day_away() -> None:
    told, today = told_on(MARCH), PLAN.end - 10 * DAY
    for n in range(1, 9):
        done = replace(PLAN, tree_ids=(UUID(int=n),), start=PLAN.start + (n % 2) * DAY)
        told = run(told, done, today=today, edited=frozenset({UID})).events
    assert (told[0].sequence, told[0].moves) == (8, 0)
    (event,) = run(told, shifted(0, -3), today=today).events
    assert (event.end, event.moves) == (PLAN.end - 3 * DAY, 1)


def test_an_opening_that_comes_later_is_told_on_its_eve_however_dear() -> None:
    often = tuple(replace(event, moves=9) for event in told_on(MARCH))
    assert not run(often, shifted(3, 3), today=PLAN.start - 2 * DAY).changes
    (event,) = run(often, shifted(3, 3), today=PLAN.start - DAY).events
    assert (event.start, event.end) == (PLAN.start + 3 * DAY, PLAN.end + 3 * DAY)
    assert not run(often, shifted(2, 2), today=PLAN.start - DAY).changes


@pytest.mark.parametrize(
    "today_d", [1, 4, 9]
)  # the day after what was told; the window's first days; its last
def test_a_window_that_comes_after_what_was_told_is_over_is_told_after_all(today_d: int) -> None:
    often = tuple(replace(event, moves=9) for event in told_on(MARCH))
    late = replace(PLAN, start=PLAN.end + 4 * DAY, end=PLAN.end + 9 * DAY)
    (event,) = run(often, late, today=PLAN.end + today_d * DAY).events
    assert (event.start, event.end) == (late.start, late.end)
    assert not run(often, late, today=PLAN.end + 10 * DAY).changes
    assert not run(often, replace(late, start=PLAN.end), today=PLAN.end + DAY).changes  # some of it was told


def test_a_sooner_last_day_near_is_told_at_once_even_on_the_day_of_another_move() -> None:
    today = PLAN.end - 10 * DAY
    moved = run(told_on(MARCH), shifted(0, 5), today=today)
    again = run(moved.events, shifted(0, -3), today=today)
    (event,) = again.events
    assert moved.changes == again.changes == (Change(UID, "moved"),)
    # One day in hand for the change before; the stamp rises within the same second.
    assert event.end == PLAN.end - 4 * DAY
    assert (event.sequence, event.revised_at) == (2, noon(today) + timedelta(seconds=1))


def test_days_in_hand_do_not_end_a_window_before_today() -> None:
    today = PLAN.end - 4 * DAY
    told = tuple(replace(event, moves=5) for event in told_on(MARCH))
    assert [event.end for event in run(told, shifted(0, -3), today=today).events] == [today]
    assert [event.end for event in run(told, shifted(0, -6), today=today).events] == [today - 2 * DAY]


def test_an_opening_that_has_been_stays_while_the_end_moves() -> None:
    told = told_on(MARCH)
    (event,) = run(told, shifted(6, 6), today=PLAN.start).events
    assert (event.start, event.end) == (PLAN.start, PLAN.end + 6 * DAY)
    assert not run(told, shifted(6, -1), today=PLAN.start).changes


@pytest.mark.parametrize("days", [-40, 40])
def test_an_open_window_gives_way_to_quite_another(days: int) -> None:
    (event,) = run(told_on(MARCH), shifted(days, days), today=PLAN.start + DAY).events
    assert (event.start, event.end) == (PLAN.start + days * DAY, PLAN.end + days * DAY)


def test_the_past_is_frozen_and_dropped_in_a_monthly_step() -> None:
    told = told_on(MARCH)
    elsewhere = replace(shifted(3, 60), summary="another")
    for today in (date(2015, 5, 1), date(2015, 6, 30), date(2015, 7, 1) - DAY):
        assert run(told, elsewhere, today=today) == run(told, today=today) == Revision(told, ())
    # On 1 July the step reaches back to 2 May, past 30 April.
    assert run(told, today=date(2015, 7, 1)) == Revision((), (Change(UID, "removed"),))


def test_a_lost_window_is_cancelled_once_kept_a_week_and_removed() -> None:
    today = PLAN.start + DAY
    gone = run(told_on(MARCH), today=today)
    (event,) = gone.events
    assert gone.changes == (Change(UID, "cancelled"),)
    assert (event.status, event.sequence, event.revised_at) == ("CANCELLED", 1, noon(today))
    assert run(gone.events, today=today + 6 * DAY) == Revision(gone.events, ())
    assert run(gone.events, today=today + 7 * DAY) == Revision((), (Change(UID, "removed"),))


def test_a_plan_that_says_cancelled_is_a_lost_window() -> None:
    gone = run(told_on(MARCH), replace(PLAN, status="CANCELLED"), today=PLAN.start)
    assert gone.changes == (Change(UID, "cancelled"),)


def test_a_cancelled_window_comes_back_after_a_rest() -> None:
    today = PLAN.start - 10 * DAY
    gone = run(told_on(MARCH), today=today)
    assert not run(gone.events, PLAN, today=today).changes
    back = run(gone.events, shifted(1, 1), today=today + DAY)
    (event,) = back.events
    assert back.changes == (Change(UID, "reinstated"),)
    assert (event.status, event.sequence, event.start) == ("TENTATIVE", 2, PLAN.start + DAY)


def test_what_the_grower_edited_is_told_at_once_and_in_full() -> None:
    mine, told = frozenset({UID}), told_on(MARCH)
    assert run(told, shifted(1, 1), today=MARCH, edited=mine).changes == (Change(UID, "moved"),)
    assert run(told, replace(PLAN, summary="x"), today=MARCH, edited=mine).changes == (Change(UID, "text"),)
    assert not run(told, PLAN, today=MARCH, edited=mine).changes
    (event,) = run(told, shifted(3, 60), today=PLAN.end + DAY, edited=mine).events
    assert (event.start, event.end) == (PLAN.start + 3 * DAY, PLAN.end + 60 * DAY)
    gone = run(told, today=MARCH + DAY)
    assert run(gone.events, PLAN, today=MARCH + DAY, edited=mine).changes == (Change(UID, "reinstated"),)


def test_status_is_confirmed_once_and_does_not_flicker() -> None:
    sure, told, kinds = replace(PLAN, status="CONFIRMED"), told_on(MARCH), []
    for n in range(1, 35):
        revision = run(told, sure if n % 2 else PLAN, today=MARCH + n * DAY)
        kinds += [change.kind for change in revision.changes]
        told = revision.events
    assert kinds == ["status"]
    assert (told[0].status, told[0].sequence) == ("CONFIRMED", 1)


def test_a_confirmed_window_is_tentative_again_only_when_it_moves() -> None:
    told = told_on(MARCH, replace(PLAN, status="CONFIRMED"))
    assert [event.status for event in run(told, shifted(9, 9), today=PLAN.start - 10 * DAY).events] == [
        "TENTATIVE"
    ]
    assert [event.status for event in run(told, shifted(9, 9), today=PLAN.start).events] == ["CONFIRMED"]


def test_text_alone_is_told_weekly_and_leaves_the_sequence() -> None:
    other, told = replace(PLAN, description="Why: something else."), told_on(MARCH)
    assert not run(told, other, today=MARCH + 6 * DAY).changes
    revision = run(told, other, today=MARCH + 7 * DAY)
    (event,) = revision.events
    assert revision.changes == (Change(UID, "text"),)
    assert (event.description, event.sequence, event.revised_at) == (
        other.description,
        0,
        noon(MARCH + 7 * DAY),
    )
    assert event.dates_changed == MARCH
    assert not run(revision.events, PLAN, today=MARCH + 13 * DAY).changes


def test_text_rides_along_with_a_move() -> None:
    (event,) = run(told_on(MARCH), replace(shifted(9, 9), summary="new"), today=MARCH + 20 * DAY).events
    assert (event.summary, event.text_changed) == ("new", MARCH + 20 * DAY)


def many(count: int) -> list[ComputedEvent]:
    return [replace(PLAN, uid=UUID(int=n)) for n in range(1, count + 1)]


def test_losing_many_windows_at_once_is_refused_unless_meant() -> None:
    told = run((), *many(10), today=MARCH).events
    assert len(run(told, *many(7), today=MARCH + DAY).changes) == 3
    with pytest.raises(MassWithdrawalError, match="4 of 10 coming events"):
        run(told, *many(6), today=MARCH + DAY)
    meant = revise(told, many(6), now=noon(MARCH + DAY), today=MARCH + DAY, allow_many=True)
    assert [change.kind for change in meant.changes] == ["cancelled"] * 4
    assert len(run(told, *many(6), today=MARCH + DAY, edited=frozenset({UUID(int=10)})).changes) == 4


def test_a_small_calendar_may_empty_and_the_past_does_not_count() -> None:
    assert len(run(run((), *many(9), today=MARCH).events, today=MARCH).changes) == 9
    assert not run(run((), *many(20), today=MARCH).events, today=PLAN.end + DAY).changes


def test_events_come_sorted_by_uid() -> None:
    revision = run((), *reversed(many(5)), today=MARCH)
    assert [event.uid.int for event in revision.events] == [1, 2, 3, 4, 5]
    assert [change.uid.int for change in revision.changes] == [1, 2, 3, 4, 5]


def test_stamps_are_whole_seconds() -> None:
    (event,) = revise((), [PLAN], now=noon(MARCH).replace(microsecond=5), today=MARCH).events
    assert event.revised_at == event.created_at == noon(MARCH)


@pytest.mark.parametrize("zone", [None, timezone(timedelta(hours=2))])
def test_the_instant_must_be_utc(zone: timezone | None) -> None:
    with pytest.raises(ValueError, match="UTC"):
        revise((), [PLAN], now=datetime(2015, 3, 1, tzinfo=zone), today=MARCH)


def test_broken_plans_are_named() -> None:
    with pytest.raises(ValueError, match=f"{UID} comes twice"):
        run((), PLAN, PLAN, today=MARCH)
    with pytest.raises(ValueError, match="ends on 2015-04-01, before it starts"):
        run((), replace(PLAN, end=date(2015, 4, 1)), today=MARCH)


def test_what_waits_for_the_grower_does_not_end_before_it_is_answered() -> None:
    told = told_on(MARCH)
    for day in (PLAN.end + DAY, PLAN.end + 20 * DAY, PLAN.end + 90 * DAY):
        last = day + 3 * DAY
        revision = run(told, replace(PLAN, end=last), today=day, late=frozenset({UID}))
        (event,) = revision.events
        assert revision.changes == (Change(UID, "prolonged"),)
        assert (event.start, event.end, event.status) == (told[0].start, last, told[0].status)
        assert (event.sequence, event.moves) == (told[0].sequence + 1, 0)
        assert run(revision.events, replace(PLAN, end=last), today=last, late=frozenset({UID})).changes == ()
        told = revision.events


def test_an_event_that_comes_back_goes_on_from_where_it_was() -> None:
    """RFC 5545 3.8.7.4: SEQUENCE is "monotonically incremented"; 3.8.7.1: CREATED is when it was first made."""
    (was,) = told_on(MARCH)
    was = replace(was, sequence=5, revised_at=noon(PLAN.start) + DAY)
    (event,) = run((), PLAN, today=PLAN.start, gone=(was,)).events
    assert event.sequence > was.sequence
    assert event.revised_at > was.revised_at
    assert event.created_at == was.created_at
