"""One tree before the questions where it should stand, and the items that answer them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.items import Item, NotPlanned, Range, Reason, item_id
from calendar_core.planning.places.moves import Goal
from calendar_core.planning.places.operations import UP
from calendar_core.planning.places.stays import stay_of, stays_of
from calendar_core.planning.seasons.axis import HORIZON_DAYS
from calendar_core.planning.waits import WEEK, in_time

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Spot, Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.places import PlaceRules
    from calendar_core.knowledge.forms.species.profile import Profile, Shade, Shelter
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import StageDate
    from calendar_core.planning.places.chances import Chances
    from calendar_core.planning.places.moves import Stay
    from calendar_core.planning.seasons.axis import Axis

    Bools = NDArray[np.bool_]

PlaceItems = Item | NotPlanned


@dataclass(frozen=True, eq=False)
class Ground:
    """What the places of all trees of a species rest on."""

    garden: UUID
    species: str
    profile: Profile
    knowledge: Knowledge
    spots: Mapping[UUID, Spot]
    chances: Chances
    today: date

    @property
    def axis(self) -> Axis:
        """The days of the plan."""
        return self.chances.air.axis

    @property
    def rules(self) -> PlaceRules:
        """config/places.toml."""
        return self.knowledge.places

    @property
    def now(self) -> int:
        """The index of today."""
        return self.chances.today

    def season(self, day: int) -> int:
        """Return the cycle whose summer solstice was the last before a day: a winter has one name."""
        return max((c for c in self._cycles if self.axis.midsummer(c) <= day), default=self._cycles[0])

    def summer(self, day: int) -> int:
        """Return the cycle whose winter solstice was the last before a day: a summer has one name."""
        return max((c for c in self._cycles if self.axis.midwinter(c) <= day), default=self._cycles[0])

    @cached_property
    def _cycles(self) -> range:
        return range(self.axis.day(0).year - 1, self.axis.day(self.axis.n_days).year + 2)

    def between(self, begin: int, end: int) -> Bools:
        """Return the days from one up to another (n_days,)."""
        days = np.arange(self.axis.n_days)
        return np.asarray((days >= begin) & (days < end))

    def weeks_after(self, since_weeks: float | None, lasting: float | None) -> tuple[int, int] | None:
        """Return the days on which something lasts that began so many weeks ago, None if it is over or never was."""
        if since_weeks is None or lasting is None or since_weeks >= lasting:
            return None
        begun = self.now - round(since_weeks * WEEK)
        return begun, begun + round(lasting * WEEK)


@dataclass(frozen=True)
class Draft:
    """An item to be: ``opens`` and ``by`` are indices of days, ``late`` the day since which it is overdue.

    ``subject`` makes its id where that is not the tree, ``rule`` its rule where that is not the operation.
    """

    operation: str
    cycle: int
    opens: int
    by: int
    reasons: tuple[Reason, ...]
    how: str
    cautions: tuple[str, ...] = ()
    occurrence: int = 0
    late: int | None = None
    goal: Goal = Goal()  # noqa: RUF009 - a value that nobody can change
    protects: bool = False
    subject: str = ""
    rule: str = ""
    shared: bool = False
    cold_c: float | None = None  # the cold it is about: cautions of worse cold are not due


@dataclass(frozen=True, eq=False)
class Case:
    """One tree."""

    ground: Ground
    tree: Tree
    state: TreeState
    stages: tuple[StageDate, ...]
    works: tuple[Item, ...] = ()  # what else is planned for it

    @cached_property
    def standing(self) -> Stay:
        """Where it stands."""
        return stay_of(self.state, self.ground.spots, self.ground.axis)

    @cached_property
    def stays(self) -> list[tuple[date, Spot]]:
        """Where it came to stand, and when."""
        return stays_of(self.state, self.ground.spots)

    def count(self, operation: str, cycle: int) -> int:
        """Return how often an operation was done in a summer."""
        index, summer = self.ground.axis.index, self.ground.summer
        return sum(
            done.operation == operation and summer(index(done.on)) == cycle for done in self.state.done
        )

    def close(self, operation: str, cycle: int, number: int, reason: Reason) -> NotPlanned:
        """Return that an item is no more, and why."""
        return NotPlanned(self.tree.id, operation, numbered(operation, number), cycle, (reason,))

    def absent(self, operation: str, reason: Reason, cycle: int | None = None, rule: str = "") -> NotPlanned:
        """Return why there is no item of an operation in a cycle, that of this season if none is given."""
        here = self.ground.season(self.ground.now) if cycle is None else cycle
        return NotPlanned(self.tree.id, operation, rule or operation, here, (reason,))

    def done(self, *operations: str) -> Iterator[NotPlanned]:
        """Yield that work of summers was done, each time by itself."""
        met = Counter[tuple[str, int]]()
        for done in self.state.done:
            if done.operation in operations:
                key = done.operation, self.ground.summer(self.ground.axis.index(done.on))
                yield self.close(*key, met[key], Reason("done", subject=done.operation, found=done.on))
                met[key] += 1

    def cautions(self, keys: Iterable[str], cold_c: float | None) -> tuple[str, ...]:
        """Return cautions, each once, without those of cold that is not reached."""
        cautions = self.ground.knowledge.cautions
        downs = {key: cautions[key].down_to_c for key in keys}
        return tuple(key for key, down in downs.items() if down is None or cold_c is None or cold_c <= down)

    def _late(self, draft: Draft) -> date | None:
        """Return since when a draft is overdue, never before its tree was known to stand there; None if it is not."""
        if draft.late is None:
            return None
        stood = [
            day for day, _ in (self.state.moves if draft.operation == UP else self.stays)
        ]  # sun differs outside
        since = max([self.ground.axis.day(draft.late), *stood[-1:]])
        return since if since < self.ground.today else None

    def item(self, draft: Draft) -> Iterator[PlaceItems]:
        """Yield the item of a draft; nothing where it lies too far ahead, why not where the grower wants none."""
        ground, day = self.ground, self.ground.axis.day
        rule = draft.rule or numbered(draft.operation, draft.occurrence)
        subject = draft.subject or self.tree.id
        identity = item_id(ground.garden, subject, draft.operation, draft.cycle, draft.occurrence)
        first, last, reasons = day(draft.opens), day(draft.by), draft.reasons
        if identity in self.state.dropped:
            yield self.absent(draft.operation, Reason("dropped", subject=draft.operation), draft.cycle, rule)
            return
        if first > ground.today + timedelta(days=HORIZON_DAYS):
            return
        until = self._waits_until(identity, draft)
        if until is not None:
            first, last = until, max(last, until)
            reasons = (*reasons, Reason("put_off", found=until))
        closes = Range(last, last, last)
        late = self._late(draft)
        if late is not None and until is None:
            reasons = (*reasons, Reason("overdue", found=late))
            closes = in_time(Range(late, late, late), 0, ground.today)
        spots = tuple(spot.id for spot in draft.goal.spots)
        cautions = (*draft.cautions, *ground.knowledge.operations[draft.operation].cautions)
        yield Item(
            identity, self.tree.id, ground.species, draft.operation, rule, draft.cycle, self.state.aim,
            Range(first, first, first), closes, 1.0, "due", draft.how, reasons, self.cautions(cautions, draft.cold_c),
            draft.occurrence, shared=draft.shared, to=spots[0] if spots else None, also=spots[1:],
            protects=draft.protects,
        )  # fmt: skip

    def _waits_until(self, identity: UUID, draft: Draft) -> date | None:
        """Return until when the grower put something off; what protects a tree waits no longer than it may."""
        until, by = self.state.put_off.get(identity), self.ground.axis.day(draft.by)
        if until is not None and draft.protects:
            until = self.ground.today if draft.late is not None else min(until, by)
        return until if until is not None and until > self.ground.today else None


def few_years(ground: Ground, code: str) -> tuple[Reason, ...]:
    """Return on how few past years it rests that cold or heat comes often, nothing where they are enough or it is forecast."""
    often = code in ("cold", "kills", "cool_nights", "fresh_roots", "hot_days")
    return (
        (Reason("few_years", found=ground.chances.years),)
        if often and ground.chances.years is not None
        else ()
    )


def reason_of(
    rule: Shelter | Shade, code: str, found: date, needed: float | date, subject: str = ""
) -> Reason:
    """Return a reason with what its rule rests on; a number is a temperature."""
    unit = "" if isinstance(needed, date) else "degC"
    source, note = rule.source or "", rule.note or ""
    return Reason(code, subject, found, needed, unit, basis=rule.basis, source=source, note=note)


def numbered(operation: str, number: int) -> str:
    """Return the rule of an item that may come several times in a cycle."""
    return f"{operation}.{number}" if number else operation
