"""The garden's trees as hazards see them: where each stands, in what pot, and how tender it is today."""

from __future__ import annotations

from datetime import timedelta
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from alerts.hazards.place import weather_at
from alerts.hazards.stand import Condition, stand_of
from calendar_core.garden.model import Spot
from calendar_core.planning.seasons.foliage import foliage_on, weeks_since_opened, weeks_since_roots

if TYPE_CHECKING:
    from collections.abc import Callable
    from uuid import UUID

    from alerts.air.hours import Hours, Place
    from alerts.hazards.stand import Stand
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.profiles.knowledge import Knowledge


def stands_of(session: Session, hours: Hours, place: Place) -> dict[UUID, Stand]:
    """Return every tree of the garden as it stands today; one without a spot stands in the open."""
    known, today = session.knowledge, session.today
    light = _daily_light(session, hours, place)
    out = {}
    for tree in session.trees:
        state, profile = session.grove.states[tree.id], known.profiles[tree.species]
        spot = _spot(session, state.spot)
        condition = Condition(
            foliage_on(today, session.plan.stages[tree.id], state, profile, known.exposure),
            vigour=state.vigour,
            size=state.size,
            pot_litres=state.pot_litres,
            pot=state.pot or "unglazed",
            watered_h=_watered(state, known),
            weeks_since_root_work=weeks_since_roots(today, state, known.operations),
            weeks_since_leaves_taken=weeks_since_opened(today, state, known.operations, known.spacing),
            used_to_mol=_used_to(session, state, light),
        )
        out[tree.id] = stand_of(tree.id, spot, tree.species, condition, known)
    return out


def open_ground(session: Session) -> Spot:
    """Return the spot of trees of which none is written down: in the sun all day, under nothing."""
    return Spot(session.garden.id, session.garden.id, "")


def _spot(session: Session, spot: UUID | None) -> Spot:
    return session.spots[spot] if spot in session.spots else open_ground(session)


def _watered(state: TreeState, known: Knowledge) -> tuple[float, ...]:
    """Return the hours at which a tree is taken to be watered: small pots twice a day."""
    rules = known.exposure.drying
    litres = state.pot_litres or known.growth.pots.litres(state.size)
    once = rules.watered_h.value
    return (once, rules.again_h.value) if litres < rules.twice_below_l.value else (once,)


def _daily_light(session: Session, hours: Hours, place: Place) -> Callable[[Spot], float]:
    """Return what tells a spot's daily light [mol m-2 d-1]: that of the forecast stands for the days before it."""

    @cache
    def of(spot: Spot) -> float:
        at = weather_at([spot], hours, place, session.knowledge.exposure)[spot]
        daily = np.median(at.daily_mol, axis=0)
        whole = daily[1:-1] if len(daily) > 2 else daily  # the first and the last day may be parts
        return float(whole.mean())

    return of


def _used_to(session: Session, state: TreeState, light: Callable[[Spot], float]) -> float | None:
    """Return the mean daily light of a tree's last days where it was moved within them, else None."""
    days = round(session.knowledge.exposure.light.used_to_days.value)
    first = session.today - timedelta(days=days)
    if not any(moved > first for moved, _ in state.moves[1:]):
        return None
    at = [_spot(session, state.moves[0][1])] * days
    for moved, spot in state.moves:
        for day in range(max((moved - first).days, 0), days):
            at[day] = _spot(session, spot)
    return float(np.mean([light(spot) for spot in at]))
