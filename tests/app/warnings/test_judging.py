"""What judging is handed: the days measured before the hours of a forecast, which root balls remember."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.shell.session import open_session
from calendar_core.app.warnings.judging import Judged, judged
from calendar_core.knowledge.profiles.bundled import folder as bundled

if TYPE_CHECKING:
    from pathlib import Path

TODAY = date(2014, 2, 5)


def measured() -> dict[str, tuple[float, float]]:
    """Return the station's minima and maxima by day (NOAA, Seattle, in demo/)."""
    with (bundled("demo") / "seattle-weather.csv").open(encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return {row["date"]: (float(row["temp_min"]), float(row["temp_max"])) for row in rows}


def test_root_balls_remember_the_measured_days_before_the_hours(tmp_path: Path) -> None:
    found_demo(tmp_path, TODAY).store.close()
    session = open_session(str(tmp_path / "garden.db"), None, TODAY)
    found = judged(session, session.clock.now)
    assert isinstance(found, Judged)
    before = found.hours.before_c[0]
    first = found.hours.start.astimezone(found.place.zone).date()
    assert len(before) == 14 * 24
    days = measured()
    for back in range(2, 13):  # a day is coldest in the morning and warmest in the afternoon
        low, high = days[f"{first - timedelta(days=back):%Y/%m/%d}"]
        course = before[-24 * back : -24 * (back - 1)]
        assert course[3:10].min() == pytest.approx(low, abs=0.5), back
        assert course[12:18].max() == pytest.approx(high, abs=0.5), back
