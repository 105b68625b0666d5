"""The moves of one tree as items: under cover, out of it, and the place that is made for it in time."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from calendar_core.knowledge.words import COVERS
from calendar_core.planning.items import NotPlanned, Reason
from calendar_core.planning.places.case import Draft, few_years, numbered, reason_of
from calendar_core.planning.places.moves import WOKEN_DAYS, Never
from calendar_core.planning.places.operations import INTO, MAKE, OUT

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.species.profile import Shelter
    from calendar_core.planning.places.case import Case, PlaceItems
    from calendar_core.planning.places.moves import Move, Mover


def cover_items(case: Case, shelter: Shelter, mover: Mover) -> Iterator[PlaceItems]:
    """Yield the coming moves of a tree, why one does not come, and those that were made."""
    made, told = list(_made(case)), set[bool]()
    for move in mover.moves(case.standing):
        if move.into and move.to is None and case.standing.place != "open":  # there is nowhere better
            told.add(move.into)
            yield case.absent(INTO, Reason("stands_sheltered"), case.ground.season(move.by))
            yield from _winter_place(case, move, shelter)
        elif move.into not in told:
            told.add(move.into)
            found = list(_move(case, move, shelter, made))
            yield from found
            if any(isinstance(item, NotPlanned) and item.operation in (INTO, OUT) for item in found):
                break  # it stays where it is, so that nothing follows
    for into in (True, False):
        if into not in told:
            yield _no_move(case, mover, shelter, into=into)
    woken = _woken(case, mover)
    for place, (operation, cycle, number, (day, spot)) in enumerate(made, 1):
        moved = Reason("moved", found=day, needed=spot.name)
        yield case.close(operation, cycle, number, Reason("woken") if woken and place == len(made) else moved)


def _woken(case: Case, mover: Mover) -> bool:
    """Return whether a tree that must rest has stood warm for too long to be carried into the cold."""
    stands, now = case.standing, case.ground.now
    return mover.rests and stands.place == "heated" and now - stands.since > WOKEN_DAYS


Made = tuple[str, int, int, tuple["date", "Spot"]]


def _made(case: Case) -> Iterator[Made]:
    """Yield the moves that were made: operation, cycle, how many came before it in that cycle, when and where to."""
    ground, met = case.ground, Counter[tuple[str, int]]()
    for day, here in case.stays[1:]:
        at = ground.axis.index(day)
        key = (OUT, ground.summer(at)) if here.profile == "open" else (INTO, ground.season(at))
        yield *key, met[key], (day, here)
        met[key] += 1


def _no_move(case: Case, mover: Mover, shelter: Shelter, *, into: bool) -> NotPlanned:
    never, place = mover.next(case.standing, case.ground.now), case.standing.place
    now = case.ground.now
    cycle = case.ground.season(now) if into else case.ground.summer(now)
    if isinstance(never, Never) and (never.code == "cold_never") == into:
        line = shelter.night_c if shelter.nights_c is None else shelter.nights_c
        reason = Reason(never.code, found=never.days, needed=line, unit="degC", basis=shelter.basis)
    else:
        reason = Reason("stands_open" if place == "open" else "stands_sheltered")
    if into and _woken(case, mover):
        reason = Reason("woken")
    return case.absent(INTO if into else OUT, reason, cycle)


def _move(case: Case, move: Move, shelter: Shelter, made: list[Made]) -> Iterator[PlaceItems]:
    operation = INTO if move.into else OUT
    cycle = case.ground.season(move.by) if move.into else case.ground.summer(move.opens)
    number = sum((way, of) == (operation, cycle) for way, of, *_ in made)
    why = _why(case, move, shelter)
    reasons = (why, *few_years(case.ground, why.code), _where_to(move))
    how, cautions = (shelter.into, shelter.cautions) if move.into else (shelter.out, ())
    yield from case.item(
        Draft(
            operation, cycle, move.opens, move.by, reasons, how, cautions, number, move.overdue, move.goal,
            protects=move.into, cold_c=None if move.bound is None else move.bound.line.at_c,
        )
    )  # fmt: skip
    if move.into:
        yield from _winter_place(case, move, shelter)


def _why(case: Case, move: Move, shelter: Shelter) -> Reason:
    at = move.by if move.overdue is None else move.overdue
    day = case.ground.axis.day(at if move.into else move.opens)
    if move.bound is None and move.into and case.standing.place == "heated":
        return Reason("no_rest", found=case.stays[-1][0])
    if move.bound is None:
        return reason_of(shelter, "cold" if move.into else "wakes", day, shelter.night_c, shelter.wakes or "")
    code = move.bound.why
    if not move.into:
        code = "nights_over" if move.bound.line.risk == "nights" else "cold_over"
    elif move.forecast:
        code = "fresh_roots_forecast" if code == "fresh_roots" else "cold_forecast"
    return reason_of(shelter, code, day, move.bound.line.at_c)


def _where_to(move: Move) -> Reason:
    if move.to is None:
        return _would_serve(move)
    here, serves = move.to.name, move.goal.serves or ""
    if move.goal.fit == "too warm":
        return Reason("warm_room", subject=serves, found=here)
    if move.goal.fit == "too cold":
        return Reason("cold_room", subject=serves, found=here)
    return Reason("goes_to", found=here)


def _would_serve(move: Move) -> Reason:
    return Reason("no_place", subject=move.goal.serves or "")


def _winter_place(case: Case, move: Move, shelter: Shelter) -> Iterator[PlaceItems]:
    """Yield that a place is to be made in time, or that the garden has one."""
    cycle = case.ground.season(move.by)
    if move.to is not None and move.goal.fit == "well":
        for kind in range(len(COVERS)):
            yield case.close(MAKE, cycle, kind, Reason("place_there", found=move.to.name))
        return
    rules, kind, now = case.ground.rules, COVERS.index(move.goal.serves or "heated"), case.ground.now
    needed = move.by if move.overdue is None else move.overdue
    ready = needed - int(rules.ahead_days.value)
    if ready <= now and move.to is None and case.standing.place == "open":
        return  # the move itself says it
    opens, reasons = (
        needed - int(rules.winter_place_days.value),
        (_why(case, move, shelter), _would_serve(move)),
    )
    yield from case.item(
        Draft(
            MAKE, cycle, opens, max(ready, now), reasons, rules.make[COVERS[kind]].how,
            late=ready if ready < now else None, rule=numbered(MAKE, kind), shared=True,
        )
    )  # fmt: skip
