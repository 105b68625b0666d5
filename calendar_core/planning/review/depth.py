"""Which trees get a full look in a round and which a glance, and how long it takes."""

from __future__ import annotations

from datetime import timedelta
from math import exp, log
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.aftercare.followed import concerns
from calendar_core.planning.items import Reason
from calendar_core.planning.rota.tasks import SIZE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.review import LookMinutes
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.knowledge.words import LookDepth
    from calendar_core.planning.items import Item

MONTH = timedelta(days=365.25 / 12)
FARTHEST = log(4)
"""A look that took a fourth or four times as long as usual was no look alone, or a slip: more than that teaches nothing
(estimate)."""
REFINED = ("ramification", "refinement")


def why_full(
    state: TreeState, items: Iterable[Item], knowledge: Knowledge, today: date
) -> tuple[Reason, ...]:
    """Return what asks for a full look at a tree, the weightiest first; a glance will do where nothing does."""
    rules = knowledge.review.full
    reasons = [
        Reason("look_concern", concern.rule, concern.since)
        for concern in concerns(state, knowledge.aftercare, today)
    ]
    if state.vigour <= rules.weak_vigour.value:
        reasons.append(Reason("look_weak", found=state.vigour, basis=rules.weak_vigour.basis))
    if state.open_parts:
        reasons.append(Reason("look_parts", needed=len(state.open_parts), unit="part"))
    heavy = _heavy(items, knowledge, today + rules.heavy_months_ahead.value * MONTH)
    if heavy is not None:
        code = "look_heavy" if heavy.opens.likely > today else "look_heavy_open"
        basis = rules.heavy_months_ahead.basis
        reasons.append(Reason(code, heavy.operation, heavy.opens.likely, basis=basis))
    last = max((review.on for review in state.reviews if review.depth == "full"), default=None)
    if last is None:
        reasons.append(Reason("look_first"))
    elif last + rules.months_between.value * MONTH <= today:
        reasons.append(Reason("look_long_ago", found=last, basis=rules.months_between.basis))
    return tuple(reasons)


def _heavy(items: Iterable[Item], knowledge: Knowledge, until: date) -> Item | None:
    """Return the first heavy job a tree is to bear by a day."""
    coming = (
        item
        for item in items
        if item.status != "possible"
        and not item.label
        and knowledge.operations[item.operation].weight >= HEAVY
        and item.opens.likely <= until
    )
    return min(coming, key=lambda item: item.opens.likely, default=None)


def usual_minutes(state: TreeState, depth: LookDepth, rules: LookMinutes) -> float:
    """Return how long a look takes by what is known of all trees [min]: aim, size, and parts of a full one."""
    if depth == "glance":
        return rules.glance.value
    own = {"recovery": rules.weak, **dict.fromkeys(REFINED, rules.refined)}.get(state.aim, rules.young)
    return own.value * SIZE[state.size] + rules.part.value * len(state.open_parts)


class Pace:
    """How much longer looks of a grower take than usual, by tree; learned from those whose minutes were counted.

    Ratios of counted to usual minutes are averaged by their logarithm: those of a species about what is usual, those
    of a tree about its species, each drawn towards that as by ``prior_looks`` more looks (the mean of a normal
    distribution with a normal prior of known spread; Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.5).
    """

    def __init__(
        self, states: Mapping[UUID, TreeState], species: Mapping[UUID, str], rules: LookMinutes
    ) -> None:
        self.rules = rules
        self.own = {tree: _ratios(state, rules) for tree, state in states.items()}
        self.species = species
        every: dict[str, list[float]] = {}
        for tree, ratios in self.own.items():
            every.setdefault(species[tree], []).extend(ratios)
        self.of_species = {name: self._drawn(ratios, 0.0) for name, ratios in every.items()}

    def minutes(self, tree: UUID, state: TreeState, depth: LookDepth) -> float:
        """Return how long a look at a tree will take [min]."""
        drawn = self._drawn(self.own[tree], self.of_species[self.species[tree]])
        return usual_minutes(state, depth, self.rules) * exp(drawn)

    def _drawn(self, ratios: Sequence[float], towards: float) -> float:
        prior = self.rules.prior_looks.value
        return (sum(ratios) + prior * towards) / (len(ratios) + prior)


def _ratios(state: TreeState, rules: LookMinutes) -> list[float]:
    """Return ln of counted over usual minutes of the looks at a tree: usual by what is known of it today."""
    ratios = (
        log(review.minutes / usual_minutes(state, review.timed_as or review.depth, rules))
        for review in state.reviews
        if review.minutes is not None and review.minutes > 0
    )
    return [min(max(ratio, -FARTHEST), FARTHEST) for ratio in ratios]
