"""From a strength and a product's label to grams or millilitres: the more careful of label and nitrogen counts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.science.tree.nutrients import (
    ProductLabel,
    Solution,
    grams_per_litre,
    millilitres,
    solution,
)

if TYPE_CHECKING:
    from calendar_core.planning.feeding.strength import Feeding, Pair


@dataclass(frozen=True, slots=True)
class Product:
    """A product: its analysis, the rate on its label [g/L] and, of a liquid, its density [kg/L]."""

    label: ProductLabel
    rate_g_l: float | None = None
    density: float | None = None

    def is_low_in_nitrogen(self, most_share_percent: float) -> bool:
        """Tell whether nitrogen is at most such a share of all its nutrients."""
        total = self.label.n + self.label.p2o5 + self.label.k2o
        return self.label.n * 100 <= total * most_share_percent


@dataclass(frozen=True, slots=True)
class Dose:
    """``g_per_l`` of product, from low to high, and what that makes; ``by_label`` if its rate is what bounds it."""

    g_per_l: Pair
    made: tuple[Solution, Solution]
    by_label: bool

    def grams(self, litres: float) -> Pair:
        """Return the product for so much water [g]."""
        low, high = self.g_per_l
        return low * litres, high * litres

    def millilitres(self, litres: float, density: float) -> Pair:
        """Return the liquid product of some density [kg/L] for so much water [mL]."""
        low, high = self.grams(litres)
        return millilitres(low, density), millilitres(high, density)


def dose(found: Feeding, product: Product) -> Dose | None:
    """Return how much of a product a litre takes at the strength found; None while nothing is given.

    Raises
    ------
    ValueError
        For a product without nitrogen whose label rate is not given: nothing else bounds it.
    """
    if found.hold:
        return None
    by_rate = product.rate_g_l
    if product.label.n == 0 and by_rate is None:
        raise ValueError(
            "a product without nitrogen is measured by its label; right would be its rate as well"
        )
    ends, by_label = [], False
    for percent, n_mg_l in zip(found.percent, found.n_mg_l, strict=True):
        limits = [] if by_rate is None else [percent / 100 * by_rate]
        limits += [grams_per_litre(product.label, n_mg_l)] if product.label.n else []
        ends.append(min(limits))
        by_label = by_rate is not None and ends[-1] == limits[0]
    low, high = ends
    return Dose((low, high), (solution(product.label, low), solution(product.label, high)), by_label)
