"""Made-up air and trees for the tests of places; every number in them is invented."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING
from uuid import UUID

import numpy as np

from calendar_core.garden.model import Spot
from calendar_core.planning.places.bounds import Bound
from calendar_core.planning.places.chances import ChanceLine, Chances, chances_of
from calendar_core.planning.places.moves import Mover
from calendar_core.planning.seasons.axis import axis_for
from calendar_core.weather.forecasts import Offset
from calendar_core.weather.traces import ForecastKnown
from tests.planning.made_up import SEED, air_of, knowledge, wave

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.places import RiskName
    from calendar_core.knowledge.words import ThermalProfile
    from calendar_core.planning.seasons.axis import Axis

    Floats = NDArray[np.float64]

RULES = knowledge().places
PLACES: tuple[ThermalProfile, ...] = ("open", "cold frame", "frost-free", "heated")
OPEN, FRAME, SHED, ROOM = (Spot(UUID(int=n), UUID(int=7), of, profile=of) for n, of in enumerate(PLACES, 1))
AXIS = axis_for(45.0, (2015, 2016, 2017))
SUMMER = AXIS.midsummer(2015)
NOISE_C = 3.0


def noise(n_traces: int, n_days: int, seed: int = SEED) -> Floats:
    """Return days without memory, of unit variance."""
    return np.random.default_rng(seed).standard_normal((n_traces, n_days))


def years(
    axis: Axis = AXIS,
    *,
    shift_c: float = 0.0,
    n_traces: int = 30,
    mean_c: float = 10.0,
    swing_c: float = 10.0,
) -> Floats:
    """Return daily means (n_traces, n_days) of years that are a wave with noise."""
    usual = wave(axis.start, axis.n_days, mean_c=mean_c, swing_c=swing_c, south=axis.south)
    return usual + NOISE_C * noise(n_traces, axis.n_days) + shift_c


def chances(
    mean_c: Floats | float,
    *,
    axis: Axis = AXIS,
    today: int = SUMMER,
    forecast_days: int = 0,
    members: int = 1,
    look_days: int = 7,
    half_range_c: float = 5.0,
    smooth_days: int = 21,
) -> Chances:
    """Return chances over air of a mean; its days from today on are a forecast, as many as are asked for."""
    known = None
    if forecast_days:
        issued = datetime.combine(axis.day(today), datetime.min.time(), UTC)
        end = axis.day(today + forecast_days - 1)
        known = ForecastKnown("made up", issued, end, members, Offset(0.0, 0.0, 0))
    air = air_of(axis, mean_c, half_range_c=half_range_c)
    return chances_of(air, today, known, knowledge().hazards, look_days=look_days, smooth_days=smooth_days)


def bound(
    at_c: float, risk: RiskName = "night", n_days: int = AXIS.n_days, *, open_only: bool = False
) -> Bound:
    """Return a line that always holds."""
    return Bound(ChanceLine(risk, at_c), np.ones(n_days, bool), open_only, "cold")


def mover(
    bounds: Sequence[Bound],
    known: Chances,
    spots: Sequence[Spot] = (OPEN, FRAME, SHED, ROOM),
    *,
    rests: bool = True,
    leafy: bool = False,
) -> Mover:
    """Return the moves of a tree with such lines in a garden of such spots."""
    return Mover(bounds, {spot.id: spot for spot in spots}, known, RULES, rests=rests, leafy=leafy)


def with_forecast(mean_c: Floats, today: int, days: Sequence[float] | Floats) -> Floats:
    """Return traces that share the days of a forecast."""
    out = mean_c.copy()
    out[:, today : today + len(days)] = days
    return out
