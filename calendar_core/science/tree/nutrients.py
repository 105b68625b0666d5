"""Nutrients in fertilizer solutions, from the label's N-P-K. Pure numbers; a label counts P2O5 and K2O, not P and K."""

from __future__ import annotations

import math
from dataclasses import dataclass

# Standard atomic weights, abridged to five digits (IUPAC, Standard Atomic Weights of the Elements 2021) [g/mol].
_O, _P, _K = 15.999, 30.974, 39.098
P_IN_P2O5 = 2 * _P / (2 * _P + 5 * _O)
"""Mass of phosphorus in a mass of phosphorus pentoxide, 0.4364; short tables print 0.44."""
K_IN_K2O = 2 * _K / (2 * _K + _O)
"""Mass of potassium in a mass of potassium oxide, 0.8301; short tables print 0.83."""

# Exact by definition: the avoirdupois pound is 453.59237 g, the US gallon 231 cubic inches (NIST Handbook 44, app. C).
GRAMS_PER_OUNCE = 28.349523125
LITRES_PER_GALLON = 3.785411784
ML_PER_FLUID_OUNCE = 29.5735295625
ML_PER_TEASPOON = ML_PER_FLUID_OUNCE / 6
MG_PER_G_PERCENT = 10.0  # one per cent of a gram is 10 mg


@dataclass(frozen=True, slots=True)
class ProductLabel:
    """A product's analysis as printed: nitrogen, P2O5 and K2O in per cent by mass.

    Raises
    ------
    ValueError
        For a number that is not from 0 to 100, and where the three add up to more than 100 %.

    Examples
    --------
    >>> label = ProductLabel(20, 20, 20)
    >>> round(label.p, 2), round(label.k, 2)
    (8.73, 16.6)
    """

    n: float
    p2o5: float
    k2o: float

    def __post_init__(self) -> None:
        for share in (self.n, self.p2o5, self.k2o):
            if not 0 <= share <= 100:
                raise ValueError(f"found {share:g} %; right would be 0 to 100")
        total = self.n + self.p2o5 + self.k2o
        if total > 100 + 1e-9:
            raise ValueError(f"adds up to {total:g} %; right would be at most 100")

    @property
    def p(self) -> float:
        """Phosphorus as the element [% by mass].

        Source: `P_IN_P2O5`.
        """
        return self.p2o5 * P_IN_P2O5

    @property
    def k(self) -> float:
        """Potassium as the element [% by mass].

        Source: `K_IN_K2O`.
        """
        return self.k2o * K_IN_K2O


@dataclass(frozen=True, slots=True)
class Solution:
    """Nitrogen, phosphorus and potassium as elements in a solution [mg/L, which is ppm]."""

    n: float
    p: float
    k: float


def solution(label: ProductLabel, g_per_l: float) -> Solution:
    """Return what is in a solution of so many grams of product a litre.

    Parameters
    ----------
    label : analysis of the product [% by mass]
    g_per_l : scalar [g/L]

    Source
    ------
    Definition of a share by mass; 1 % of a gram a litre is 10 mg/L.

    Examples
    --------
    >>> made = solution(ProductLabel(20, 20, 20), 1.0)
    >>> made.n, round(made.p, 1), round(made.k, 1)
    (200.0, 87.3, 166.0)
    """
    factor = _not_negative(g_per_l, "g/L") * MG_PER_G_PERCENT
    return Solution(label.n * factor, label.p * factor, label.k * factor)


def grams_per_litre(label: ProductLabel, n_mg_l: float) -> float:
    """Return the grams of product a litre [g/L] that give a nitrogen concentration [mg/L].

    Raises
    ------
    ValueError
        Where the product holds no nitrogen.

    Source
    ------
    Inverse of `solution`.

    Examples
    --------
    >>> grams_per_litre(ProductLabel(15, 5, 15), 100.0)
    0.6666666666666666
    """
    if label.n == 0:
        raise ValueError(
            "the product holds no nitrogen; right would be a label whose first number is above 0"
        )
    return _not_negative(n_mg_l, "mg/L") / (label.n * MG_PER_G_PERCENT)


def millilitres(grams: float, density: float) -> float:
    """Return the volume [mL] of a liquid product of some mass [g] and density [kg/L].

    Source: definition of density; a kilogram a litre is a gram a millilitre.
    """
    return _not_negative(grams, "g") / _density(density)


def grams(ml: float, density: float) -> float:
    """Return the mass [g] of a liquid product of some volume [mL] and density [kg/L].

    Source: as `millilitres`.
    """
    return _not_negative(ml, "mL") * _density(density)


def _not_negative(value: float, unit: str) -> float:
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"found {value:g} {unit}; right would be 0 or more")
    return value


def _density(value: float) -> float:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"found a density of {value:g} kg/L; right would be more than 0")
    return value
