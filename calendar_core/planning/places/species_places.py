"""Where the trees of one species should stand, as items: moves, shade, steps into the light, checks of the store."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.axis import HORIZON_DAYS
from calendar_core.planning.foliage import foliage_on, weeks_since_opened, weeks_since_roots
from calendar_core.planning.items import Item, NotPlanned, Range, Reason, item_id
from calendar_core.planning.late import in_time, overdue
from calendar_core.planning.places.bounds import bounds_of
from calendar_core.planning.places.light import Steps, steps_into_light
from calendar_core.planning.places.moves import COOLEST_FIRST, Goal, Move, Mover, Never
from calendar_core.planning.places.operations import CHECK, DOWN, INTO, LIGHT, MAKE, OUT, UP
from calendar_core.planning.places.shade import ShadeMove, shade_move, shaded_spot
from calendar_core.planning.places.standing import standing_of, stays

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Spot, Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.planning.items import StageDate
    from calendar_core.planning.places.chances import Chances
    from calendar_core.planning.places.moves import Standing
    from calendar_core.planning.species_stages import SpeciesStages
    from calendar_core.species.schema import Knowledge, Shade, Shelter

    Bools = NDArray[np.bool_]

INDOORS = "Look over the trees indoors"  # what the check is called in a heated room
GRACE_DAYS = 3  # a check is in time so long (estimate)
LATE_DAYS = 60  # so late a move may be made and still belong to the season that asked for it (estimate)
WEEK = 7


class SpeciesPlaces:
    """The items of where the trees of one species should stand, and why there are none."""

    def __init__(self, species: str, stages: SpeciesStages, knowledge: Knowledge, chances: Chances) -> None:
        self.species, self.stages, self.knowledge, self.chances = species, stages, knowledge, chances
        self.profile, self.rules = stages.profile, knowledge.places
        self.axis, self.today = stages.axis, stages.today
        self.spots: Mapping[UUID, Spot] = stages.grove.spots
        self.items: list[Item] = []
        self.absent: list[NotPlanned] = []
        self._movers: dict[tuple[object, ...], Mover] = {}
        for tree, _ in stages.where:
            _Tree(self, tree, stages.grove.states[tree.id]).plan()

    @property
    def now(self) -> int:
        """The index of today."""
        return self.axis.index(self.today)

    def season(self, day: int) -> int:
        """Return the cycle whose summer solstice was the last before a day: a winter has one name."""
        return max((c for c in self._cycles if self.axis.midsummer(c) <= day), default=self._cycles[0])

    def summer(self, day: int) -> int:
        """Return the cycle whose winter solstice was the last before a day: a summer has one name."""
        return max((c for c in self._cycles if self.axis.midwinter(c) <= day), default=self._cycles[0])

    @cached_property
    def _cycles(self) -> range:
        return range(self.axis.day(0).year - 1, self.axis.day(self.axis.n_days).year + 2)

    def mover(self, shelter: Shelter, wakes: tuple[int, ...], fresh: tuple[int, int] | None) -> Mover:
        """Return what moves trees alike; ``wakes`` are the days of spring on which they need light."""
        key = (wakes, fresh)
        if key not in self._movers:
            bounds = bounds_of(
                self.profile, shelter, self.knowledge, self.axis.n_days,
                resting=self._resting(wakes) if shelter.rests else None,
                fresh=None if fresh is None else self.between(*fresh),
            )  # fmt: skip
            self._movers[key] = Mover(bounds, self.spots, self.chances, self.rules, rests=shelter.rests)
        return self._movers[key]

    def _resting(self, wakes: tuple[int, ...]) -> Bools:
        """Return the days from a summer to the waking of the next spring."""
        out = np.ones(self.axis.n_days, bool)
        for wake in wakes:
            until = self.axis.midsummer(self.season(wake) + 1)
            out[max(wake, 0) : max(until, 0)] = False
        return out

    def between(self, begin: int, end: int) -> Bools:
        """Return the days from one up to another (n_days,)."""
        days = np.arange(self.axis.n_days)
        return np.asarray((days >= begin) & (days < end))


@dataclass
class _Tree:
    """One tree before the questions where it should stand."""

    of: SpeciesPlaces
    tree: Tree
    state: TreeState

    def plan(self) -> None:
        """Add its items, and why there are none."""
        for shelter in self.of.profile.shelter[:1]:
            self._moves(shelter)
            self._check(shelter)
        for shade in self.of.profile.shade[:1]:
            self._shade(shade)
        self._light()
        self._close_made()

    @cached_property
    def standing(self) -> Standing:
        """Where it stands."""
        return standing_of(self.state, self.of.spots, self.of.axis)

    @property
    def _dates(self) -> tuple[StageDate, ...]:
        return self.of.stages.dates[self.tree.id]

    def _wakes(self, shelter: Shelter) -> tuple[int, ...]:
        index = self.of.axis.index
        named = (one for one in self._dates if one.stage == shelter.wakes and one.range is not None)
        return tuple(sorted({index(one.range.likely) for one in named if one.range is not None}))

    def _fresh(self) -> tuple[int, int] | None:
        """Return the days on which its roots are newly cut."""
        known = self.of.knowledge
        weeks, rule = (
            weeks_since_roots(self.of.today, self.state, known.operations),
            known.exposure.lowers["fresh roots"],
        )
        if weeks is None or rule.weeks is None or weeks >= rule.weeks:
            return None
        cut = self.of.now - round(weeks * WEEK)
        return cut, cut + round(rule.weeks * WEEK)

    # -- moves ----------------------------------------------------------------------------------------

    def _moves(self, shelter: Shelter) -> None:
        mover = self.of.mover(shelter, self._wakes(shelter), self._fresh())
        place = self.standing.place
        found = {move.into: move for move in mover.moves(self.standing)}
        for into in (True, False):
            if into in found:
                self._move(found[into], shelter)
                continue
            code = (
                "stands_sheltered" if into and place != "open" else "stands_open" if place == "open" else ""
            )
            never = mover.next(self.standing, self.of.now)
            if isinstance(never, Never) and (never.code == "cold_never") == into:
                reason = Reason(
                    never.code, found=never.days, needed=shelter.night_c, unit="degC", basis=shelter.basis
                )
            else:
                reason = Reason(code or "stands_sheltered")
            self._absent(INTO if into else OUT, (reason,))

    def _move(self, move: Move, shelter: Shelter) -> None:
        operation = INTO if move.into else OUT
        season = self.of.season(move.by if move.into else move.opens)
        cycle = season if move.into else season + 1
        number = sum((one, of) == (operation, cycle) for one, of, _ in self._made())
        reasons = [*self._why(move, shelter), *self._where_to(move)]
        if move.overdue is not None:
            reasons.append(Reason("overdue", found=self.of.axis.day(move.overdue)))
        how = shelter.into if move.into else shelter.out
        self._add(
            operation, cycle, move.opens, move.by, reasons, how, shelter.cautions if move.into else (),
            occurrence=number, late=move.overdue, to=move.goal, protects=move.into,
        )  # fmt: skip
        if move.into and move.to is None:
            self._winter_place(move, shelter, cycle)
        elif move.into:
            for kind in range(len(COOLEST_FIRST)):
                self._close(MAKE, cycle, kind, Reason("place_there", found=move.to.name if move.to else ""))

    def _made(self) -> Iterator[tuple[str, int, int]]:
        """Yield the moves that were made: operation, cycle, and how many came before it in that cycle."""
        known, met = stays(self.state, self.of.spots), Counter[tuple[str, int]]()
        for (_, before), (day, here) in pairwise(known):
            if (before.profile == "open") == (here.profile == "open"):
                continue
            at = self.of.axis.index(day)
            out = here.profile == "open"
            # One that comes out after midsummer still does so of the winter before.
            key = (OUT, self.of.season(at - LATE_DAYS) + 1) if out else (INTO, self.of.season(at))
            yield *key, met[key]
            met[key] += 1

    def _close_made(self) -> None:
        """Say of the moves that were made that they were: nobody is to think they were called off."""
        for operation, cycle, number in self._made():
            self._close(operation, cycle, number, Reason("moved"))
        index, met = self.of.axis.index, Counter[tuple[str, int]]()
        for one in self.state.done:
            if one.operation in (UP, DOWN):
                key = one.operation, self.of.summer(index(one.on))
                self._close(*key, met[key], Reason("done", subject=one.operation, found=one.on))
                met[key] += 1

    def _close(self, operation: str, cycle: int, number: int, reason: Reason) -> None:
        rule = _rule(operation, number)
        self.of.absent.append(NotPlanned(self.tree.id, operation, rule, cycle, (reason,)))

    def _why(self, move: Move, shelter: Shelter) -> Iterator[Reason]:
        at = move.by if move.overdue is None else move.overdue
        day = self.of.axis.day(at if move.into else move.opens)
        if move.bound is None:
            code = "cold" if move.into else "wakes"
            yield _reason(shelter, code, day, shelter.night_c, shelter.wakes or "")
            return
        code = move.bound.why if move.into else "cold_over"
        if move.into and move.forecast:
            code = "cold_forecast"
        yield _reason(shelter, code, day, move.bound.line.at_c)

    def _where_to(self, move: Move) -> Iterator[Reason]:
        if move.to is None:
            yield Reason("no_place", subject=move.goal.serves or "")
        else:
            yield Reason("warm_room" if move.goal.warm else "goes_to", found=move.to.name)

    def _winter_place(self, move: Move, shelter: Shelter, cycle: int) -> None:
        """Ask for a place in time, where the garden has none that serves."""
        ready = move.by - int(self.of.rules.ahead_days.value)
        if ready <= self.of.now:
            return
        opens = move.by - int(self.of.rules.winter_place_days.value)
        self._add(
            MAKE, cycle, opens, ready, [*self._where_to(move), *self._why(move, shelter)], shelter.into, (),
            rule=_rule(MAKE, COOLEST_FIRST.index(move.goal.serves or "heated")), shared=True,
        )  # fmt: skip

    # -- shade and light ------------------------------------------------------------------------------

    def _shade(self, shade: Shade) -> None:
        standing = self.standing
        if standing.place != "open":
            self._absent(UP, (Reason("stands_sheltered"),))
            return
        if shaded_spot(standing.spot, self.of.profile):
            self._absent(UP, (Reason("shade_of_spot"),))
            return
        opened = self._opened()
        lowered = self.of.knowledge.exposure.lowers["opened up"].by_c
        tender = None if opened is None else (shade.from_c - lowered, self.of.between(*opened))
        shaded = self._shaded()
        move = shade_move(shade.from_c, tender, self.of.chances, self.of.rules, shaded=shaded)
        if isinstance(move, Never):
            reason = Reason(move.code, needed=shade.from_c, unit="degC", basis=shade.basis)
            self._absent(DOWN if shaded else UP, (reason,))
            return
        self._absent(UP if shaded else DOWN, (Reason("shaded" if shaded else "not_shaded"),))
        self._shade_move(move, shade, opened)

    def _shade_move(self, move: ShadeMove, shade: Shade, opened: tuple[int, int] | None) -> None:
        day = self.of.axis.day
        if move.opened and opened is not None:
            reason = _reason(shade, "opened_up", day(opened[0]), day(opened[1]))
        else:
            code = "hot_over" if not move.up else "hot_forecast" if move.forecast else "hot_days"
            at = move.by if move.overdue is None else move.overdue
            found = day(at if move.up else move.opens)
            reason = _reason(shade, code, found, shade.from_c)
        reasons = [reason]
        if move.overdue is not None:
            reasons.append(Reason("overdue", found=day(move.overdue)))
        operation, cycle = UP if move.up else DOWN, self.of.summer(move.by)
        self._add(
            operation, cycle, move.opens, move.by, reasons, shade.up if move.up else shade.down, shade.cautions,
            occurrence=self._times(operation, cycle), late=move.overdue,
        )  # fmt: skip

    def _opened(self) -> tuple[int, int] | None:
        """Return the days on which inner leaves are new to the sun."""
        known = self.of.knowledge
        weeks = weeks_since_opened(self.of.today, self.state, known.operations, known.spacing)
        rule = known.exposure.lowers["opened up"]
        if weeks is None or rule.weeks is None or weeks >= rule.weeks:
            return None
        since = self.of.now - round(weeks * WEEK)
        return since, since + round(rule.weeks * WEEK)

    def _shaded(self) -> bool:
        """Return whether shade was put up and not taken down since, and not in an earlier year."""
        up, down = self.state.last(UP), self.state.last(DOWN)
        if up is None or (down is not None and down.on >= up.on):
            return False
        return self.of.now - self.of.axis.index(up.on) < HORIZON_DAYS // 2

    def _times(self, operation: str, cycle: int) -> int:
        """Return how often an operation was done in a summer."""
        index = self.of.axis.index
        return sum(
            one.operation == operation and self.of.summer(index(one.on)) == cycle for one in self.state.done
        )

    def _light(self) -> None:
        """Plan the steps into the sun of a tree that came out of a dim room in leaf."""
        foliage = foliage_on(
            self.of.today, self._dates, self.state, self.of.profile, self.of.knowledge.exposure
        )
        if foliage not in ("new", "hard"):
            return
        for one in steps_into_light(
            stays(self.state, self.of.spots),
            [done.on for done in self.state.done if done.operation == LIGHT],
            Steps(self.of.profile.tolerance.shade_from_c.value, self.of.rules),
            self.of.axis,
            self.of.chances.air,
            self.of.today,
        ):
            reasons = [
                Reason("came_out", found=one.since, basis=one.step.basis, source=one.step.source or "")
            ]
            if one.held:
                reasons.append(
                    Reason("held_by_heat", needed=self.of.profile.tolerance.shade_from_c.value, unit="degC")
                )
            if one.dull:
                reasons.append(Reason("dull_days"))
            reasons += overdue(Range(one.day, one.day, one.day), self.of.today)
            index = self.of.axis.index(one.day)
            cycle = self.of.season(self.of.axis.index(one.since))
            self._add(
                LIGHT, cycle, index, index + WEEK, reasons, one.step.how, (), occurrence=one.number,
                subject=f"{self.tree.id}|{one.since.isoformat()}",
            )  # fmt: skip

    # -- the store ------------------------------------------------------------------------------------

    def _check(self, shelter: Shelter) -> None:
        """Ask for the next look at a tree that stands under cover."""
        spot, known = self.standing.spot, stays(self.state, self.of.spots)
        if spot is None or spot.profile == "open":
            for name in {"", *(f" {one.name}" for _, one in known if one.profile != "open")}:
                self._absent(CHECK, (Reason("stands_open"),), f"{CHECK}{name}")
            return
        came = known[-1][0]
        checks = [one.on for one in self.state.done if one.operation == CHECK and one.on >= came]
        every = self.of.rules.check_days.warm if spot.profile == "heated" else self.of.rules.check_days.cold
        last = max(checks, default=came)
        due = last + timedelta(days=int(every.value))
        opens = Range(due, due, due)
        reasons = [Reason("in_store", found=spot.name, needed=came, basis=every.basis, note=every.note or "")]
        if checks:
            reasons.append(Reason("checked", found=last))
        cycle = self.of.season(self.of.axis.index(due))
        self.of.items.append(
            Item(
                item_id(self.of.stages.grove.garden.id, f"{self.tree.id}|{spot.id}|{came}", CHECK, cycle, len(checks)),
                self.tree.id, self.of.species, CHECK, f"{CHECK} {spot.name}", cycle, self.state.aim,
                opens, in_time(opens, GRACE_DAYS, self.of.today), 1.0, "due", shelter.check,
                (*reasons, *overdue(opens, self.of.today)),
                self.of.knowledge.operations[CHECK].cautions, len(checks), shared=True,
                label=INDOORS if spot.profile == "heated" else self.of.knowledge.operations[CHECK].label,
                done=self.of.knowledge.operations[CHECK].done,
            )
        )  # fmt: skip

    # -- items ----------------------------------------------------------------------------------------

    def _add(
        self,
        operation: str,
        cycle: int,
        opens: int,
        by: int,
        reasons: list[Reason],
        how: str,
        cautions: tuple[str, ...],
        *,
        occurrence: int = 0,
        late: int | None = None,
        to: Goal | None = None,
        protects: bool = False,
        subject: str = "",
        rule: str = "",
        shared: bool = False,
    ) -> None:
        day = self.of.axis.day
        rule = rule or _rule(operation, occurrence)
        identity = item_id(
            self.of.stages.grove.garden.id, subject or self.tree.id, operation, cycle, occurrence
        )
        if identity in self.state.dropped:
            self.of.absent.append(
                NotPlanned(self.tree.id, operation, rule, cycle, (Reason("dropped", subject=operation),))
            )
            return
        first, last = day(opens), day(by)
        if first > self.of.today + timedelta(days=HORIZON_DAYS):
            return
        until = self.state.put_off.get(identity)
        if until is not None and until > self.of.today:
            first, last = until, max(last, until)
            reasons.append(Reason("put_off", found=until))
        closes = Range(last, last, last)
        if late is not None:
            due = day(late)
            closes = in_time(Range(due, due, due), 0, self.of.today)
        known = self.of.knowledge.operations[operation]
        spots = [] if to is None else [spot.id for spot in to.spots]
        self.of.items.append(
            Item(
                identity, self.tree.id, self.of.species, operation, rule, cycle, self.state.aim,
                Range(first, first, first), closes, 1.0, "due", how, tuple(reasons),
                tuple(dict.fromkeys((*cautions, *known.cautions))), occurrence, shared=shared,
                to=spots[0] if spots else None, also=tuple(spots[1:]), protects=protects,
            )
        )  # fmt: skip

    def _absent(self, operation: str, reasons: tuple[Reason, ...], rule: str = "") -> None:
        season = self.of.season(self.of.now)
        cycle = season + 1 if operation == OUT else season
        self.of.absent.append(NotPlanned(self.tree.id, operation, rule or operation, cycle, reasons))


def _reason(rule: Shelter | Shade, code: str, found: date, needed: float | date, subject: str = "") -> Reason:
    """Return a reason with what its rule rests on; a number is a temperature."""
    unit = "" if isinstance(needed, date) else "degC"
    source, note = rule.source or "", rule.note or ""
    return Reason(code, subject, found, needed, unit, basis=rule.basis, source=source, note=note)


def _rule(operation: str, number: int) -> str:
    """Return the rule of an item that may come several times in a cycle."""
    return f"{operation}.{number}" if number else operation
