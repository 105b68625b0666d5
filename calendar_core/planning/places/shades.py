"""The shade of one tree as items: put up and taken down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.items import Reason
from calendar_core.planning.places.case import Draft, few_years, reason_of
from calendar_core.planning.places.moves import Never
from calendar_core.planning.places.operations import DOWN, UP
from calendar_core.planning.places.shade import shade_move, shaded_spot
from calendar_core.planning.seasons.foliage import weeks_since_opened

if TYPE_CHECKING:
    from collections.abc import Iterator

    from calendar_core.knowledge.forms.species.profile import Shade
    from calendar_core.planning.items import Item
    from calendar_core.planning.places.case import Case, PlaceItems
    from calendar_core.planning.places.shade import ShadeMove


def shade_items(case: Case, shade: Shade, out: Item | None = None) -> Iterator[PlaceItems]:
    """Yield when a tree is next shaded or unshaded, or why it is not; of one under cover once it is brought ``out``."""
    yield from case.done(UP, DOWN)
    cycle = case.ground.summer(case.ground.now)
    inside = case.standing.place != "open"
    if inside and out is None:
        yield from (case.absent(UP, Reason("stands_sheltered"), year) for year in (cycle, cycle + 1))
        return
    spot = case.ground.spots.get(out.to) if out is not None and out.to is not None else case.standing.spot
    if shaded_spot(spot, case.ground.profile):
        yield from (case.absent(UP, Reason("shade_of_spot"), year) for year in (cycle, cycle + 1))
        return
    ground, opened, shaded = case.ground, None if inside else _opened(case), not inside and _shaded(case)
    lowered = shade.from_c - ground.knowledge.exposure.lowers["opened up"].by_c
    if shade.opened_c is not None:
        lowered = min(lowered, shade.opened_c.value)
    tender = None if opened is None else (lowered, ground.between(*opened))
    again = ground.axis.midwinter(cycle + 1) if case.count(DOWN, cycle) else 0  # taken down is taken down
    if shaded and (up := case.state.last(UP)) is not None:
        again = ground.axis.index(up.on) + int(ground.rules.least_days.value)
    if out is not None:
        again = max(again, ground.axis.index(out.opens.likely))
    move = shade_move(
        shade.from_c,
        tender,
        ground.chances,
        ground.rules,
        shaded=shaded,
        since=case.standing.since,
        not_before=again,
    )
    if isinstance(move, Never):
        reason = Reason(move.code, needed=shade.from_c, unit="degC", basis=shade.basis)
        yield case.absent(DOWN if shaded else UP, reason, cycle)
        return
    if not shaded and not case.count(DOWN, cycle):
        yield case.absent(DOWN, Reason("not_shaded"), cycle)
    yield from case.item(_draft(case, move, shade, opened))


def _draft(case: Case, move: ShadeMove, shade: Shade, opened: tuple[int, int] | None) -> Draft:
    day = case.ground.axis.day
    operation, cycle = UP if move.up else DOWN, case.ground.summer(move.by)
    if move.opened and opened is not None:
        reason = reason_of(shade, "opened_up", day(opened[0]), day(opened[1]))
    else:
        code = "hot_over" if not move.up else "hot_forecast" if move.forecast else "hot_days"
        at = move.by if move.overdue is None else move.overdue
        reason = reason_of(shade, code, day(at if move.up else move.opens), shade.from_c)
    return Draft(
        operation, cycle, move.opens, move.by, (reason, *few_years(case.ground, reason.code)), shade.up if move.up else shade.down,
        shade.cautions, case.count(operation, cycle), move.overdue,
    )  # fmt: skip


def _opened(case: Case) -> tuple[int, int] | None:
    """Return the days on which inner leaves are new to the sun."""
    knowledge, today = case.ground.knowledge, case.ground.today
    since = weeks_since_opened(today, case.state, knowledge.operations, knowledge.spacing)
    return case.ground.weeks_after(since, knowledge.exposure.lowers["opened up"].weeks)


def _shaded(case: Case) -> bool:
    """Return whether shade was put up this summer and not taken down since; a winter ends it."""
    up, down = case.state.last(UP), case.state.last(DOWN)
    if up is None or (down is not None and down.on >= up.on):
        return False
    return case.ground.summer(case.ground.axis.index(up.on)) == case.ground.summer(case.ground.now)
