"""Heat and ice for those who work in the garden."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from alerts.hazards.people import band, feels_c, icy, strain
from calendar_core.science.hour.humidity import vapour_kpa
from tests.alerts.hazards.gardens import GREENSBORO, NEW_YORK, RULES, made, new_york_hours, year_hours

DAY = date(2013, 7, 19)


@pytest.mark.parametrize(
    ("f", "name"),
    [  # National Weather Service: bands from 80, 90, 103 and 125 degF
        (79.0, "none"),
        (81.0, "caution"),
        (91.0, "extreme caution"),
        (104.0, "danger"),
        (126.0, "extreme danger"),
    ],
)
def test_bands(f: float, name: str) -> None:
    assert band((f - 32.0) / 1.8) == name


def test_the_chart() -> None:
    # National Weather Service chart: 96 degF and 65 % feel like 121.
    t = (96.0 - 32.0) / 1.8
    hours = made(new_york_hours().start, t_c=np.full((1, 2), t), vapour_kpa=vapour_kpa(t, 65.0))
    assert feels_c(hours) * 1.8 + 32.0 == pytest.approx(121.0, abs=0.5)


def test_work_in_the_heat_wave_is_for_the_morning() -> None:
    hours = new_york_hours()
    noon, dawn = (strain(hours, NEW_YORK, RULES, DAY, *at) for at in ((12.0, 16.0), (5.0, 7.5)))
    assert noon is not None
    assert dawn is not None
    assert noon.band == "danger"
    assert dawn.band == "extreme caution"
    assert noon.bad_c > dawn.bad_c
    assert not noon.ice
    assert strain(hours, NEW_YORK, RULES, date(2013, 7, 1), 8.0, 9.0) is None


def test_the_bad_course_is_the_worst_of_ten() -> None:
    t = np.full((10, 24), 20.0)
    t[3] = 38.0
    hours = made(year_hours(GREENSBORO, 7, 9).start, t_c=t)
    found = strain(hours, GREENSBORO, RULES, date(1990, 7, 9), 9.0, 10.0)
    assert found is not None
    assert found.typical_c < 25.0
    assert found.bad_c > 37.0


def test_paths_are_icy_when_it_freezes_after_rain() -> None:
    t, rain = np.array([[3.0, 1.0, -1.0, -1.0, 2.0]]), np.array([[0.0, 2.0, 0.0, 0.0, 0.0]])
    hours = made(year_hours(GREENSBORO, 2, 3).start, t_c=t, rain_mm=rain)
    assert icy(hours, RULES).tolist() == [[False, False, True, True, False]]
    dry = made(hours.start, t_c=t)
    assert not icy(dry, RULES).any()
    found = strain(hours, GREENSBORO, RULES, date(1990, 2, 3), 2.0, 3.0)
    assert found is not None
    assert (found.ice, found.band) == (True, "none")
