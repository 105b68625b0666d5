"""A made-up garden of any size for the programs beside this file: every tree and date of its log is invented.

The weather under it is real: the daily station data that come with the demo.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

import numpy as np

from calendar_core.app.founding import garden_at
from calendar_core.app.garden_file import read_garden_file
from calendar_core.app.measured import read_measured
from calendar_core.garden.model import AIMS, PROFILES, SIZES, Entry, Spot, Tree
from calendar_core.species.bundled import folder
from calendar_core.storage import gardens, log
from calendar_core.storage.engine import open_store

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.garden.model import Garden, ThermalProfile

TODAY = date(2015, 4, 15)  # bud break is seen on some trees and awaited on others: the most differing groups
JOINED = date(2013, 2, 1)
SPRINGS = (2013, 2014, 2015)
NAMESPACE = UUID(int=0)

# Species, and of each the observed stages with a likely day of the year (invented).
SPECIES: dict[str, tuple[tuple[str, int], ...]] = {
    "acer-palmatum": (("bud_break", 86), ("leaves_present", 97)),
    "pinus-thunbergii": (("candles_extending", 106), ("needles_emerging", 145)),
    "rhododendron-indicum": (("flowering", 140), ("bloom_over", 168)),
    "ficus-microcarpa": (("active_growth", 185),),
}
AWAITED = {"acer-palmatum": "leaves_present", "pinus-thunbergii": "candles_extending"}
WORK = {
    "acer-palmatum": ("repot", "partial defoliation", "wire"),
    "pinus-thunbergii": ("decandling", "repot", "feeding"),
    "rhododendron-indicum": ("repot", "structural prune"),
    "ficus-microcarpa": ("repot", "wire"),
}


def found(database: Path, n_trees: int, seed: int = 1) -> Garden:
    """Write a garden of ``n_trees`` to a new database and return it; the same ``seed`` gives the same garden."""
    file = read_garden_file(folder("demo") / "garden.toml")
    days = read_measured(folder("demo") / "seattle-weather.csv", station="Seattle")
    garden = garden_at(file.garden, days.mean_year(TODAY))
    garden = _with(garden, id=uuid5(NAMESPACE, f"garden of {n_trees}"))
    spots = [Spot(uuid5(garden.id, profile), garden.id, profile, profile=profile) for profile in PROFILES]
    trees = [_tree(garden, number) for number in range(n_trees)]
    rng = np.random.default_rng(seed)
    entries = [entry for tree in trees for entry in _log(tree, spots, rng)]
    store = open_store(database)
    with store.begin() as connection:
        gardens.add_garden(connection, _with(garden, weather_series=days.store(connection, garden)))
        for spot in spots:
            gardens.add_spot(connection, spot)
        gardens.add_trees(connection, trees)
        log.append(connection, entries)
    store.close()
    return garden
