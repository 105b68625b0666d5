"""How long it takes to judge a large garden, beside the bare arithmetic of leaf temperature.

Run by hand, on an idle machine: ``python -m tests.benchmarks.judging``. Goal: 300 trees, no two alike, x 16 days of hours x
20 members in 1 s, after two weeks that root balls remember. Reference of the same run: the energy balance of as many leaves, all of them by one call after another.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from alerts.air.spread import spread
from alerts.hazards.judge import judge
from calendar_core.science.hour.leaf import absorbed_w_m2, conductances, leaf_temperature_c, sky_emissivity
from tests.alerts.hazards.gardens import GREENSBORO, KNOWLEDGE, RULES, spot, tree, year_hours
from tests.benchmarks.timing import seconds

if TYPE_CHECKING:
    from collections.abc import Sequence

    from alerts.air.hours import Hours
    from alerts.hazards.stand import Stand

TREES, SPOTS, DAYS, MEMBERS, REMEMBERED = 300, 8, 16, 20, 14
GOAL_S = 1.0
SPECIES = (
    "acer-palmatum",
    "ulmus-parvifolia",
    "rhododendron-indicum",
    "juniperus-chinensis",
    "ficus-microcarpa",
)


def balance(stands: Sequence[Stand], hours: Hours) -> None:
    """Work the energy balance of the leaves of every tree in the open, and nothing else."""
    air, vapour, light = hours.t_c, hours.vapour_kpa, hours.sunlight_w_m2
    for stand in stands:
        absorbed = absorbed_w_m2(light, air, sky_emissivity(air, vapour, hours.cloud_percent))
        open_mol = np.where(light > 0, stand.leaf.stomata_open_mol, stand.leaf.stomata_shut_mol)
        layer = conductances(hours.wind_10m_ms, stand.leaf.width_m, open_mol)
        leaf_temperature_c(absorbed, air, vapour, *layer)


def main() -> None:
    """Print the time of judging in summer and in winter, and how it compares with the energy balance alone."""
    spots = [
        spot(str(i), cloth_percent=10 * i, wind=("sheltered", "normal", "windy")[i % 3]) for i in range(SPOTS)
    ]
    stands = [
        tree(SPECIES[i % len(SPECIES)], spots[i % SPOTS], str(i), pot_litres=0.5 + 0.02 * i)
        for i in range(TREES)
    ]
    for title, month in (("July", 7), ("January", 1)):
        known = year_hours(GREENSBORO, month, 1, REMEMBERED + DAYS)
        single = known.part(known.at(24 * REMEMBERED), known.at(len(known)))
        hours = spread(single, GREENSBORO, KNOWLEDGE.hazards.forecast_error, members=MEMBERS)
        found = judge(stands, hours, GREENSBORO, RULES)
        took = seconds(partial(judge, stands, hours, GREENSBORO, RULES))
        bare = seconds(partial(balance, stands, hours))
        print(
            f"{title}: {TREES} trees x {DAYS} days x {MEMBERS} members, {len(found)} threats, "
            f"in {took:.2f} s (goal {GOAL_S:.0f}); energy balance alone {bare:.2f} s: {took / bare:.1f} x"
        )


if __name__ == "__main__":
    main()
