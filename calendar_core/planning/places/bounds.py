"""What a tree bears: the lines that hold for it, on which days, in the open and under cover."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.places.chances import ChanceLine

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.places import PlaceRules
    from calendar_core.knowledge.forms.species.profile import Profile, Shelter
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.places.chances import Chances

    Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Bound:
    """A line that holds on some days (n_days,); one of the open holds no more for what stands under cover.

    ``why`` is the code of the reason it gives.
    """

    line: ChanceLine
    days: Bools
    open_only: bool
    why: str

    def holds(self, place: ThermalProfile) -> Bools:
        """Return the days on which it holds for a tree that stands there."""
        return self.days if place == "open" or not self.open_only else np.zeros_like(self.days)


@dataclass(frozen=True, eq=False)
class Safety:
    """What a place is to a tree, (n_days,) each: unsafe usually, with what is forecast (``known``: and was measured), or clear."""

    usual: Bools
    ahead: Bools
    known: Bools
    clear: Bools


def killing_c(profile: Profile, knowledge: Knowledge) -> float:
    """Return the temperature that kills roots; where none is known, so much below the line that protects."""
    killed, protect = profile.tolerance.roots_killed_c, profile.tolerance.roots_protect_below_c.value
    return killed.value if killed is not None else protect - knowledge.exposure.roots.killed_below_c.value


def bounds_of(
    profile: Profile,
    shelter: Shelter,
    knowledge: Knowledge,
    n_days: int,
    *,
    resting: Bools | None = None,
    fresh: Bools | None = None,
) -> tuple[Bound, ...]:
    """Return the lines that hold for a tree.

    ``resting`` are the days on which the line that protects holds, all without; ``fresh`` those on which its roots
    are newly cut.
    """
    always = np.ones(n_days, dtype=np.bool_)
    protects = ChanceLine("night", shelter.night_c)
    out = [Bound(protects, always if resting is None else resting, shelter.rests, "cold")]
    if shelter.nights_c is not None:
        out.append(Bound(ChanceLine("nights", shelter.nights_c), always, open_only=False, why="cool_nights"))
    if shelter.rests:
        out.append(
            Bound(ChanceLine("killing", killing_c(profile, knowledge)), always, open_only=False, why="kills")
        )
    if fresh is not None and fresh.any() and shelter.rests:
        roots = knowledge.exposure.roots.fresh
        out.append(Bound(ChanceLine("night", roots.caution_c), fresh, open_only=True, why="fresh_roots"))
        out.append(Bound(ChanceLine("killing", roots.danger_c), fresh, open_only=False, why="fresh_roots"))
    return tuple(out)


def safety(bounds: Iterable[Bound], place: ThermalProfile, chances: Chances, rules: PlaceRules) -> Safety:
    """Return what a place is to a tree on every day."""
    n = chances.air.axis.n_days
    usual, ahead, known = (np.zeros(n, bool) for _ in range(3))
    clear = np.ones(n, bool)
    for bound in bounds:
        risk, holds = rules.risk[bound.line.risk], bound.holds(place)
        usually, soon = chances.usual(bound.line, place), chances.ahead(bound.line, place)
        cold = usually > risk.into
        usual |= holds & cold
        # Harm by cool nights builds up slowly: a cool week in the middle of summer is borne.
        near = within(cold, int(rules.ahead_days.value)) if bound.line.risk == "nights" else True
        ahead |= holds & (soon > risk.into) & near
        known |= holds & (chances.known(bound.line, place) > risk.into) & near
        clear &= ~holds | ((usually <= risk.out_of) & (soon <= risk.out_of))
    return Safety(usual, ahead, known, clear)


def within(days: Bools, ahead: int) -> Bools:
    """Return the days on which, or at most so many days after which, one of ``days`` comes.

    >>> within(np.array([False, False, False, True, False]), 2).tolist()
    [False, True, True, True, False]
    """
    return np.asarray(np.convolve(days[::-1], np.ones(ahead + 1))[: len(days)][::-1] > 0)


def binding(
    bounds: Sequence[Bound], place: ThermalProfile, chances: Chances, rules: PlaceRules, day: int
) -> Bound | None:
    """Return the line that makes a place unsafe on a day, the most surely passed first; None if none does."""
    worst: tuple[float, Bound] | None = None
    for bound in bounds:
        if not bound.holds(place)[day]:
            continue
        chance = max(chances.usual(bound.line, place)[day], chances.ahead(bound.line, place)[day])
        over = float(chance / rules.risk[bound.line.risk].into)
        if over > 1.0 and (worst is None or over > worst[0]):
            worst = (over, bound)
    return None if worst is None else worst[1]
