"""Wounds that close: the rate at which an open width shrinks with heat, learned from widths, and when it reaches 0."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.year.members import DRAWS, shuffled_strata, strata_above
from calendar_core.science.year.stages import crossing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

WIDTH_NOISE_MM = 0.5  # estimate: one reading by eye of a rule or caliper on a rolled, uneven edge
TREE_SPREAD = (
    0.4  # estimate: Neely's classes of growth lie 1.35 apart, a tree may be taken for its neighbour, and trees of
    # one stand differ beyond that (Neely 1988); the wound of 32 mm that closed in two and a half years lies inside
)
SEASON_SPREAD = (
    0.15  # estimate: by this share a season to come differs from the wound's own rate, as rings do
)
LONGEST_YEARS = (
    30.0  # estimate: longer than anyone waits for a wound; what hardly shrinks is not told to the year
)
_SLOWEST = 1e-9  # of the rate's deviation: keeps a wound that does not close from a division by zero
_YEAR_DRAWS = 400  # fine enough for a tenth of a year
_SALT = 1979  # pairs errors of width with those of rate; any number does


@dataclass(frozen=True, slots=True)
class ClosingRate:
    """How fast a wound closes [mm per degC d]: a normal distribution, read above zero only; ``sd`` > 0."""

    mean: float
    sd: float


def closing_prior(
    mm_a_year: float,
    heat_a_year: float,
    shares: Sequence[tuple[float, float]] = (),
    spread: float = TREE_SPREAD,
    *,
    width_mm: float = 0.0,
    width_power: float = 0.0,
) -> ClosingRate:
    """Return the rate of a wound that was not measured yet.

    Parameters
    ----------
    mm_a_year : [mm]
        Width that closes in one season on a tree of this vigour in open ground.
    heat_a_year : [degC d]
        Heat of the place's usual growing season, in the unit and with the base of all other sums, 5 degC.
    shares : lowest and highest, each
        What slows or speeds it: a pot, its height on the tree. Read as evenly likely between the two.
    spread : share
        Deviation of the rate among trees of one vigour.
    width_mm : [mm]
        How wide the wound was made; up to ``mm_a_year`` it does not matter.
    width_power : power
        How the rate rises with widths beyond that: 0 not at all, below 1, so that a wider wound never closes sooner.

    Source
    ------
    Neely 1979, J. Arboriculture 5(6):135: wounds 11/16, 1/2 and 3/8 inch wide (17.5, 12.7, 9.5 mm) closed in one
    season of substantial, moderate and modest growth. Trunks in open ground; shares for pots are estimates. That large
    wounds close more in a year than small ones: Neely 1988, J. Arboriculture 14(6):148; the power is an estimate.

    Examples
    --------
    >>> rate = closing_prior(12.7, 2000.0, [(0.4, 0.6)])
    >>> round(rate.mean * 2000.0, 2), round(rate.sd / rate.mean, 3)
    (6.35, 0.416)
    """
    wide = max(width_mm / mm_a_year, 1.0) ** width_power
    mean = mm_a_year * wide / heat_a_year * math.prod((low + high) / 2 for low, high in shares)
    variance = spread**2 + sum(((high - low) / (high + low)) ** 2 / 3 for low, high in shares)
    return ClosingRate(mean, mean * math.sqrt(variance))


def posterior(
    prior: ClosingRate, widths_mm: Sequence[float], heat_at: Sequence[float], noise_mm: float = WIDTH_NOISE_MM
) -> ClosingRate:
    """Return the rate after widths were measured, in any number: one alone leaves the prior as it is.

    Decreases between neighbours share a reading, so they are weighed by their covariance, which comes to the line
    through all widths with a free start. A width that grew counts as noise like any other (see `goes_wrong_way`).

    Parameters
    ----------
    widths_mm : (n,) [mm]
        Open widths.
    heat_at : (n,) [degC d]
        The heat sum at the end of each day of measurement. Equal sums, as in winter, teach nothing.
    noise_mm : [mm]
        Deviation of one reading.

    Raises
    ------
    ValueError
        Without a width, or if widths and sums differ in number.

    Source
    ------
    Conjugate normal update of a slope; width as a straight line in heat. Wide wounds make more callus than narrow
    ones (Neely 1988, J. Arboriculture 14(10):250), so the last part may go slower than said.

    Examples
    --------
    >>> found = posterior(ClosingRate(0.005, 0.002), [10.0, 8.0, 6.0], [0.0, 500.0, 1000.0], 0.5)
    >>> round(found.mean, 5), round(found.sd, 5)
    (0.00411, 0.00067)
    """
    widths, heat = _course(widths_mm, heat_at)
    off = heat - heat.mean()
    precision = prior.sd**-2 + float(off @ off) / noise_mm**2
    pull = prior.mean * prior.sd**-2 - float(off @ widths) / noise_mm**2
    return ClosingRate(pull / precision, precision**-0.5)


def closing_days(
    rate: ClosingRate,
    widths_mm: Sequence[float],
    heat_at: Sequence[float],
    heat: Floats,
    *,
    noise_mm: float = WIDTH_NOISE_MM,
    draws: int = DRAWS,
) -> Floats:
    """Return the labels at which a wound that is still open closes.

    Parameters
    ----------
    rate : [mm per degC d]
        As `posterior` gives it from these widths.
    widths_mm, heat_at : (n,) [mm], (n,) [degC d]
        As for `posterior`; the sums have the origin of ``heat``, so those from before its first day are negative.
    heat : (n_traces, n_days) [degC d]
        Sums at the end of each day; never falling, and flat where nothing grows.

    Returns
    -------
    (n_traces, draws)
        Labels; inf where it stays open to the end of the axis, so take quantiles by order. None comes before the heat
        of the last measurement, when it was seen open.

    Raises
    ------
    ValueError
        As `posterior`.

    Source
    ------
    The line through the mean of the widths at the mean of their heat: the errors of this point and of the slope are
    independent, so each has strata of its own.

    Examples
    --------
    >>> heat = np.arange(1.0, 401.0)[None] * 10.0
    >>> days = closing_days(ClosingRate(0.005, 0.001), [8.0], [500.0], heat)
    >>> [round(float(day)) for day in np.quantile(days, [0.1, 0.5, 0.9])]
    [167, 211, 282]
    """
    widths, past = _course(widths_mm, heat_at)
    rates, sd = _rates(rate, draws)
    readings = shuffled_strata(len(heat), draws, _SALT) * (noise_mm / math.sqrt(len(widths)))
    still_open = np.maximum(widths.mean() + readings, 0.0)
    closed = past.mean() + still_open / np.maximum(rates, _SLOWEST * sd)
    return crossing(heat, np.maximum(closed, past.max()))


def closing_years(rate: ClosingRate, width_mm: float, heat_a_year: float) -> tuple[float, float]:
    """Return the years within which a wound still so wide closes, eight times in ten: early and late.

    Parameters
    ----------
    rate : [mm per degC d]
        As `posterior` gives it.
    width_mm : [mm]
    heat_a_year : [degC d]
        As for `closing_prior`; above zero.

    Source
    ------
    Width by yearly rate, for the 10 and 90 % quantiles of the rates `closing_days` draws; at most 30 years.

    Examples
    --------
    >>> [round(years, 1) for years in closing_years(ClosingRate(0.005, 0.001), 20.0, 2000.0)]
    [1.5, 2.9]
    """
    rates, _ = _rates(rate, _YEAR_DRAWS)
    slow, fast = np.quantile(rates, [0.1, 0.9])
    early, late = (
        min(width_mm / max(float(pace) * heat_a_year, _SLOWEST), LONGEST_YEARS) for pace in (fast, slow)
    )
    return early, late


def _rates(rate: ClosingRate, draws: int) -> tuple[Floats, float]:
    """Return draws of the rate of a season to come, above zero, and their deviation."""
    sd = math.hypot(rate.sd, SEASON_SPREAD * max(rate.mean, 0.0))
    return rate.mean + sd * strata_above(np.array([-rate.mean / sd]), draws), sd


def goes_wrong_way(widths_mm: Sequence[float], tolerance_mm: float = 0.0) -> tuple[tuple[int, int], ...]:
    """Return the places of neighbours of which the later is wider by more than ``tolerance_mm``.

    For what only grows, give it with its sign turned.

    Source: a comparison; nothing is assumed.

    Examples
    --------
    >>> goes_wrong_way([10.0, 8.0, 8.4, 9.5], tolerance_mm=1.0)
    ((2, 3),)
    """
    return tuple(
        (i, i + 1) for i, (before, after) in enumerate(pairwise(widths_mm)) if after - before > tolerance_mm
    )


def _course(widths_mm: Sequence[float], heat_at: Sequence[float]) -> tuple[Floats, Floats]:
    if not len(widths_mm) == len(heat_at) > 0:
        raise ValueError(
            f"{len(widths_mm)} widths and {len(heat_at)} heat sums: must be as many, and at least one"
        )
    return np.asarray(widths_mm, dtype=float), np.asarray(heat_at, dtype=float)
