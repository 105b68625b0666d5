"""The moves that follow from where a tree stands: under cover before the cold, out of it once that is over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from calendar_core.garden.thermal import THERMAL
from calendar_core.knowledge.words import COVERS
from calendar_core.planning.places.bounds import Bound, Safety, binding, safety
from calendar_core.planning.places.spells import closed, first, runs, starts

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from uuid import UUID

    from numpy.typing import NDArray

    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.places import PlaceRules
    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.places.chances import Chances

    Bools = NDArray[np.bool_]

Fit = Literal["well", "too warm", "too cold"]
YEAR_DAYS = 365
WOKEN_DAYS = (
    35  # after so long in a warm room its buds move, and cold is no rest any more (estimate: five weeks)
)


@dataclass(frozen=True, slots=True)
class Stay:
    """Where a tree stands: at a spot since a day; ``home`` is the spot in the open that it came from."""

    spot: Spot | None
    since: int
    home: Spot | None

    @property
    def place(self) -> ThermalProfile:
        """The thermal profile of its spot."""
        return "open" if self.spot is None else self.spot.profile


@dataclass(frozen=True)
class Goal:
    """The spots that a move may lead to, the best first, and the least place that would serve.

    ``fit`` tells how they serve: well, or for want of a better place too warm for a rest or too cold.
    """

    spots: tuple[Spot, ...] = ()
    serves: ThermalProfile | None = None
    fit: Fit = "well"


@dataclass(frozen=True)
class Move:
    """A move under cover or (not ``into``) out of it: from ``opens`` on, done ``by``, indices of days.

    ``overdue`` is the day since which it is, None if it is not. ``bound`` is the line behind it, None where the tree
    is called out by what it needs, or must not stay warm. ``forecast`` tells that the forecast asks for it before the usual year does.
    """

    opens: int
    by: int
    overdue: int | None
    goal: Goal
    bound: Bound | None
    forecast: bool = False
    into: bool = True

    @property
    def to(self) -> Spot | None:
        """The spot to go to, None where the garden has none that serves."""
        return self.goal.spots[0] if self.goal.spots else None


@dataclass(frozen=True, slots=True)
class Never:
    """Why no move comes: a code, and the days in a row that a stay in the open would last."""

    code: str
    days: int = 0


class Mover:
    """The moves of one tree, or of several alike."""

    def __init__(
        self,
        bounds: Sequence[Bound],
        spots: Mapping[UUID, Spot],
        chances: Chances,
        rules: PlaceRules,
        *,
        rests: bool,
        leafy: bool = False,
    ) -> None:
        self.bounds, self.chances, self.rules, self.rests = bounds, chances, rules, rests
        self.spots = sorted(spots.values(), key=lambda spot: leafy and spot.dark)
        self.n_days, self.today = chances.air.axis.n_days, chances.today
        self._safety: dict[ThermalProfile, Safety] = {}
        self._next: dict[tuple[Stay, int], Move | Never] = {}

    def safety(self, place: ThermalProfile) -> Safety:
        """Return what a place is to the tree."""
        if place not in self._safety:
            self._safety[place] = safety(self.bounds, place, self.chances, self.rules)
        return self._safety[place]

    def moves(self, standing: Stay, most: int = 2) -> Iterator[Move]:
        """Yield the coming moves, each as if those before were made in time."""
        day = self.today
        for _ in range(most):
            move = self.next(standing, day)
            if isinstance(move, Never):
                return
            yield move
            if move.to is None:
                out = None if standing.place == "open" else self._out(standing, day)
                if isinstance(out, Move):  # it stays where it is until then
                    yield out
                return
            day = max(move.by if move.into else move.opens, day)
            home = standing.spot if standing.place == "open" else standing.home
            standing = Stay(move.to, day, home)

    def next(self, standing: Stay, day: int) -> Move | Never:
        """Return the next move of a tree from a day on, or why there is none; trees alike share it."""
        if (standing, day) not in self._next:
            self._next[standing, day] = self._found(standing, day)
        return self._next[standing, day]

    def _found(self, standing: Stay, day: int) -> Move | Never:
        into = self._into(standing, day)
        if into is not None and (standing.place == "open" or into.by <= day):
            return into
        if standing.place == "open":
            return Never("cold_never")
        out = self._out(standing, day)
        if isinstance(out, Move) and into is not None and into.by < out.opens:
            return into
        return out

    # -- under cover ----------------------------------------------------------------------------------

    def _into(self, standing: Stay, day: int) -> Move | None:
        """Return the move to a safer place than where it stands, None where that is safe."""
        if self.rests and standing.place == "heated":
            return self._to_rest(standing, day)
        at = self.safety(standing.place)
        stay = int(self.rules.stay_days.value)
        danger, days = closed(at.usual, stay), np.arange(self.n_days)
        usual, begun = danger, starts(danger)
        unsafe = danger | at.known
        put_off = self._put_off(begun, at)
        unsafe[put_off] = at.known[put_off]
        if (
            standing.place == "open" and standing.since > 0
        ):  # just out: carried back only from what would kill
            recent = days < standing.since + stay
            danger = danger & ~recent
            unsafe[recent] &= self._deadly("open")[recent]
        by = first(unsafe, day)
        if by is None:
            return None
        overdue = None
        if by == day == self.today:
            if begun[by] == 0:  # unsafe all year: there is no day on which it became so
                by += -by % int(self.rules.look_days.value)
            else:
                overdue = self._overdue(int(starts(unsafe)[by]), standing)
        asked = by if overdue is None else overdue
        opens = max(asked - int(self.rules.ahead_days.value), min(standing.since, asked))
        made = max(int(begun[by]), min(standing.since, by)) if danger[by] else by
        goal, bound = self._cover(standing, by), self._bound(standing.place, made)
        foretold = not usual[by] and self.today <= by <= self.chances.reach
        return Move(opens, by, overdue, goal, bound, forecast=foretold)

    def _to_rest(self, standing: Stay, day: int) -> Move | None:
        """Return the move of a tree that must rest from a warm room into a cool place, None once its buds move."""
        winter = closed(self.safety("open").usual, int(self.rules.stay_days.value))
        cold = first(winter, max(day, standing.since))
        if cold is None or cold > standing.since + WOKEN_DAYS:
            return None
        begun = first(winter, standing.since)
        asked = max(standing.since + int(self.rules.ahead_days.value), cold if begun is None else begun)
        overdue = asked if asked < self.today == day else None
        by = max(asked, day)
        return Move(standing.since, by, overdue, self._cover(standing, by), None)

    def _put_off(self, begun: NDArray[np.intp], at: Safety) -> Bools:
        """Return the days by which a mild forecast puts off a season that ``begun`` (n_days,), two weeks at most.

        Once days on which the line is passed have come, or are told, it is put off no more. What was measured stands
        for the forecasts that are over: so what was told to be the last day stays as today walks on.
        """
        days = np.arange(self.n_days)
        passed = np.maximum.accumulate(np.where(at.known, days, -1))
        early = (days <= self.chances.reach) & (days - begun < self.rules.stay_days.value)
        return np.asarray(early & (passed < begun))

    def _overdue(self, asked: int, standing: Stay) -> int | None:
        """Return the day since which a tree stands where it should not, None if only since today."""
        since = max(asked, standing.since)
        return since if since < self.today else None

    def _bound(self, place: ThermalProfile, day: int) -> Bound | None:
        """Return the line that makes a place unsafe on a day, or the nearest to it in a short pause of the cold."""
        return binding(self.bounds, place, self.chances, self.rules, day) or self._usual_bound(place, day)

    def _usual_bound(self, place: ThermalProfile, day: int) -> Bound | None:
        """Return the line nearest to being passed on a day that lies in a short pause of the cold."""
        near = [bound for bound in self.bounds if bound.holds(place)[day]]

        def ratio(bound: Bound) -> float:
            return float(self.chances.usual(bound.line, place)[day] / self.rules.risk[bound.line.risk].into)

        return max(near, key=ratio, default=None)

    def _deadly(self, place: ThermalProfile) -> Bools:
        """Return the days on which what is forecast, or was, would kill, or harm a tree that bears no frost at all."""
        out = np.zeros(self.n_days, bool)
        for bound in self.bounds:
            if bound.line.risk == "killing" or (bound.line.risk == "night" and not self.rests):
                out |= bound.holds(place) & (
                    self.chances.known(bound.line, place) > self.rules.risk[bound.line.risk].into
                )
        return out

    def _cover(self, standing: Stay, by: int) -> Goal:
        """Return the spots that serve, or what would serve.

        Of a tree that must rest the coolest comes first which stays above the line that protects it.
        """
        until = self._until_out(by)
        order = COVERS if self.rests else COVERS[::-1]
        may = [place for place in order if self._may_go(standing.place, place)]
        serving = [place for place in may if not self._harmed(place, by, until)]
        cool = [place for place in serving if not (self.rests and place == "heated")]
        cool.sort(key=lambda place: self.rests and THERMAL[place].floor_c < self.bounds[0].line.at_c)
        serves = (cool or serving or ["heated"])[0 if self.rests else -1]
        if spots := [spot for place in cool for spot in self._spots(place, standing)]:
            return Goal(tuple(spots), serves)
        # A frame is better than the bench, a warm room than a dead tree.
        for place in (*COVERS[1::-1], *COVERS[2:]):
            if standing.place == "open" and (spots := self._spots(place, standing)):
                return Goal(tuple(spots), serves, "too warm" if place == "heated" else "too cold")
        return Goal(serves=serves)

    def _may_go(self, here: ThermalProfile, there: ThermalProfile) -> bool:
        """Return whether a place is another kind of cover than where a tree stands: warmer, or out of warmth to rest."""
        if here == "open":
            return True
        warmer = COVERS.index(there) > COVERS.index(here)
        return here != there if self.rests and here == "heated" else warmer

    def _spots(self, place: ThermalProfile, standing: Stay) -> list[Spot]:
        """Return the spots of a kind that a tree may go to: a quarantine is neither entered nor left for the weather."""
        quarantine = standing.spot is not None and standing.spot.quarantine
        return [spot for spot in self.spots if (spot.profile, spot.quarantine) == (place, quarantine)]

    def _until_out(self, by: int) -> int:
        """Return the day until which a tree that goes under cover would stay there."""
        clear = runs(self.safety("open").clear) >= self.rules.stay_days.value
        return first(clear, by + int(self.rules.stay_days.value)) or self.n_days

    def _harmed(self, place: ThermalProfile, begin: int, end: int) -> bool:
        at = self.safety(place)
        return bool((at.usual | at.ahead)[begin:end].any())

    # -- out of it ------------------------------------------------------------------------------------

    def _out(self, standing: Stay, day: int) -> Move | Never:
        """Return the move into the open, once that has become safe for long enough."""
        homes = (standing.home,) if standing.home else tuple(self._spots("open", standing))
        at, stay = self.safety("open"), int(self.rules.stay_days.value)
        danger = closed(at.usual, stay)
        lasting = runs(at.clear)
        enough = (lasting >= stay) & (runs(~danger) >= self.rules.least_days.value)
        earliest = max(day, standing.since + stay if standing.since > 0 else day)
        found = first(enough, earliest)
        if found is None:
            return Never("season_short", min(int(runs(~danger & at.clear).max(initial=0)), YEAR_DAYS))
        begun = int(starts(enough)[found])
        opens = max(begun, standing.since + stay if standing.since > 0 else begun) if begun < found else found
        if not homes:
            return Never("no_open_spot")
        by = opens + 2 * stay
        overdue = None
        if by < self.today and day == self.today:
            overdue, by = by, self.today
        return Move(opens, by, overdue, Goal(homes), self._passed(opens), into=False)

    def _passed(self, day: int) -> Bound | None:
        """Return the line that was passed last before a day; None where it holds no more, and the tree's needs call it out."""
        before = np.arange(self.n_days) < day
        worst: tuple[int, float, Bound] | None = None
        for bound in self.bounds:
            at_most = self.rules.risk[bound.line.risk].out_of
            chance = np.maximum(
                self.chances.usual(bound.line, "open"), self.chances.ahead(bound.line, "open")
            )
            passed = np.flatnonzero(bound.holds("open") & before & (chance > at_most))
            if passed.size and (worst is None or (passed[-1], chance[passed[-1]] / at_most) > worst[:2]):
                worst = int(passed[-1]), float(chance[passed[-1]] / at_most), bound
        return worst[2] if worst is not None and worst[2].holds("open")[day] else None
