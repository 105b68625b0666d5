"""What past springs and autumns taught about each tree: its own heat needs, and the site's own colour date."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.seasons.autumn import anomaly_shift, climate_fall_day
from calendar_core.planning.seasons.stage_groups import gap_to, need_stages
from calendar_core.planning.seasons.stage_run import MIDDAY
from calendar_core.science.year.learning import (
    SIGMA_AUTUMN_DAYS,
    SIGMA_LN_HEAT,
    UNKNOWN_WEATHER_LN_HEAT,
    learn,
)
from calendar_core.science.year.stages import sum_at

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from calendar_core.garden.thermal import History
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.stages import Stage
    from calendar_core.planning.seasons.air import Air

AUTUMN_BBCH = range(90, 100)  # principal stage 9, senescence and dormancy (BBCH monograph)

Seen = tuple[str, int, int]  # stage, cycle, ordinal of the day


@dataclass(frozen=True)
class Taught:
    """``needs`` (mean, variance) of ln F per stage with a need; ``autumn`` shift and variance [d], None if unseen."""

    needs: tuple[tuple[float, float], ...]
    autumn: tuple[float, float] | None


def taught(
    profile: Profile,
    seen: Sequence[Seen],
    past: Callable[[int], Air | None],
    history: Callable[[Air], History],
) -> Taught:
    """Return what ``seen`` of cycles before the one planned teaches.

    ``past`` gives the air of a past cycle: measured, or the mean year standing in for it, with which a sight
    says much less; None where there is neither.
    """
    needs = []
    for name in need_stages(profile):
        rule = profile.stages[name].need
        assert rule is not None  # noqa: S101 - need_stages lists no other
        sights = _ln_heats(profile, name, seen, past, history)
        errors = [
            SIGMA_LN_HEAT if measured else math.hypot(SIGMA_LN_HEAT, UNKNOWN_WEATHER_LN_HEAT)
            for _, measured in sights
        ]
        learned = learn(rule.ln_heat, rule.spread, [heat for heat, _ in sights], errors)
        needs.append((learned.mean, learned.variance))
    return Taught(tuple(needs), _autumn(profile, seen, past))


def sight_cycle(stage: Stage, day: date, *, south: bool) -> int:
    """Return the cycle whose growing season, or autumn for a stage of autumn, the day it was seen is nearest to.

    The date on which the garden's cycle begins cannot tell: leaves fall before or after it.
    """
    autumn = stage.climate_fall is not None or stage.day_length is not None or stage.bbch in AUTUMN_BBCH
    autumn = autumn or (stage.nights is not None and stage.nights.passes == "below")
    years = range(day.year - 1, day.year + 2)
    if autumn:
        seasons = {year: date(year + 1, 3, 21) if south else date(year, 9, 22) for year in years}
    else:
        seasons = {year: date(year, 12, 1) if south else date(year, 6, 1) for year in years}
    return min(seasons, key=lambda year: abs((seasons[year] - day).days))


def _ln_heats(
    profile: Profile,
    name: str,
    seen: Sequence[Seen],
    past: Callable[[int], Air | None],
    history: Callable[[Air], History],
) -> list[tuple[float, bool]]:
    """Return ln F of each spring's sight, and whether that spring's weather was measured."""
    by_cycle: dict[
        int, tuple[float, float]
    ] = {}  # the observation nearest to the stage speaks for its spring
    for stage, cycle, ordinal in seen:
        gap = gap_to(profile, stage, name) if stage in profile.stages else None
        if gap is not None and (cycle not in by_cycle or gap[0] < by_cycle[cycle][1]):
            by_cycle[cycle] = (ordinal - MIDDAY + gap[0], gap[0])
    out = []
    for cycle, (ordinal_label, _) in sorted(by_cycle.items()):
        air = past(cycle)
        if air is None:
            continue
        label = ordinal_label - air.axis.start.toordinal()
        heat = float(sum_at(air.heat(cycle, history(air)), np.full((air.n_traces, 1), label)).mean())
        if heat > 0:
            out.append((math.log(heat), air.measured))
    return out


def _autumn(
    profile: Profile, seen: Sequence[Seen], past: Callable[[int], Air | None]
) -> tuple[float, float] | None:
    for name, stage in profile.stages.items():
        rule = stage.climate_fall
        if rule is None:
            continue
        shifts = []
        for seen_stage, cycle, ordinal in seen:
            air = past(cycle) if seen_stage == name else None
            if air is not None:
                site = climate_fall_day(air, rule, cycle)
                if math.isfinite(site):  # what that year's warmth did is told of each year by itself
                    expected = site + float(anomaly_shift(air, rule, cycle, site).mean())
                    shifts.append(ordinal - MIDDAY - air.axis.start.toordinal() - expected)
        if shifts:
            learned = learn(0.0, rule.spread_days, shifts, SIGMA_AUTUMN_DAYS)
            return learned.mean, learned.variance
    return None
