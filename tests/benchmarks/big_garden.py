"""A made-up garden of any size for the programs beside this file: every tree and date of its log is invented.

The weather under it is real: the daily station data that come with the demo.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

import numpy as np

from calendar_core.app.garden.founding import garden_at
from calendar_core.app.garden.garden_file import read_garden_file
from calendar_core.app.weather.measured import read_measured
from calendar_core.garden.model import Entry, Garden, Spot, Tree
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.words import AIMS, SIZES
from calendar_core.storage import gardens, log
from calendar_core.storage.engine import open_store

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.garden.model import EntryKind
    from calendar_core.knowledge.words import ThermalProfile

TODAY = date(2015, 4, 15)  # some buds are seen open, others awaited: trees differ the most
JOINED = date(2013, 2, 1)
SPRINGS = (2013, 2014, 2015)
NAMESPACE = UUID(int=0)

# The four species, with stages that are watched (the first also in vain) and a likely day of the year of each.
WATCHED: dict[str, tuple[tuple[str, int], ...]] = {
    "acer-palmatum": (("bud_break", 86), ("leaves_present", 97)),
    "pinus-thunbergii": (("candles_extending", 106), ("needles_emerging", 145)),
    "rhododendron-indicum": (("flowering", 140), ("bloom_over", 168)),
    "ficus-microcarpa": (("active_growth", 185),),
}
WATCHED_SHARE = 0.8  # of the trees are watched in spring
MOVED_SHARE = 0.2  # of the trees spend the winter elsewhere
SPREAD_DAYS = 8.0  # of the days on which a stage is seen


def found(database: Path, n_trees: int, seed: int = 1) -> Garden:
    """Write a garden of ``n_trees`` to a new database and return it; the same ``seed`` gives the same garden."""
    file = read_garden_file(folder("demo") / "garden.toml")
    days = read_measured(
        folder("demo") / "seattle-weather.csv", zone=ZoneInfo("America/Los_Angeles"), station="Seattle"
    )
    garden = replace(
        garden_at(file.garden, days.mean_year(TODAY)),
        id=uuid5(NAMESPACE, f"{n_trees}"),
        name=f"{n_trees} trees",
    )
    profiles: tuple[ThermalProfile, ...] = ("open", "cold frame", "frost-free")
    spots = [Spot(uuid5(garden.id, profile), garden.id, profile, profile=profile) for profile in profiles]
    trees = [_tree(garden, number) for number in range(n_trees)]
    rng = np.random.default_rng(seed)
    store = open_store(database)
    with store.begin() as connection:
        garden = replace(garden, weather_series=days.store(connection, garden))
        gardens.add_garden(connection, garden)
        for spot in spots:
            gardens.add_spot(connection, spot)
        gardens.add_trees(connection, trees)
        log.append(connection, [entry for tree in trees for entry in _Log(tree, rng).kept(spots)])
    store.close()
    return garden


def _tree(garden: Garden, number: int) -> Tree:
    species = list(WATCHED)[number % len(WATCHED)]
    return Tree(uuid5(garden.id, f"{number}"), garden.id, f"{species} {number}", species)


class _Log:
    """What is written down of one tree up to the day of the plan."""

    def __init__(self, tree: Tree, rng: np.random.Generator) -> None:
        self.tree, self.rng = tree, rng
        self.entries: list[Entry] = []

    def kept(self, spots: list[Spot]) -> list[Entry]:
        """Return the tree's log: how it joined, its repotting, its winters, what was seen."""
        state = {
            "aim": self._one_of(AIMS),
            "vigour": int(self.rng.integers(2, 6)),
            "size": self._one_of(SIZES),
        }
        self._write(JOINED, "state", {**state, "spot": str(spots[0].id)})
        self._write(self._near(date(2012 + int(self.rng.integers(4)), 3, 1)), "work", {"operation": "repot"})
        if self.rng.random() < MOVED_SHARE:
            self._moves(spots)
        if self.rng.random() < WATCHED_SHARE:
            for year in SPRINGS[int(self.rng.integers(len(SPRINGS))) :]:
                self._spring(year)
        return self.entries

    def _moves(self, spots: list[Spot]) -> None:
        """Into shelter on one of two outings in autumn, and out on one of two in spring."""
        into, out = (14 * int(outing) for outing in self.rng.integers(2, size=2))
        away = spots[1 + int(self.rng.integers(len(spots) - 1))]
        self._write(date(2014, 11, 1) + timedelta(days=into), "state", {"spot": str(away.id)})
        self._write(date(2015, 3, 1) + timedelta(days=out), "state", {"spot": str(spots[0].id)})

    def _spring(self, year: int) -> None:
        watched = WATCHED[self.tree.species]
        drawn = [(stage, self._near(date(year, 1, 1) + timedelta(days=day))) for stage, day in watched]
        self._write(drawn[0][1] - timedelta(days=5), "seen", {"stage": f"not yet {drawn[0][0]}"})
        for stage, day in drawn:
            self._write(day, "seen", {"stage": stage})

    def _near(self, day: date) -> date:
        return day + timedelta(days=round(SPREAD_DAYS * float(self.rng.standard_normal())))

    def _one_of(self, names: tuple[str, ...]) -> str:
        return names[int(self.rng.integers(len(names)))]

    def _write(self, on: date, kind: EntryKind, data: dict[str, Any]) -> None:
        if on <= TODAY:
            identity = uuid5(self.tree.id, f"{len(self.entries)}")
            written = datetime(2015, 1, 1, tzinfo=UTC)
            self.entries.append(
                Entry(identity, self.tree.garden_id, (self.tree.id,), on, written, "owner", kind, data)
            )
