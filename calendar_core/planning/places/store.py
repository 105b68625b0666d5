"""Looking after a tree that stands under cover: one item a spot, as long as it stands there."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.thermal import THERMAL
from calendar_core.planning.items import Item, Range, Reason, item_id
from calendar_core.planning.places.operations import CHECK
from calendar_core.planning.waits import in_time, overdue

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.species.profile import Shelter
    from calendar_core.planning.places.case import Case, PlaceItems

INDOORS = "Look over the trees indoors"  # what the check is called in a heated room
GRACE_DAYS = 7  # a check is in time until the next weekly round (common practice)


def check_items(case: Case, shelter: Shelter) -> Iterator[PlaceItems]:
    """Yield when a tree under cover is next looked at; of one in the open, that it is not."""
    spot = case.standing.spot
    if spot is None or spot.profile == "open":
        yield case.absent(CHECK, Reason("stands_open"))
    else:
        yield _check(case, shelter, spot, case.stays[-1][0])
    for other in {spot_id for _, spot_id in case.state.moves if spot is None or spot_id != spot.id}:
        yield case.absent(CHECK, Reason("stands_elsewhere"), rule=_rule(other))


def _rule(spot: UUID) -> str:
    """Return the rule of the checks of a spot, which may be renamed."""
    return f"{CHECK} {spot.hex[:8]}"


def _check(case: Case, shelter: Shelter, spot: Spot, came: date) -> PlaceItems:
    ground, operation = case.ground, case.ground.knowledge.operations[CHECK]
    checks = [done.on for done in case.state.done if done.operation == CHECK and done.on >= came]
    every = ground.rules.check_days.warm if spot.profile == "heated" else ground.rules.check_days.cold
    # What nobody writes down is late since this season at most.
    season = ground.axis.day(ground.axis.midsummer(ground.season(ground.now)))
    due = max(*checks, came, season) + timedelta(days=int(every.value))
    cycle = ground.season(max(ground.axis.index(came), 0))
    identity = item_id(ground.garden, f"{case.tree.id}|{came}", CHECK, came.year, len(checks))
    if identity in case.state.dropped:
        return case.absent(CHECK, Reason("dropped", subject=CHECK), cycle, _rule(spot.id))
    due = max(due, case.state.put_off.get(identity, due))
    opens = Range(due, due, due)
    reasons = [Reason("in_store", found=spot.name, needed=came, basis=every.basis, note=every.note or "")]
    reasons += [Reason("checked", found=checks[-1])] if checks else []
    cautions = case.cautions(operation.cautions, THERMAL[spot.profile].floor_c)
    return Item(
        identity, case.tree.id, ground.species, CHECK, _rule(spot.id), cycle, case.state.aim,
        opens, in_time(opens, GRACE_DAYS, ground.today), 1.0, "due", shelter.check,
        (*reasons, *overdue(opens, ground.today, GRACE_DAYS)), cautions, len(checks), shared=True,
        label=INDOORS if spot.profile == "heated" else operation.label, done=operation.done,
    )  # fmt: skip
