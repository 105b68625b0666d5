"""Learning from what the grower saw: the closed-form update of ln F, the heat need of a tree."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

SIGMA_LN_HEAT = (
    0.19  # one spring's year and reading error of ln F; Harvard Forest species median, PhenoCam 0.18-0.21
)
UNKNOWN_WEATHER_LN_HEAT = 0.44
"""What a sight adds to that error where its spring's weather is not known: at Harvard Forest one own date alone
missed by 8.2 d, with its weather by 4.2 d; the 7 d between, in quadrature, at 16 d a unit of ln F."""
SIGMA_AUTUMN_DAYS = 7.2  # one autumn's error [d] around a site's own mean; PhenoCam, 62 sites
ROBUST_WIDTH = 1.5  # in sigmas: where an observation begins to lose weight
ROBUST_PASSES = 8


@dataclass(frozen=True, slots=True)
class Learned:
    """A normal distribution for the mean, with the weight each observation kept."""

    mean: float
    variance: float
    weights: tuple[float, ...] = ()


def learn(
    prior_mean: float, prior_sd: float, seen: Sequence[float], sigma: float | Sequence[float]
) -> Learned:
    """Return the mean after observations ``seen``, all in the unit of the prior (ln degC d, or d).

    ``sigma`` is the error of all, or of each. From two observations on, each is weighted by
    1 / max(1, |x - mean| / (1.5 sigma))^2, so that one
    wrong date costs little; a single one counts in full, for nothing tells that it is wrong.

    Source: conjugate normal update with Huber-type weights; constants fitted on Harvard Forest HF003 and
    PhenoCam as named beside them.

    Examples
    --------
    >>> one = learn(4.77, 0.45, [4.95], 0.19)
    >>> round(one.mean, 5), round(one.variance, 5)
    (4.92277, 0.03064)
    """
    weights = [1.0] * len(seen)
    errors = [sigma] * len(seen) if isinstance(sigma, float | int) else sigma
    mean, variance = _weighted(prior_mean, prior_sd, seen, weights, errors)
    if len(seen) > 1:
        mean = median([prior_mean, *seen])
        for _ in range(ROBUST_PASSES):
            far = (abs(x - mean) / (ROBUST_WIDTH * error) for x, error in zip(seen, errors, strict=True))
            weights = [1.0 / max(1.0, z) ** 2 for z in far]
            mean, variance = _weighted(prior_mean, prior_sd, seen, weights, errors)
    return Learned(mean, variance, tuple(weights))


def _weighted(
    prior_mean: float,
    prior_sd: float,
    seen: Sequence[float],
    weights: Sequence[float],
    errors: Sequence[float],
) -> tuple[float, float]:
    precisions = [weight / error**2 for weight, error in zip(weights, errors, strict=True)]
    precision = 1.0 / prior_sd**2 + sum(precisions)
    pull = prior_mean / prior_sd**2 + sum(p * x for p, x in zip(precisions, seen, strict=True))
    return pull / precision, 1.0 / precision
