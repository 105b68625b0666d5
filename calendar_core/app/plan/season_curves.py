"""The curves of a season: heat and day length of twelve months from today, against past years."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from calendar_core.planning.seasons.axis import Axis
from calendar_core.planning.seasons.season_line import HeatCurves

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.app.shell.session import Session

PAST_DAYS = 28  # so that of most of what is open now the beginning is seen
YEAR_DAYS = 366  # twelve months of any year


@dataclass(frozen=True, eq=False)
class SeasonCurves:
    """Curves with a value for each day from ``start`` to ``end``; heat in the reader's unit, summed from ``summed_from`` on.

    ``ahead`` are 10, 50 and 90 % of the possible years from today on, ``past`` the past years; only what lies ahead is known
    without weather of this year.
    """

    start: date
    end: date
    summed_from: date
    day_length_h: NDArray[np.float64]
    ahead: NDArray[np.float64]
    this_year: NDArray[np.float64] | None = None
    past: NDArray[np.float64] | None = None


def season_curves(session: Session) -> SeasonCurves:
    """Return the curves of twelve months from today, with the weeks before."""
    start, end = session.today - timedelta(days=PAST_DAYS), session.today + timedelta(days=YEAR_DAYS)
    days = (end - start).days + 1
    curves = HeatCurves(session.weather.sky.traces, session.garden.latitude, session.today)
    shown = 9 / 5 if session.style.units == "us" else 1.0
    possible, past = (shown * sums for sums in curves.over(start, days))
    day_length_h = Axis(start, days, session.garden.latitude).day_length_h
    ahead = np.where(np.arange(days) >= PAST_DAYS, np.quantile(possible, [0.1, 0.5, 0.9], axis=0), np.nan)
    if session.weather.sky.traces.known.kind == "normals":
        return SeasonCurves(start, end, curves.start, day_length_h, ahead)
    this_year = np.where(np.arange(days) <= PAST_DAYS, np.median(possible, axis=0), np.nan)
    return SeasonCurves(start, end, curves.start, day_length_h, ahead, this_year, past)
