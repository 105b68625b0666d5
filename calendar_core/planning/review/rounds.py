"""Rounds: between which days each tree is to be looked at, from the stages that its own year has."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.aftercare import PHASES
from calendar_core.planning.items import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.knowledge.forms.aftercare import YearPhase
    from calendar_core.knowledge.forms.review import ReviewRules, RoundRule
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.words import RoundName
    from calendar_core.planning.items import StageDate

LIKELY = 0.5  # a stage that fewer years have opens no round
HALF_YEAR = 183  # days: a frost later than that is of another autumn
COLOUR, SWELL = "colour", "bud_swell"


@dataclass(frozen=True, slots=True)
class RoundWindow:
    """The days, first and last, on which a tree is looked at in a round; ``chance`` is that of the stage that opens it.

    ``best`` is the last day of its best time, where it still can be looked at after that.
    """

    tree_id: UUID
    round: RoundName
    cycle: int
    opens: date
    closes: date
    chance: float
    reasons: tuple[Reason, ...]
    best: date | None = None
    alone: bool = False

    @property
    def asked(self) -> RoundName:
        """The round whose questions are asked: of a tree that has one round ``alone``, all that are asked once a year."""
        return "yearly" if self.alone else self.round


@dataclass(frozen=True, slots=True)
class TreeSeason:
    """What rounds are told from: the stages of a tree's cycles, the first frosts of autumn, the starts of its cycles."""

    tree_id: UUID
    profile: Profile
    stages: Sequence[StageDate]
    first_frost: Sequence[date]
    begins: Mapping[int, date]


def round_windows(season: TreeSeason, rules: ReviewRules, today: date) -> list[RoundWindow]:
    """Return the rounds of a tree that are not over, the first first."""
    every = [*_by_stages(season, rules), *_by_cycle(season, rules)]
    return sorted((w for w in every if w.closes >= today), key=lambda window: (window.opens, window.round))


def _by_stages(season: TreeSeason, rules: ReviewRules) -> Iterator[RoundWindow]:
    stop, rest = (_stage(season, rules.round[name].opens) for name in ("late summer", "after leaf fall"))
    both = stop != rest
    for stage in season.stages:
        if stage.range is None or stage.share < LIKELY:
            continue
        if stage.stage == stop and both:
            yield _late_summer(season, stage, stage.range.likely, rules)
        elif stage.stage == rest and both:
            yield _after_leaf_fall(season, stage, stage.range.likely, rules)
        elif stage.stage == rest:  # its one rest of the year
            yield _around_rest(season, stage, stage.range.likely, rules)


def _stage(season: TreeSeason, phase: YearPhase | None) -> str:
    """Return the stage with which a phase of the tree's year begins."""
    return next((name for name in (PHASES[phase] if phase else ()) if name in season.profile.stages), "")


def _late_summer(season: TreeSeason, stage: StageDate, opens: date, rules: ReviewRules) -> RoundWindow:
    rule = rules.round["late summer"]
    least = opens + timedelta(weeks=rule.least_weeks or 0)
    turned = _likely(season, COLOUR, stage.cycle) or _likely(
        season, _stage(season, rules.round["after leaf fall"].opens), stage.cycle
    )
    frost = next((day for day in season.first_frost if 0 <= (day - opens).days < HALF_YEAR), None)
    weeks = rules.callus_weeks
    safe = None if frost is None else frost - timedelta(weeks=weeks.value)
    ends = [day for day in (turned, safe) if day is not None]
    closes = max(least, min(ends, default=least))
    reasons = [_opened(stage, opens, rule)]
    if safe is not None and closes == safe:
        reasons.append(
            Reason("round_closes_frost", found=frost, needed=weeks.value, unit="wk", basis=weeks.basis)
        )
    elif closes == turned:
        reasons.append(Reason("round_closes_colour", found=closes, basis=rule.basis, note=rule.note or ""))
    return RoundWindow(season.tree_id, "late summer", stage.cycle, opens, closes, stage.share, tuple(reasons))


def _after_leaf_fall(season: TreeSeason, stage: StageDate, opens: date, rules: ReviewRules) -> RoundWindow:
    """Return its weeks, and what is left of its rest: who was not looked at then still can be."""
    rule = rules.round["after leaf fall"]
    closes = best = opens + timedelta(weeks=rule.weeks or 0)
    reasons = [_opened(stage, opens, rule)]
    awake = _likely(season, SWELL, stage.cycle + 1) or _likely(
        season, _stage(season, "awake"), stage.cycle + 1
    )
    if awake is not None and awake - timedelta(days=1) > closes:
        closes = awake - timedelta(days=1)
        reasons.append(
            Reason("round_closes_buds", found=awake, needed=rule.weeks, unit="wk", basis=rule.basis)
        )
    return RoundWindow(
        season.tree_id, "after leaf fall", stage.cycle, opens, closes, stage.share, tuple(reasons), best
    )


def _around_rest(season: TreeSeason, stage: StageDate, day: date, rules: ReviewRules) -> RoundWindow:
    around = rules.around_rest
    weeks = timedelta(weeks=around.value)
    reason = Reason("round_around", stage.stage, day, basis=around.basis, note=around.note or "")
    return RoundWindow(
        season.tree_id,
        "late summer",
        stage.cycle,
        day - weeks,
        day + weeks,
        stage.share,
        (reason,),
        alone=True,
    )


def _by_cycle(season: TreeSeason, rules: ReviewRules) -> Iterator[RoundWindow]:
    """Yield the round of a cycle in which neither stage comes: with its beginning."""
    ruled = {_stage(season, rules.round[name].opens) for name in ("late summer", "after leaf fall")} - {""}
    told = {s.cycle for s in season.stages if s.stage in ruled and s.range is not None and s.share >= LIKELY}
    rule = rules.round["yearly"]
    for cycle, begins in season.begins.items():
        if cycle not in told:
            reason = Reason("round_yearly", found=begins, basis=rule.basis, note=rule.note or "")
            closes = begins + timedelta(weeks=rule.weeks or 0)
            yield RoundWindow(season.tree_id, "yearly", cycle, begins, closes, 1.0, (reason,))


def _likely(season: TreeSeason, stage: str, cycle: int) -> date | None:
    return next(
        (
            found.range.likely
            for found in season.stages
            if found.stage == stage
            and found.cycle == cycle
            and found.range is not None
            and found.share >= LIKELY
        ),
        None,
    )


def _opened(stage: StageDate, opens: date, rule: RoundRule) -> Reason:
    return Reason("round_opens", stage.stage, opens, basis=rule.basis, note=rule.note or "")
