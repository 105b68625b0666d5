"""Cold above freezing to trees of warm countries: told for nights that growers call harmful, not for cool ones.

Growers bring figs in when nights stay below 10 degC; harm is reported below about 5 to 7 degC.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest

from alerts.air.spread import spread
from tests.alerts.hazards.gardens import GREENSBORO, KNOWLEDGE, made, spot, threats, tree

if TYPE_CHECKING:
    from alerts.air.hours import Hours

ERRORS = KNOWLEDGE.hazards.forecast_error


def night_of(low_c: float, cloud_percent: float = 0.0) -> Hours:
    """Return a spread forecast of two days whose nights fall to ``low_c``, 12 degC below the days."""
    hour = np.arange(48)
    t_c = low_c + 6.0 - 6.0 * np.cos(2.0 * np.pi * (hour - 5.0) / 24.0)
    start = datetime(1990, 9, 20, 5, tzinfo=UTC)  # midnight there
    return spread(made(start, t_c=t_c[None], vapour_kpa=0.7, cloud_percent=cloud_percent), GREENSBORO, ERRORS)


@pytest.mark.parametrize("cloud", [0.0, 100.0])
@pytest.mark.parametrize(("low_c", "told"), [(9.0, False), (6.6, True), (5.0, True)])
def test_a_fig_on_a_terrace(low_c: float, told: bool, cloud: float) -> None:
    fig = tree("ficus-microcarpa", spot("terrace", surface="paving"), pot_litres=3.0)
    found = threats(fig, night_of(low_c, cloud), GREENSBORO, "frost", "cold roots")
    # Told is a caution that is as likely as not, and a danger of one course in five.
    assert any(one.chances[0] >= 0.5 for one in found) is told
    assert all(one.chances[1] < 0.2 for one in found)


def test_it_is_the_air_that_chills_and_a_house_that_helps() -> None:
    """On a clear night leaves are colder than the air, of which growers tell their lines."""
    cold = night_of(4.0)
    bench, roof, room = spot(), spot("roof", roof=True), spot("room", profile="heated")
    worst = {
        where.name: [one.bad for one in threats(tree("ficus-microcarpa", where), cold, GREENSBORO, "frost")]
        for where in (bench, roof, room)
    }
    assert worst["bench"] == worst["roof"] != []
    assert worst["bench"][0] == pytest.approx(np.sort(cold.t_c[:, :12].min(axis=1))[1])  # the bad one of 20
    assert worst["room"] == []


def test_a_cool_summer_night_is_no_warning_of_cold_pots_either() -> None:
    fig = tree("ficus-microcarpa", pot_litres=0.5)
    assert [
        one for one in threats(fig, night_of(9.0), GREENSBORO, "cold roots") if one.chances[0] >= 0.3
    ] == []
