"""Founding a garden: from a garden file, or options made into one, to rows in the database, all or nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4, uuid5

from calendar_core.app.garden.place import coordinates, find_place, zone_at
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.plan_weather import near_normals
from calendar_core.garden.cycle import cycle_days
from calendar_core.garden.model import Entry, Garden, Spot, Tree
from calendar_core.knowledge.profiles.names import every_name, find_each, plain
from calendar_core.storage import gardens, log
from calendar_core.storage.gardens import OWNER
from calendar_core.weather.normals import daily_year

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from calendar_core.app.garden.garden_file import GardenFile, GardenPart, LogPart, TreePart
    from calendar_core.app.weather.measured import MeasuredDays
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.storage.engine import Store


@dataclass(frozen=True)
class Founded:
    """A garden as it will be stored."""

    garden: Garden
    spots: tuple[Spot, ...]
    trees: tuple[Tree, ...]
    entries: tuple[Entry, ...]


def found(
    store: Store,
    file: GardenFile,
    knowledge: Knowledge,
    today: date,
    now: datetime,
    days: MeasuredDays | None = None,
) -> Garden:
    """Store a garden with its spots, trees, log and measured days, or refuse with all faults and store nothing."""
    mean_year = None if days is None else days.mean_year(today)
    return keep(store, design(file, knowledge, today, now, mean_year), days)


def keep(store: Store, made: Founded, days: MeasuredDays | None = None) -> Garden:
    """Store a garden as it was designed, with its measured days, in one transaction."""
    with store.begin() as connection:
        if days is not None:
            made = replace(
                made, garden=replace(made.garden, weather_series=days.store(connection, made.garden))
            )
        gardens.add_garden(connection, made.garden)
        gardens.add_person(connection, gardens.Person(uuid4(), made.garden.id, OWNER, "owner"))
        for spot in made.spots:
            gardens.add_spot(connection, spot)
        gardens.add_trees(connection, made.trees)
        log.append(connection, made.entries)
    return made.garden


def design(
    file: GardenFile,
    knowledge: Knowledge,
    today: date,
    now: datetime,
    mean_year: NDArray[np.float64] | None = None,
) -> Founded:
    """Return the garden a file describes, or refuse it; every fault of its trees and log is told at once."""
    garden = garden_at(file.garden, mean_year)
    spots = tuple(Spot(uuid4(), garden.id, **dict(part)) for part in file.spot) or (
        Spot(uuid4(), garden.id, "bench"),
    )
    since, fixed = file.since or today, file.garden.id is not None
    maker = Maker(garden, knowledge, {spot.name.lower(): spot for spot in spots}, since, now, fixed_ids=fixed)
    trees = maker.trees(file.tree)
    entries = [
        *maker.first_entries(file.tree, trees),
        *(e for part in file.log for e in maker.logged(part, trees)),
    ]
    maker.refuse_faults()
    return Founded(garden, spots, trees, tuple(entries))


def garden_at(part: GardenPart, mean_year: NDArray[np.float64] | None = None) -> Garden:
    """Return a garden at a bundled place or at coordinates, with the days its cycles begin on.

    ``mean_year`` (366,) [degC] is that of its own weather; without one the nearest bundled normals serve.
    """
    normals = find_place(part.place) if part.place and part.latitude is None else None
    latitude = normals.latitude if normals else float(part.latitude or 0.0)
    longitude = normals.longitude if normals else float(part.longitude or 0.0)
    if mean_year is None:
        mean_year = daily_year(normals or near_normals(latitude, longitude)[0]).t_mean_c
    leaf_fall, coldest = cycle_days(mean_year, latitude)
    place = normals.place.replace("_", " ") if normals else part.place
    elevation_m = part.elevation_m
    if elevation_m is None:
        elevation_m = normals.elevation_m if normals else None
    return Garden(
        id=part.id or uuid4(),
        name=part.name,
        place=place or coordinates(latitude, longitude),
        latitude=latitude,
        longitude=longitude,
        elevation_m=elevation_m or 0.0,
        elevation_known=elevation_m is not None,
        zone=zone_at(part.zone, normals, latitude, longitude),
        units=part.units,
        leaf_fall=leaf_fall,
        coldest=coldest,
    )


class Maker:
    """Makes trees and entries of a garden, gathering faults."""

    def __init__(
        self,
        garden: Garden,
        knowledge: Knowledge,
        spots: dict[str, Spot],
        since: date,
        now: datetime,
        taken: Collection[str] = (),
        *,
        fixed_ids: bool = False,
    ) -> None:
        self.garden, self.knowledge, self.spots, self.since, self.now = garden, knowledge, spots, since, now
        self.taken = set(taken)
        self.fixed_ids = fixed_ids
        self.faults: list[str] = []
        self.written = 0

    def refuse_faults(self) -> None:
        """Raise Refusal with each fault once, if there are any."""
        if self.faults:
            raise Refusal(*dict.fromkeys(self.faults))

    def trees(self, parts: Sequence[TreePart]) -> tuple[Tree, ...]:
        """Return trees with labels of their own; those without one are numbered by species."""
        keys, faults = find_each((part.species for part in parts), self.knowledge.profiles)
        self.faults += faults
        species = [keys.get(part.species) for part in parts]
        labels = self._labels(parts, species)
        return tuple(
            Tree(self._tree_id(label), self.garden.id, label, key or "", part.cultivar)
            for part, key, label in zip(parts, species, labels, strict=True)
        )

    def _tree_id(self, label: str) -> UUID:
        return uuid5(self.garden.id, f"tree {label}") if self.fixed_ids else uuid4()

    def _labels(self, parts: Sequence[TreePart], species: Sequence[str | None]) -> list[str]:
        given = Counter(part.label.lower() for part in parts if part.label)
        self.faults += [
            f"label '{label}' stands twice; right would be one label for each tree"
            for label, n in given.items()
            if n > 1
        ]
        self.faults += [
            f"label '{part.label}' is that of another tree of the garden; right would be one of its own"
            for part in parts
            if part.label and part.label.lower() in self.taken
        ]
        species_names = every_name(self.knowledge.profiles)
        self.faults += [
            f"label '{part.label}' is the name of a species; right would be another, such as {part.label} 1"
            for part in parts
            if part.label and plain(part.label) in species_names
        ]
        taken = {*self.taken, *given}
        out, number = [], Counter[str]()
        for part, key in zip(parts, species, strict=True):
            if part.label:
                out.append(part.label)
                continue
            common = self.knowledge.profiles[key].common if key else part.species
            while True:
                number[common] += 1
                label = f"{common} {number[common]}"
                if label.lower() not in taken:
                    break
            taken.add(label.lower())
            out.append(label)
        return out

    def first_entries(self, parts: Sequence[TreePart], trees: Sequence[Tree]) -> list[Entry]:
        """Return the entries by which trees join: their state, and when they were last repotted."""
        out = []
        for part, tree in zip(parts, trees, strict=True):
            data: dict[str, Any] = {"aim": part.aim, "vigour": part.vigour, "size": part.size}
            spot = self.spots.get((part.spot or next(iter(self.spots))).lower())
            if spot is None:
                self.faults.append(
                    f"{tree.label}: no spot '{part.spot}'; right would be one of {', '.join(self.spots)}"
                )
            else:
                data["spot"] = str(spot.id)
            pot = {"pot": part.pot, "pot_litres": part.pot_litres}
            data |= {name: value for name, value in pot.items() if value is not None}
            out.append(self._entry([tree.id], self.since, "state", data))
            if part.last_repot is not None:
                out.append(self._entry([tree.id], part.last_repot, "work", {"operation": "repot"}))
        return out

    def logged(self, part: LogPart, trees: Sequence[Tree]) -> list[Entry]:
        """Return the entry of one part of a garden file's log."""
        by_label = {tree.label.lower(): tree for tree in trees}
        named = [by_label.get(label.lower()) for label in part.trees]
        for label, tree in zip(part.trees, named, strict=True):
            if tree is None:
                self.faults.append(f"log of {part.on}: no tree '{label}'")
        if part.did is not None or part.wish is not None:
            operation = str(part.did or part.wish)
            if operation not in self.knowledge.operations:
                self.faults.append(f"log of {part.on}: no operation '{operation}'")
            kind, data = ("work" if part.did else "wish"), {"operation": operation}
        elif part.moved_to is not None:
            spot = self.spots.get(part.moved_to.lower())
            if spot is None:
                known = ", ".join(self.spots)
                self.faults.append(
                    f"log of {part.on}: no spot '{part.moved_to}'; right would be one of {known}"
                )
            kind, data = "state", {"spot": str(spot.id) if spot else ""}
        else:
            stage = str(part.saw or part.not_yet)
            for tree in named:
                if tree and tree.species and stage not in self.knowledge.profiles[tree.species].stages:
                    self.faults.append(f"log of {part.on}: {tree.label} has no stage '{stage}'")
            kind, data = "seen", {"stage": stage if part.saw else f"not yet {stage}"}
        if part.note:
            data["note"] = part.note
        return [self._entry([tree.id for tree in named if tree], part.on, kind, data)]

    def _entry(self, trees: Sequence[UUID], on: date, kind: Any, data: dict[str, Any]) -> Entry:
        self.written += 1  # recorded in the order of the file, which decides where days are the same
        identity = uuid5(self.garden.id, f"entry {self.written}") if self.fixed_ids else uuid4()
        recorded = self.now + timedelta(milliseconds=self.written)
        return Entry(identity, self.garden.id, tuple(trees), on, recorded, OWNER, kind, data)
