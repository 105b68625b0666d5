"""Stage dates of one species in one cycle, for many trees at once, on the member axis.

Arrays are (n_traces, n_groups, n_draws) of labels; a group is a set of trees that differ in nothing the
stage model reads.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.seasons.autumn import anomaly_shift, climate_fall_day
from calendar_core.planning.seasons.members import middles
from calendar_core.planning.seasons.stage_groups import Group, SeasonStages, gap_to, need_stages
from calendar_core.science.year.learning import SIGMA_AUTUMN_DAYS, SIGMA_LN_HEAT
from calendar_core.science.year.members import (
    DRAWS,
    normal_strata,
    picked_above,
    shuffled_strata,
    strata_above,
)
from calendar_core.science.year.stages import (
    crossing,
    falls_below,
    first_day,
    has_winter,
    sum_at,
    trailing_mean,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from calendar_core.garden.thermal import History
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.stages import Stage, Warmth
    from calendar_core.planning.seasons.air import Air

    Floats = NDArray[np.float64]

# Half of one spring's variance is taken as common to all stages of a tree, half as each stage's own
# (estimate: at Harvard Forest the year's error shared by all species was 1.3 d of about 3 d).
COMMON_SHARE = 0.5
MIDDAY = 0.5  # a stage seen on a day is taken to have come in the middle of it


class StageRun:
    """The stages of one species in one cycle."""

    def __init__(self, air: Air, profile: Profile, cycle: int, groups: Sequence[Group]) -> None:
        self.air, self.axis, self.profile, self.cycle, self.groups = air, air.axis, profile, cycle, groups
        self.places: dict[History, list[int]] = {}
        for place, group in enumerate(groups):
            self.places.setdefault(group.history, []).append(place)
        self.shape = (air.n_traces, len(groups), DRAWS)
        self.common = normal_strata(DRAWS)
        self.labels: dict[str, Floats] = {}
        self.no_winter = np.zeros(len(groups))
        self.picked: dict[
            str, dict[int, NDArray[np.intp]]
        ] = {}  # by stage and group, its draws that agree with looks

    def run(self, only: Sequence[str] | None = None) -> SeasonStages:
        """Return the labels of all stages, or of ``only`` these (which must hold what they hang on)."""
        names = [n for n in self.profile.stages if only is None or n in only]
        for name in sorted(names, key=self._depth):
            self.labels[name] = self._with_seen(name, self._dates(name, self.profile.stages[name]))
        self._keep_order(names)
        self._rest_last(names)
        self._warm_before_cool(names)
        self._forget_winter()
        return SeasonStages(self.cycle, self.labels, self.no_winter)

    def _depth(self, name: str) -> int:
        stage = self.profile.stages[name]
        other = stage.after or stage.before
        return 0 if other is None else 1 + self._depth(other.stage)

    def _own(self, name: str) -> Floats:
        """Return each stage's own error, paired anew in every trace."""
        salt = list(self.profile.stages).index(name) + 1
        return shuffled_strata(self.shape[0], DRAWS, salt)[:, None, :]

    def _agreeing(self, name: str) -> Floats:
        """Return a stage's own error, of each group by the draws that agree with what was looked for in vain."""
        own = self._own(name)
        if name not in self.picked:
            return own
        by_group = np.repeat(own, len(self.groups), axis=1)
        for g, draws in self.picked[name].items():
            by_group[:, g] = np.take_along_axis(by_group[:, g], draws, axis=1)
        return by_group

    def _dates(self, name: str, stage: Stage) -> Floats:
        if stage.need is not None:
            return self._by_need(name)
        if stage.warmth is not None:
            return self._by_warmth(name, stage.warmth)
        if stage.after is not None:
            return self._by_after(name, stage)
        if stage.before is not None:
            target, own = self.labels[stage.before.stage], self._agreeing(name)
            labels = target - stage.before.days + stage.before.spread_days * own
            return self._linked(name, np.minimum(labels, target))
        if stage.climate_fall is not None:
            return self._by_climate(name, stage)
        if stage.day_length is not None:
            stop = min(self.axis.winter_end(self.cycle), self.axis.n_days)
            start = self.axis.midsummer(self.cycle)
            day = falls_below(self.axis.day_length_h, stage.day_length.below_h, start, stop)
            return np.asarray(self._wide(day) + stage.day_length.spread_days * self._own(name))
        return self._by_nights(stage)

    def _wide(self, labels: Floats | float) -> Floats:
        """Return labels that are the same for all groups."""
        by_trace = np.asarray(labels, dtype=float).reshape(-1, 1, 1)
        return np.broadcast_to(by_trace, (self.shape[0], 1, DRAWS))

    def _crossing(self, need: Floats) -> Floats:
        """Return the labels at which the heat where each group stands reaches its ``need``."""
        labels, need = np.empty(self.shape), np.broadcast_to(need, self.shape)
        for history, places in self.places.items():
            labels[:, places] = crossing(self.air.heat(self.cycle, history), need[:, places])
        return labels

    def _sum_at(self, sums: Callable[[int, History], Floats], labels: Floats) -> Floats:
        """Return the ``sums`` of a cycle and a history at the labels of each group."""
        reached, labels = np.empty(self.shape), np.broadcast_to(labels, self.shape)
        for history, places in self.places.items():
            reached[:, places] = sum_at(sums(self.cycle, history), labels[:, places])
        return reached

    # -- heat needs -----------------------------------------------------------------------------------

    def _by_need(self, name: str) -> Floats:
        beliefs = [self._belief(name, group) for group in self.groups]
        mean, common, own = (np.array(part)[None, :, None] for part in zip(*beliefs, strict=True))
        ln_need = mean + common * self.common + own * self._own(name)
        labels = self._crossing(np.exp(self._above_not_yet(name, ln_need, beliefs)))
        labels = np.where(labels < self.axis.midwinter(self.cycle + 1), labels, np.inf)
        return self._linked(name, self._where_winter(labels))

    def _belief(self, name: str, group: Group) -> tuple[float, float, float]:
        """Return mean, common sd and own sd of ln F, given what was seen of earlier stages this spring."""
        order = need_stages(self.profile)
        mean, variance = group.needs[order.index(name)]
        own = SIGMA_LN_HEAT * math.sqrt(1.0 - COMMON_SHARE)
        common = math.sqrt(variance + SIGMA_LN_HEAT**2 * COMMON_SHARE)
        seen = dict(group.seen)
        for earlier in reversed(order[: order.index(name)]):
            if earlier in seen:
                reached = self._heat_on(group, seen[earlier] - MIDDAY).mean()
                was_mean, was_variance = group.needs[order.index(earlier)]
                was_common = was_variance + SIGMA_LN_HEAT**2 * COMMON_SHARE
                z = math.sqrt(was_common) * (math.log(max(reached, 1e-6)) - was_mean) / (was_common + own**2)
                return mean + common * z, common * math.sqrt(own**2 / (was_common + own**2)), own
        return mean, common, own

    def _heat_on(self, group: Group, label: float) -> Floats:
        """Return the heat (n_traces,) where a group stands at one label."""
        heat = self.air.heat(self.cycle, group.history)
        return sum_at(heat, np.full((heat.shape[0], 1), label))[:, 0]

    def _above_not_yet(
        self, name: str, ln_need: Floats, beliefs: Sequence[tuple[float, float, float]]
    ) -> Floats:
        """Drop the draws in which what was looked for in vain had come, and renormalise.

        Of a stage that comes some days before this one each draw has its own days between.
        """
        gaps = self._gaps(name)
        for g, group in enumerate(self.groups):
            bounds = [day + self._days_between(stage, name) for stage, day in group.not_yet if stage in gaps]
            if not bounds:
                continue
            mean, common, own = beliefs[g]
            sd = math.hypot(common, own)
            reached = sum_at(self.air.heat(self.cycle, group.history), np.maximum.reduce(bounds))
            lowest = (np.log(np.maximum(reached, 1e-6)) - mean) / sd
            draws = picked_above(lowest)
            for stage in gaps:
                self.picked.setdefault(stage, {})[g] = draws
            ln_need[:, g, :] = mean + sd * strata_above(np.take_along_axis(lowest, draws, axis=1), DRAWS)
        return ln_need

    def _days_between(self, early: str, late: str) -> Floats:
        """Return the days (n_traces, DRAWS) from one stage to another that comes some days after it."""
        days = np.zeros((self.shape[0], DRAWS))
        while early != late:
            rule = self.profile.stages[early].before
            assert rule is not None  # noqa: S101 - told by the caller
            days += np.maximum(rule.days - rule.spread_days * self._own(early)[:, 0], 0.0)
            early = rule.stage
        return days

    def _where_winter(self, labels: Floats) -> Floats:
        """Drop the springs of a place without winter; where there mostly is one, a warm winter has its spring.

        What was measured of this winter is in all members alike: the mean year has a say, or one warm winter
        would stand for the place.
        """
        if self.profile.habit == "tropical":
            return labels
        come = np.isfinite(labels)
        chill_then = self._sum_at(self.air.chill_sum, np.where(come, labels, -1.0))
        winter = has_winter(chill_then, self.axis.day_length_h[:365]) & come
        usually = has_winter(self._usual_chill(labels), self.axis.day_length_h[:365])
        without = (winter.sum(axis=(0, 2)) * 2 < come.sum(axis=(0, 2))) & ~usually
        self.no_winter = np.maximum(self.no_winter, without)
        return np.where(without[None, :, None], np.inf, labels)

    def _usual_chill(self, labels: Floats) -> Floats:
        """Return the chill of the mean year (n_groups,) [d] at the likely label of each group."""
        middle = middles(labels)
        likely = np.where(np.isfinite(middle), middle, -1.0)
        out = np.empty(len(self.groups))
        for history, places in self.places.items():
            sums = self.air.usual_chill(self.cycle, history)
            out[places] = sum_at(sums, likely[places][None, :])[0]
        return out

    def _linked(self, name: str, labels: Floats) -> Floats:
        """Re-anchor on the latest stage seen that is known to come some days before this one."""
        gaps, own = self._gaps(name), self._own(name)[:, 0, :]
        for g, group in enumerate(self.groups):
            linked = [(day, gaps[stage]) for stage, day in group.seen if stage != name and stage in gaps]
            if linked:
                day, (days, spread) = max(linked)
                labels[:, g, :] = day - MIDDAY + days + spread * own
        return labels

    def _gaps(self, name: str) -> dict[str, tuple[float, float]]:
        """Return (days, spread) to a stage from those known to come before it."""
        gaps = {early: gap_to(self.profile, early, name) for early in self.profile.stages}
        return {early: gap for early, gap in gaps.items() if gap is not None}

    def _forget_winter(self) -> None:
        """Where a spring was seen, that there is no winter to tell it from no longer matters."""
        for name in need_stages(self.profile):
            if name in self.labels:
                self.no_winter *= np.isinf(self.labels[name]).all(axis=(0, 2))

    # -- the other rules ------------------------------------------------------------------------------

    def _by_after(self, name: str, stage: Stage) -> Floats:
        """Mean of constant days and constant heat after the earlier stage, with the stage's own error."""
        rule = stage.after
        assert rule is not None  # noqa: S101 - told by the caller
        start = self.labels[rule.stage]
        by_days = start + rule.days
        labels = by_days
        if rule.heat is not None:
            by_heat = np.maximum(self._crossing(self._sum_at(self.air.heat, start) + rule.heat), start)
            # Where heat gives out before winter, the days alone speak.
            labels = np.where(by_heat < self.axis.midwinter(self.cycle + 1), (by_days + by_heat) / 2, by_days)
        return np.maximum(labels + rule.spread_days * self._own(name), start)

    def _by_warmth(self, name: str, rule: Warmth) -> Floats:
        """Degree-days of the open air since a day of the year, with the stage's own error."""
        start = max(self.axis.calendar(rule.start, self.cycle), 0)
        sums = self.air.degree_day_sum(rule.base_c)
        before = sums[:, start - 1 : start] if start else np.zeros((len(sums), 1))
        labels = crossing(sums, before[:, :, None] + rule.sum * np.exp(rule.spread * self._own(name)))
        labels = np.where(labels < self.axis.midwinter(self.cycle + 1), labels, np.inf)
        return self._linked(name, np.repeat(labels, len(self.groups), axis=1))

    def _by_climate(self, name: str, stage: Stage) -> Floats:
        """Site mean first; this year's anomalies shift it a little."""
        rule = stage.climate_fall
        assert rule is not None  # noqa: S101 - told by the caller
        site = climate_fall_day(self.air, rule, self.cycle)
        if not math.isfinite(site):
            return self._wide(np.inf)
        shift = anomaly_shift(self.air, rule, self.cycle, site)
        learned = [group.autumn or (0.0, rule.spread_days**2) for group in self.groups]
        mean = np.array([m for m, _ in learned])[None, :, None]
        sd = np.array([math.sqrt(v + SIGMA_AUTUMN_DAYS**2) for _, v in learned])[None, :, None]
        return np.asarray(site + shift[:, None, None] + mean + sd * self._own(name))

    def _by_nights(self, stage: Stage) -> Floats:
        """Tropical trees: the mean night over some days passes a line where they stand; dark days are as cold ones."""
        rule = stage.nights
        assert rule is not None  # noqa: S101 - told by the caller
        low, dark = self.air.t_min_c, self.air.dark
        nights = trailing_mean(low if dark is None else np.where(dark, 0.0, low), rule.run_days)
        stop = min(self.axis.winter_end(self.cycle), self.axis.n_days)
        if rule.passes == "above":
            return self._wide(first_day(nights >= rule.at_c, self.axis.midwinter(self.cycle), stop))
        warm = nights >= rule.at_c
        warm[:, : max(self.axis.midwinter(self.cycle), 0)] = False
        fell = ~warm & np.maximum.accumulate(warm, axis=1)  # what never rose does not fall
        return self._wide(first_day(fell, self.air.warmest(self.cycle), stop))

    # -- what was seen --------------------------------------------------------------------------------

    def _with_seen(self, name: str, labels: Floats) -> Floats:
        seen = [dict(group.seen).get(name) for group in self.groups]
        not_yet = [dict(group.not_yet).get(name) for group in self.groups]
        if not any(day is not None for day in (*seen, *not_yet)):
            return labels
        fixed = np.array([np.nan if day is None else day - MIDDAY for day in seen])[None, :, None]
        floor = np.array([-np.inf if day is None else day + MIDDAY for day in not_yet])[None, :, None]
        return np.where(np.isfinite(fixed), fixed, np.maximum(labels, floor))

    def _rest_last(self, names: Sequence[str]) -> None:
        """Let what the cold of autumn brings not come before the stage it follows: far north one line is crossed for the other."""
        for before, name in pairwise(names):
            if self.profile.stages[name].climate_fall is not None:
                earlier = np.where(np.isfinite(self.labels[before]), self.labels[before], -np.inf)
                self._push(name, np.maximum(earlier - self.labels[name], 0.0), names)

    def _warm_before_cool(self, names: Sequence[str]) -> None:
        """Let no warm nights begin a summer that cool ones have ended: a tree carried in late meets them in its room."""
        nights = {name: rule for name in names if (rule := self.profile.stages[name].nights) is not None}
        for cool in (name for name, rule in nights.items() if rule.passes == "below"):
            for warm in (name for name, rule in nights.items() if rule.passes == "above"):
                unseen = np.array([warm not in dict(group.seen) for group in self.groups])[None, :, None]
                over = unseen & (self.labels[warm] > self.labels[cool])
                self.labels[warm] = np.where(over, np.inf, self.labels[warm])

    def _push(self, name: str, days: Floats, names: Sequence[str]) -> None:
        """Move a stage on by days where it was not seen, and what comes so many days after it."""
        unseen = np.array([name not in dict(group.seen) for group in self.groups])[None, :, None]
        moved = np.where(unseen & np.isfinite(self.labels[name]), days, 0.0)
        self.labels[name] = self.labels[name] + moved
        for follower in names:
            after = self.profile.stages[follower].after
            if after is not None and after.stage == name and moved.any():
                self._push(follower, moved, names)

    def _keep_order(self, names: Sequence[str]) -> None:
        """Let no unseen stage come after a later one that was seen, nor before an earlier one, seen or awaited.

        Nights need not have been warm for those that were cool: a later stage says nothing of one that hangs on nights.
        """
        places = {name: i for i, name in enumerate(names)}
        for name, place in places.items():
            shape = (1, len(self.groups), 1)
            least, most = np.full(shape, -np.inf), np.full(shape, np.inf)
            for g, group in enumerate(self.groups):
                if name in dict(group.seen):
                    continue
                for stage, day in group.not_yet:
                    if places.get(stage, place + 1) <= place:
                        least[0, g, 0] = max(least[0, g, 0], day + MIDDAY)
                for stage, day in group.seen:
                    if places.get(stage, place) < place:
                        least[0, g, 0] = max(least[0, g, 0], day - MIDDAY)
                    elif places.get(stage, place) > place and self.profile.stages[name].nights is None:
                        most[0, g, 0] = min(most[0, g, 0], day - MIDDAY)
            if np.isfinite(least).any() or np.isfinite(most).any():
                self.labels[name] = np.maximum(np.minimum(self.labels[name], most), least)
