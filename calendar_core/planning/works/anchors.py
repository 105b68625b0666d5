"""Anchors: the moments of a cycle that open and close windows, as labels with the fact behind them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.items import Reason
from calendar_core.planning.seasons.cycle import Cycle, Fact
from calendar_core.science.year.stages import crossing, falls_below, first_day, last_day, rises_above, sum_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.species.anchors import (
        AirRule,
        Anchor,
        BeforeFrost,
        HeatSince,
        LastSafeDay,
        MeanYear,
    )
    from calendar_core.knowledge.forms.species.work import Work

    Floats = NDArray[np.float64]


DORMANT, COLDEST_DAYS = (
    "dormant",
    "coldest_days",
)  # with which the cycle begins, of trees that keep their leaves
SAFE_NIGHTS = (
    28  # with fewer days between the last cold night of spring and the first of autumn, none is the last
)


@dataclass(frozen=True)
class Limit:
    """A moment: ``labels`` broadcast to (n_traces, n_groups, n_draws), and the ``fact`` behind it.

    The reason's ``found`` is filled per tree with the likely date of ``fact``.
    """

    labels: Floats
    reason: Reason
    fact: Fact


def limits(anchor: Anchor, work: Work, at: Cycle, *, alone: bool = True) -> list[Limit]:
    """Return the moments an anchor stands for: one, or up to three for the last safe day.

    One that is not ``alone`` in closing a window drops out of traces without a frost to count from.
    """
    found = _limits(anchor, work, at, alone=alone)
    return [_shifted(limit, anchor.days) for limit in found] if anchor.days else found


def _shifted(limit: Limit, days: float) -> Limit:
    reason = replace(limit.reason, days=limit.reason.days + days)
    return replace(limit, labels=limit.labels + days, reason=reason)


def _limits(anchor: Anchor, work: Work, at: Cycle, *, alone: bool) -> list[Limit]:
    if anchor.stage is not None:
        return [_stage(anchor, work, at)]
    if anchor.day_length_below_h is not None:
        return [_day_length(anchor.day_length_below_h, work, at)]
    if anchor.before_first_frost is not None:
        return [_before_frost(anchor.before_first_frost, work, at, alone=alone)]
    if anchor.last_safe_day is not None:
        return _last_safe_day(anchor.last_safe_day, work, at)
    if anchor.air is not None:
        return [_air(anchor.air, work, at)]
    if anchor.mean_year is not None:
        return [_mean_year(anchor.mean_year, work, at)]
    if anchor.heat_since is not None:
        return [_heat_since(anchor.heat_since, work, at)]
    label = _flat(float(at.air.axis.calendar(str(anchor.calendar), at.cycle)))
    return [Limit(label, _reason("calendar", work, needed=anchor.calendar), Fact(label))]


def _reason(code: str, work: Work, **values: object) -> Reason:
    return Reason(
        code=code,
        basis=work.basis,
        source=work.source or "",
        note=work.note or "",
        **values,  # type: ignore[arg-type]
    )


def _flat(label: float) -> Floats:
    return np.full((1, 1, 1), label)


def _by_trace(labels: Floats) -> Floats:
    return labels[:, None, None]


def _stage(anchor: Anchor, work: Work, at: Cycle) -> Limit:
    fact = at.fact(str(anchor.stage))
    labels, subject = fact.labels, str(anchor.stage)
    if subject == DORMANT and at.profile.habit != "deciduous":
        subject = COLDEST_DAYS
    if anchor.heat is None:
        return Limit(labels, _reason("stage", work, subject=subject), fact)
    sums = at.air.degree_day_sum(anchor.heat.base_c)
    later = crossing(sums, np.where(np.isfinite(labels), sum_at(sums, labels), np.inf) + anchor.heat.sum)
    unit = f"degC d above {anchor.heat.base_c:g} degC"
    return Limit(later, _reason("stage_heat", work, subject=subject, needed=anchor.heat.sum, unit=unit), fact)


def _day_length(below_h: float, work: Work, at: Cycle) -> Limit:
    label = _flat(falls_below(at.air.axis.day_length_h, below_h, at.air.axis.midsummer(at.cycle), at.end))
    return Limit(label, _reason("day_length", work, needed=below_h, unit="h"), Fact(label))


def frost_or_growth_stop(at: Cycle) -> tuple[Floats, float]:
    """Return first frost (n_traces, n_groups or 1, 1), growth stop standing in for none, and the share without."""
    frost = _by_trace(at.air.first_frost(at.cycle))
    missing = ~np.isfinite(frost)
    if "growth_stop" in at.stages and missing.any():
        frost = np.where(missing, at.stages["growth_stop"].mean(axis=2, keepdims=True), frost)
    return frost, float(missing.mean())


def _before_frost(rule: BeforeFrost, work: Work, at: Cycle, *, alone: bool) -> Limit:
    if alone:
        frost, missing = frost_or_growth_stop(at)
    else:
        frost, missing = _by_trace(at.air.first_frost(at.cycle)), 0.0
    labels = frost - rule.days
    if rule.cool_summer is not None:
        shift = rule.cool_summer
        unshifted = frost - (rule.days if shift.from_days is None else shift.from_days)
        means = _mean_after(at.air.mean_c(), unshifted, shift.over_days)
        labels = labels - np.clip(shift.per_c * (shift.at_c - means), 0.0, shift.most_days)
    if rule.before_growth_stop_days is not None:
        stop = at.stages["growth_stop"] - rule.before_growth_stop_days
        if np.mean(stop < labels) > 0.5:
            days = -rule.before_growth_stop_days
            reason = _reason("stage", work, subject="growth_stop", days=days)
            return Limit(np.minimum(labels, stop), reason, at.fact("growth_stop"))
        labels = np.minimum(labels, stop)
    code = "growth_stop_for_frost" if missing > 0.5 else "before_frost"
    reason = _reason(code, work, subject="cool summer" if rule.cool_summer else "", days=-rule.days)
    return Limit(labels, reason, Fact(frost))


def _mean_after(values: Floats, labels: Floats, days: int) -> Floats:
    """Return the mean of the ``days`` days from each label on, inf where the axis holds none of them.

    ``values`` are (n_traces, n_days), ``labels`` (n_traces, ...).
    """
    n_days = values.shape[1]
    sums = np.concatenate([np.zeros((len(values), 1)), np.cumsum(values, axis=1)], axis=1)
    first = np.clip(np.ceil(np.where(np.isfinite(labels), labels, n_days)), 0, n_days).astype(np.intp)
    last = np.minimum(first + days, n_days)
    trace = np.arange(len(values)).reshape(-1, *(1,) * (labels.ndim - 1))
    count = last - first
    total = sums[trace, last] - sums[trace, first]
    return np.where(count > 0, total / np.maximum(count, 1), np.inf)


def _last_safe_day(rule: LastSafeDay, work: Work, at: Cycle) -> list[Limit]:
    out = []
    if rule.weeks_before_first_frost is not None:
        frost = at.air.first_frost(at.cycle)  # a trace without frost sets no such limit
        labels = _by_trace(frost - 7 * rule.weeks_before_first_frost)
        reason = _reason("safe_frost", work, needed=rule.weeks_before_first_frost, unit="wk")
        out.append(Limit(labels, reason, Fact(_by_trace(frost))))
    if rule.heat_left is not None:
        out.append(_heat_left(rule, work, at))
    if rule.releaf_weeks is not None and "growth_stop" in at.stages:
        stop = at.fact("growth_stop")
        reason = _reason("safe_growth_stop", work, needed=rule.releaf_weeks, unit="wk")
        out.append(Limit(stop.labels - 7 * rule.releaf_weeks, reason, stop))
    return out


def _heat_left(rule: LastSafeDay, work: Work, at: Cycle) -> Limit:
    """Return the last day from which the wanted heat still comes before the leaves colour, or winter."""
    need = rule.heat_left
    assert need is not None  # noqa: S101 - told by the caller
    sums = at.air.degree_day_sum(need.base_c)
    over = at.stages.get("colour", _flat(float(at.end - 1)))
    over = np.where(np.isfinite(over), np.minimum(over, at.end - 1), at.end - 1)
    over = np.broadcast_to(over, (sums.shape[0], *over.shape[1:]))
    before = np.maximum(sum_at(sums, over) - need.sum, 0.0)
    unit = f"degC d above {need.base_c:g} degC"
    return Limit(crossing(sums, before), _reason("safe_heat", work, needed=need.sum, unit=unit), Fact(over))


def _heat_since(rule: HeatSince, work: Work, at: Cycle) -> Limit:
    start = max(at.air.axis.calendar(rule.start, at.cycle), 0)
    sums = at.air.degree_day_sum(rule.base_c, rule.method, rule.upper_c)
    before = sums[:, start - 1] if start else np.zeros(len(sums))
    labels = crossing(sums, (before + rule.sum)[:, None, None])
    labels = np.where(labels < at.end, labels, np.inf)
    unit = f"degC d above {rule.base_c:g} degC"
    since = at.air.axis.day(start).isoformat()
    return Limit(labels, _reason("heat_since", work, subject=since, needed=rule.sum, unit=unit), Fact(labels))


def _mean_year(rule: MeanYear, work: Work, at: Cycle) -> Limit:
    air, cycle = at.air, at.cycle
    if rule.passes == "above":
        label = rises_above(air.mean_year, rule.at_c, air.coldest(cycle), air.warmest(cycle))
    else:
        label = falls_below(air.mean_year, rule.at_c, air.warmest(cycle), at.end)
    reason = _reason(f"mean_year_{rule.passes}", work, needed=rule.at_c, unit="degC")
    return Limit(_flat(label), reason, Fact(_flat(label)))


def _air(rule: AirRule, work: Work, at: Cycle) -> Limit:
    values = at.air.t_min_c if rule.measure == "night" else at.air.t_max_c
    hit = values > rule.at_c if rule.passes == "above" else values < rule.at_c
    if rule.run_days > 1:
        hit = _runs(hit, rule.run_days)
    air, cycle = at.air, at.cycle
    find = first_day if rule.which == "first" else last_day
    if rule.measure == "day":
        labels = find(hit, air.coldest(cycle), at.end)
    elif rule.which == "first":
        labels = first_day(hit, air.warmest(cycle), at.end)
    else:
        labels = last_day(hit, air.coldest(cycle), air.warmest(cycle))
        again = first_day(hit, air.warmest(cycle), at.end)
        labels = np.where(labels + SAFE_NIGHTS > again, np.inf, labels)  # such nights never stop
    labels = _by_trace(labels)
    code = f"air_{rule.measure}_{rule.which}_{rule.passes}"
    return Limit(labels, _reason(code, work, needed=rule.at_c, unit="degC"), Fact(labels))


def _runs(hit: NDArray[np.bool_], days: int) -> NDArray[np.bool_]:
    """Keep only the last day of every ``days`` in a row."""
    out = hit.copy()
    for back in range(1, days):
        out[:, back:] &= hit[:, :-back]
    out[:, : days - 1] = False
    return out
