"""Where the trees of one species should stand, as items: moves, shade, steps into the light, checks of the store."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.items import Item, NotPlanned, Reason
from calendar_core.planning.places.bounds import bounds_of
from calendar_core.planning.places.case import Case, Ground
from calendar_core.planning.places.covers import cover_items
from calendar_core.planning.places.light import light_items
from calendar_core.planning.places.moves import Mover
from calendar_core.planning.places.operations import DOWN, INTO, LIGHT, MAKE, OUT, UP
from calendar_core.planning.places.shades import shade_items
from calendar_core.planning.places.store import check_items
from calendar_core.planning.seasons.foliage import weeks_since_roots
from calendar_core.planning.waits import WEEK, late_since

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.species.profile import Shelter
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.places.case import PlaceItems
    from calendar_core.planning.places.chances import Chances
    from calendar_core.planning.seasons.species_stages import SpeciesStages


EARLIER_DAYS = 35  # by so much at most does a store wake a tree before the bench (estimate: five weeks)


class SpeciesPlaces:
    """The items of where the trees of one species should stand, and why there are none."""

    def __init__(
        self,
        species: str,
        stages: SpeciesStages,
        knowledge: Knowledge,
        chances: Chances,
        works: Iterable[Item] = (),
    ) -> None:
        grove = stages.grove
        self.ground = Ground(
            grove.garden.id, species, stages.profile, knowledge, grove.spots, chances, stages.today
        )
        self._movers: dict[tuple[object, ...], Mover] = {}
        planned: defaultdict[UUID, list[Item]] = defaultdict(list)
        for item in works:
            planned[item.tree_id].append(item)
        found: list[PlaceItems] = []
        for tree, _ in stages.where:
            state, dates, of_tree = grove.states[tree.id], stages.dates[tree.id], tuple(planned[tree.id])
            case = Case(self.ground, tree, state, dates, of_tree)
            of_case = list(self._of(case))
            found += [*of_case, *self._unanswered(case, of_case)]
        self.items = [item for item in found if isinstance(item, Item)]
        self.absent = [absence for absence in found if isinstance(absence, NotPlanned)]

    def _of(self, case: Case) -> Iterator[PlaceItems]:
        out: Item | None = None
        for shelter in self.ground.profile.shelter[:1]:
            moves = list(cover_items(case, shelter, self._mover(case, shelter)))
            yield from moves
            yield from check_items(case, shelter)
            if case.standing.place != "open":
                out = next((item for item in moves if isinstance(item, Item) and item.operation == OUT), None)
        for shade in self.ground.profile.shade[:1]:
            yield from shade_items(case, shade, out)
        yield from light_items(case)

    def _unanswered(self, case: Case, found: Iterable[PlaceItems]) -> Iterator[PlaceItems]:
        """Yield why there is nothing of what else its kind knows: whoever asks for it is answered."""
        said: defaultdict[str, list[PlaceItems]] = defaultdict(list)
        for item in found:
            said[item.operation].append(item)
        summer = case.ground.summer(case.ground.now)
        if self.ground.profile.shelter and MAKE not in said:
            coming = [item for item in said[INTO] if isinstance(item, Item)]
            stays = next(
                (absence.reasons[0] for absence in said[INTO] if isinstance(absence, NotPlanned)),
                Reason("stands_open"),
            )
            last = min((late_since([item]) or item.closes.likely for item in coming), default=None)
            yield case.absent(MAKE, stays if last is None else Reason("move_itself", found=last))
        if self.ground.profile.shade and UP not in said:
            yield case.absent(UP, Reason("shaded"), summer)
        if self.ground.profile.shade and DOWN not in said:
            yield case.absent(DOWN, Reason("not_shaded"), summer)
        if LIGHT not in said:
            yield case.absent(LIGHT, Reason("not_from_dim"))

    def _mover(self, case: Case, shelter: Shelter) -> Mover:
        """Return what moves a tree; trees alike share it."""
        ground = self.ground
        wakes, fresh = _wakes(case, shelter), _fresh(case)
        if (wakes, fresh) not in self._movers:
            bounds = bounds_of(
                ground.profile, shelter, ground.knowledge, ground.axis.n_days,
                resting=_resting(ground, wakes) if shelter.rests else None,
                fresh=None if fresh is None else ground.between(*fresh),
            )  # fmt: skip
            self._movers[wakes, fresh] = Mover(
                bounds, ground.spots, ground.chances, ground.rules, rests=shelter.rests,
                leafy=ground.profile.habit != "deciduous",
            )  # fmt: skip
        return self._movers[wakes, fresh]


def _wakes(case: Case, shelter: Shelter) -> tuple[int, ...]:
    """Return the days of spring on which a tree likely needs light, or came out into it shortly before.

    A store wakes trees sooner than the bench: one that was brought out as it woke there is not called back for what
    usual nights may bring until it would wake outside.
    """
    named = (stage.range for stage in case.stages if stage.stage == shelter.wakes)
    days = {case.ground.axis.index(of.likely) for of in named if of is not None}
    came = case.standing.since
    if case.standing.place == "open" and any(0 < day - came <= EARLIER_DAYS for day in days):
        days.add(came)
    return tuple(sorted(days))


def _fresh(case: Case) -> tuple[int, int] | None:
    """Return the days on which its roots are newly cut; of a tree under cover that is to be repotted soon, will be."""
    knowledge = case.ground.knowledge
    weeks = knowledge.exposure.lowers["fresh roots"].weeks
    since = weeks_since_roots(case.ground.today, case.state, knowledge.operations)
    cut = case.ground.weeks_after(since, weeks)
    if cut is not None or case.standing.place == "open" or weeks is None:
        return cut
    soon = (
        case.ground.axis.index(item.opens.likely)
        for item in case.works
        if knowledge.operations[item.operation].takes == "roots"
        and item.status in ("due", "wished")
        and item.closes.late >= case.ground.today
    )
    first = min(soon, default=None)
    return None if first is None else (first, first + round(weeks * WEEK))


def _resting(ground: Ground, wakes: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return the days from a summer to the waking of the next spring."""
    out = np.ones(ground.axis.n_days, bool)
    for wake in wakes:
        until = ground.axis.midsummer(ground.season(wake) + 1)
        out[max(wake, 0) : max(until, 0)] = False
    return out
