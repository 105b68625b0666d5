"""Growth since a day: leaf pairs on a shoot by heat, and how far a branch has grown into its wire."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.science.year.learning import Learned, learn
from calendar_core.science.year.members import DRAWS, normal_strata
from calendar_core.science.year.stages import crossing, sum_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SIGMA_LN_HEAT_PER_PAIR = 0.25  # estimate: half a pair misread in two or three, and one shoot beside another
SIGMA_LN_WIRE = 0.3  # estimate: growers' intervals for one species and stage run from one to two weeks
HEAT_SHARE = (0.5, 2.0)  # estimate: a cold week does not stop thickening, a hot one does not treble it
LEAST_USUAL_HEAT = 1.0  # [degC d a day] estimate: below it a ratio of heats is one of small remainders


def pairs_grown(heat: Floats, since: float, heat_per_pair: float) -> Floats:
    """Return the leaf pairs a shoot has grown since a cut.

    Parameters
    ----------
    heat : (n_traces, n_days) [degC d]
        Sums at the end of each day; never falling.
    since : label
        The cut; from before the axis on, all its heat counts.
    heat_per_pair : [degC d]

    Returns
    -------
    (n_traces, n_days)
        Pairs at the end of each day; 0 before the cut.

    Source
    ------
    Leaves of one shoot come at equal steps of heat (phyllochron): McMaster & Wilhelm 1995, Crop Sci. 35:1, for
    cereals (from memory); for shoots that rest between flushes only within one.

    Examples
    --------
    >>> pairs_grown(np.array([[10.0, 20.0, 40.0]]), 0.0, 20.0)
    array([[0. , 0.5, 1.5]])
    """
    return np.maximum(heat - sum_at(heat, np.full((len(heat), 1), since)), 0.0) / heat_per_pair


def learned_heat_per_pair(
    prior_ln: float, spread_ln: float, observations: Sequence[tuple[float, float]]
) -> Learned:
    """Return ln of the heat a leaf pair takes [ln degC d], after ``observations`` of pairs and heat since the cut.

    A look that found no pair yet, or no heat, has no logarithm and is left out.

    Source: `learning.learn` with an error of 0.25 for one count (estimate, see the constants of this module).

    Examples
    --------
    >>> round(learned_heat_per_pair(math.log(80.0), 0.4, [(3.0, 300.0)]).mean, 3)
    4.542
    """
    seen = [math.log(heat / pairs) for pairs, heat in observations if pairs > 0 and heat > 0]
    return learn(prior_ln, spread_ln, seen, SIGMA_LN_HEAT_PER_PAIR)


def pairs_reached(
    heat: Floats, since: float, pairs: float, ln_heat_per_pair: Learned, draws: int = DRAWS
) -> Floats:
    """Return the labels (n_traces, draws) at which a shoot has ``pairs`` leaf pairs since a cut, inf for never.

    ``heat`` and ``since`` are those of `pairs_grown`. The draws hold the error of the mean and of one count.

    Source: as `pairs_grown`.

    Examples
    --------
    >>> heat = np.arange(1.0, 101.0)[None] * 10.0
    >>> label = pairs_reached(heat, 9.0, 3.0, Learned(math.log(80.0), 0.04), 1)
    >>> round(float(label[0, 0]), 6)
    33.0
    """
    sd = math.hypot(math.sqrt(ln_heat_per_pair.variance), SIGMA_LN_HEAT_PER_PAIR)
    need = pairs * np.exp(ln_heat_per_pair.mean + sd * normal_strata(draws))
    return crossing(heat, sum_at(heat, np.full((len(heat), 1), since)) + need)


def bite_rate(weeks: Floats, heat: Floats, usual_heat: Floats) -> Floats:
    """Return the share of a wire's gap that a branch grows into on each day [1/d]; the shapes broadcast.

    Parameters
    ----------
    weeks : (n_traces, n_days) [wk]
        How long a wire takes to bite in the stage a day belongs to; above 0, inf where nothing grows.
    heat, usual_heat : (n_traces, n_days) [degC d]
        The day's own heat and what days of its stage usually have. A day counts half to double by their ratio,
        and as usual where next to no heat is usual.

    Source
    ------
    Estimate: thickening follows heat within a stage; weeks are common practice by species and stage.

    Examples
    --------
    >>> bite_rate(np.array([[2.0, 2.0, 8.0]]), np.array([[5.0, 15.0, 3.0]]), np.array([10.0, 10.0, 0.2])) * 112
    array([[ 4., 12.,  2.]])
    """
    compared = usual_heat >= LEAST_USUAL_HEAT
    ratio = np.divide(
        heat, usual_heat, out=np.ones(np.broadcast_shapes(heat.shape, usual_heat.shape)), where=compared
    )
    return np.asarray(np.clip(ratio, *HEAT_SHARE) / (7.0 * weeks))


def wire_gap(rate: Floats, since: float, spread_ln: float = SIGMA_LN_WIRE, draws: int = DRAWS) -> Floats:
    """Return the labels at which a branch has grown into its wire.

    Parameters
    ----------
    rate : (n_traces, n_days) [1/d]
        As `bite_rate` gives it.
    since : label
        When the wire was put on; from before the axis on, all its growth counts.
    spread_ln : scalar
        Deviation of ln of the gap: wire lies tighter on one branch than on another.

    Returns
    -------
    (n_traces, draws)
        Labels; inf where it does not bite on the axis.

    Source
    ------
    Shares of intervals add up, as in a sum of heat.

    Examples
    --------
    >>> round(float(wire_gap(np.full((1, 90), 1 / 28), 4.0, draws=1)[0, 0]), 6)
    32.0
    """
    grown = np.cumsum(rate, axis=1)
    gaps = np.exp(spread_ln * normal_strata(draws))
    return crossing(grown, sum_at(grown, np.full((len(rate), 1), since)) + gaps)
