"""The moves of one tree as items: under cover, out of it, and the place that is made for it in time."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING

from calendar_core.planning.items import Reason
from calendar_core.planning.places.case import Draft, numbered, reason_of
from calendar_core.planning.places.moves import COOLEST_FIRST, Never
from calendar_core.planning.places.operations import INTO, MAKE, OUT

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from calendar_core.garden.model import Spot
    from calendar_core.planning.items import NotPlanned
    from calendar_core.planning.places.case import Case, Found
    from calendar_core.planning.places.moves import Move, Mover
    from calendar_core.species.place_rules import Cover
    from calendar_core.species.schema import Shelter


def cover_items(case: Case, shelter: Shelter, mover: Mover) -> Iterator[Found]:
    """Yield the coming moves of a tree, why one does not come, and those that were made."""
    made = list(_made(case))
    found: dict[bool, Move] = {}
    for move in mover.moves(case.standing):
        found.setdefault(move.into, move)
    for into in (True, False):
        if into in found:
            yield from _move(case, found[into], shelter, made)
        else:
            yield _no_move(case, mover, shelter, into=into)
    for operation, cycle, number, (day, spot) in made:
        yield case.close(operation, cycle, number, Reason("moved", found=day, needed=spot.name))


COVERS: tuple[Cover, ...] = ("cold frame", "frost-free", "heated")  # the order of COOLEST_FIRST
Made = tuple[str, int, int, tuple["date", "Spot"]]


def _made(case: Case) -> Iterator[Made]:
    """Yield the moves that were made: operation, cycle, how many came before it in that cycle, when and where to."""
    ground, met = case.ground, Counter[tuple[str, int]]()
    for (_, before), (day, here) in pairwise(case.stays):
        if (before.profile == "open") == (here.profile == "open"):
            continue
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
    return case.absent(INTO if into else OUT, reason, cycle)


def _move(case: Case, move: Move, shelter: Shelter, made: list[Made]) -> Iterator[Found]:
    operation = INTO if move.into else OUT
    cycle = case.ground.season(move.by) if move.into else case.ground.summer(move.opens)
    number = sum((one, of) == (operation, cycle) for one, of, *_ in made)
    reasons = (_why(case, move, shelter), _where_to(move))
    how, cautions = (shelter.into, shelter.cautions) if move.into else (shelter.out, ())
    yield from case.item(
        Draft(
            operation, cycle, move.opens, move.by, reasons, how, cautions, number, move.overdue, move.goal,
            protects=move.into, cold_c=None if move.bound is None else move.bound.line.at_c,
        )
    )  # fmt: skip
    if move.into:
        yield from _winter_place(case, move, shelter, cycle)


def _why(case: Case, move: Move, shelter: Shelter) -> Reason:
    at = move.by if move.overdue is None else move.overdue
    day = case.ground.axis.day(at if move.into else move.opens)
    if move.bound is None:
        return reason_of(shelter, "cold" if move.into else "wakes", day, shelter.night_c, shelter.wakes or "")
    code = ("cold_forecast" if move.forecast else move.bound.why) if move.into else "cold_over"
    return reason_of(shelter, code, day, move.bound.line.at_c)


def _where_to(move: Move) -> Reason:
    if move.to is None:
        return Reason("no_place", subject=move.goal.serves or "")
    return Reason("warm_room" if move.goal.warm else "goes_to", found=move.to.name)


def _winter_place(case: Case, move: Move, shelter: Shelter, cycle: int) -> Iterator[Found]:
    """Yield that a place is to be made in time, or that the garden has one."""
    if move.to is not None:
        for kind in range(len(COOLEST_FIRST)):
            yield case.close(MAKE, cycle, kind, Reason("place_there", found=move.to.name))
        return
    rules, kind = case.ground.rules, COOLEST_FIRST.index(move.goal.serves or "heated")
    ready = move.by - int(rules.ahead_days.value)
    if ready <= case.ground.now:
        return
    opens, reasons = (
        move.by - int(rules.winter_place_days.value),
        (_why(case, move, shelter), _where_to(move)),
    )
    yield from case.item(
        Draft(
            MAKE,
            cycle,
            opens,
            ready,
            reasons,
            rules.make[COVERS[kind]].how,
            rule=numbered(MAKE, kind),
            shared=True,
        )
    )
