"""Shade: put up before days that scorch come often, taken down once they are over, never in heat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.places.chances import ChanceLine
from calendar_core.planning.places.moves import Never
from calendar_core.planning.places.spells import closed, first, runs, starts

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.places import PlaceRules
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.places.chances import Chances

    Bools = NDArray[np.bool_]

NOON_H = 14  # a spot that the sun leaves by then is one of morning sun (common practice)


@dataclass(frozen=True)
class ShadeMove:
    """Shade put up or taken down, by day indices, as in `moves.Move`; ``opened`` tells that opened leaves ask for it."""

    opens: int
    by: int
    overdue: int | None
    opened: bool = False
    forecast: bool = False
    up: bool = True


def shaded_spot(spot: Spot | None, profile: Profile) -> bool:
    """Return whether a spot gives the shade that a species wants: cloth enough, or the sun of mornings alone."""
    if spot is None:
        return False
    if spot.cloth_percent > 0 and spot.cloth_percent >= profile.tolerance.shade_cloth_percent.low:
        return True
    if spot.sun_from is None or spot.sun_to is None:
        return False
    hours = spot.sun_to.hour - spot.sun_from.hour
    return spot.sun_to.hour <= NOON_H and hours <= profile.tolerance.sun_hours.high


def shade_move(
    from_c: float,
    tender: tuple[float, Bools] | None,
    chances: Chances,
    rules: PlaceRules,
    *,
    shaded: bool,
    since: int = 0,
    not_before: int = 0,
) -> ShadeMove | Never:
    """Return when shade is next put up, or taken down where it is ``shaded``.

    ``since`` is the day since which it stands where it does, ``not_before`` that before which it is not put up again, or not taken down. ``tender`` is the line of leaves that were opened to the sun, and the days on which it holds (n_days,).
    Of a season that is nearly over none is put up any more.
    """
    usual, ahead = (of(ChanceLine("heat", from_c), "open") for of in (chances.usual, chances.ahead))
    heat, today = rules.risk["heat"], chances.today
    season = closed(usual > heat.into, int(rules.stay_days.value))
    scorched, held = np.zeros_like(season), np.zeros_like(season)
    if tender is not None:
        line, held = ChanceLine("tender", tender[0]), tender[1]
        scorched = held & (
            np.maximum(chances.usual(line, "open"), chances.ahead(line, "open")) > rules.risk["tender"].into
        )
    if not shaded:
        season[:not_before] = False
        warm = usual > heat.out_of
        warm[:not_before] = False
        foretold = (ahead > heat.into) & warm & (np.arange(len(warm)) <= chances.reach)
        return _up(season, foretold, (scorched, held), today, since, rules)
    clear = (
        (np.arange(len(usual)) >= not_before)
        & (usual <= heat.out_of)
        & (ahead <= heat.out_of)
        & ~held
        & ~_just_hot(chances, from_c)
    )
    enough = runs(clear) >= rules.stay_days.value
    opens = first(enough, today)
    if opens is None:
        return Never("always_hot")
    begun = int(starts(enough)[opens]) or opens
    by = begun + int(rules.ahead_days.value)
    return ShadeMove(begun, max(by, today), by if by < today else None, up=False)


def _up(
    season: Bools, ahead: Bools, tender: tuple[Bools, Bools], today: int, stands: int, rules: PlaceRules
) -> ShadeMove | Never:
    scorched, held = tender
    lead, begin = int(rules.ahead_days.value), starts(season)
    left = int(runs(season)[today])
    if season[today] and begin[today] < today and left < rules.stay_days.value:
        season[today : today + left] = False  # for a few days more nobody puts it up
    by = first(season | ahead | scorched, today)
    if by is None:
        return Never("never_hot")
    since = None
    if by == today and season[by]:
        begun = max(int(begin[by]), stands)
        since = begun if 0 < begun < by else None
    opened = bool(scorched[by]) and not season[by]
    opens = min(by, by if since is None else since) - lead
    if opened:  # not before its cause
        opens = max(opens, int(starts(held)[by]))
    return ShadeMove(opens, by, since, opened, forecast=not season[by] and not opened)


def _just_hot(chances: Chances, from_c: float) -> Bools:
    """Return the days shortly after a hot one of the days that were measured."""
    hot = chances.air.t_max_c[0] > from_c  # what was measured is the same in all traces
    hot[chances.today :] = False
    index = np.arange(len(hot))
    last = np.maximum.accumulate(np.where(hot, index, -len(hot)))
    return np.asarray(index - last <= chances.look_days)
