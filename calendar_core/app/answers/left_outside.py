"""What a tree will meet where it is left against the plan's advice, told once as that is answered."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.garden.thermal import felt
from calendar_core.planning.places.bounds import killing_c
from calendar_core.wording.garden.answer_text import LEFT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.items import Item

WINTER = timedelta(days=182)  # half a year holds the cold that is ahead


def what_it_meets(session: Session, items: Sequence[Item]) -> Iterator[str]:
    """Yield, for each species and spot of moves that protect, the cold of the half year ahead there and what that does."""
    trees, told = {tree.id: tree for tree in session.trees}, set[tuple[str, str]]()
    for item in items:
        at = session.grove.states[item.tree_id].spot
        spot = None if at is None else session.spots.get(at)
        profile = session.knowledge.profiles[trees[item.tree_id].species]
        where = "" if spot is None else spot.name
        if not item.protects or not profile.shelter or (item.species, where) in told:
            continue
        told.add((item.species, where))
        cold, worst = _coldest(session, "open" if spot is None else spot.profile)
        temperature = session.style.temperature
        words = session.style.say
        yield words(LEFT["meets"], spot=where, cold=temperature(cold), worst=temperature(worst))
        shelter, killed = profile.shelter[0], killing_c(profile, session.knowledge)
        name, line = profile.common, temperature(shelter.night_c)
        if shelter.rests:
            yield words(LEFT["killed"], name=name, line=line, killed=temperature(killed))
        else:
            yield words(LEFT["harmed"], name=name, line=line)


def _coldest(session: Session, place: ThermalProfile) -> tuple[float, float]:
    """Return the coldest night ahead at a place, of the middle and of the worst of ten possible years [whole degC]."""
    traces = session.weather.sky.traces
    first = (session.today - traces.start).days
    low, _ = felt(traces.t_min_c, traces.t_max_c, ((0, place),))
    coldest = low[:, first : first + WINTER.days].min(axis=1)
    middle, worst = np.quantile(coldest, (0.5, 0.1))
    return float(round(middle)), float(round(worst))
