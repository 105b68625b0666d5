"""A garden written as a file: an input of ``leafclock start``. The database is the only truth afterwards."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Self
from uuid import UUID

from pydantic import Field, model_validator

from calendar_core.app.garden.horizons import Horizon
from calendar_core.app.shell.days import ahead
from calendar_core.app.shell.forms import (
    Day,
    Label,
    LocalTime,
    Remark,
    Strict,
    Text,
    TreeLabel,
    checked,
    in_file,
)
from calendar_core.app.shell.reading import toml_of
from calendar_core.garden.limits import HIGHEST_M, LARGEST_POT_L, LOWEST_M, STRONGEST, WEAKEST
from calendar_core.garden.model import Units
from calendar_core.knowledge.words import Aim, PotKind, SizeClass, Surface, ThermalProfile, Wind

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path


class GardenPart(Strict):
    """Where the garden is: a bundled place, or coordinates."""

    id: UUID | None = None  # given, the garden keeps its calendar's event names when it is founded again
    name: Label = "My garden"
    place: Label | None = None
    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    elevation_m: Annotated[float, Field(ge=LOWEST_M, le=HIGHEST_M)] | None = None
    zone: str | None = None
    units: Units = "metric"

    @model_validator(mode="after")
    def _somewhere(self) -> Self:
        if (self.latitude is None) != (self.longitude is None):
            raise ValueError("latitude and longitude go together")
        if self.latitude is None and self.place is None:
            raise ValueError("give latitude and longitude, or a bundled place")
        return self


class SpotPart(Strict):
    """A place where trees stand."""

    name: Label
    sun_from: LocalTime | None = None
    sun_to: LocalTime | None = None
    cloth_percent: Annotated[int, Field(ge=0, le=100)] = 0
    profile: ThermalProfile = "open"
    wind: Wind = "normal"
    surface: Surface = "bench"
    roof: bool = False
    quarantine: bool = False
    horizon: Horizon = ()

    @model_validator(mode="after")
    def _sun(self) -> Self:
        if (self.sun_from is None) != (self.sun_to is None):
            raise ValueError("the hours of sun have a beginning and an end: give both")
        if self.sun_from and self.sun_to and not self.sun_from < self.sun_to:
            raise ValueError(
                f"sun from {self.sun_from:%H:%M} to {self.sun_to:%H:%M}; right would be an end after the beginning"
            )
        return self


class TreePart(Strict):
    """A tree with the state it comes with."""

    species: Text
    label: TreeLabel | None = None
    cultivar: Text = ""
    aim: Aim = "structure"
    vigour: Annotated[int, Field(ge=WEAKEST, le=STRONGEST)] = 3
    size: SizeClass = "medium"
    spot: Text | None = None
    pot: PotKind | None = None
    pot_litres: Annotated[float, Field(gt=0, le=LARGEST_POT_L)] | None = None
    last_repot: Day | None = None


class LogPart(Remark):
    """Something that was done, seen, looked for in vain, or is wished; or where trees were moved to."""

    on: Day
    trees: Annotated[tuple[str, ...], Field(min_length=1)]
    did: str | None = None
    saw: str | None = None
    not_yet: str | None = None
    wish: str | None = None
    moved_to: str | None = None

    @model_validator(mode="after")
    def _one(self) -> Self:
        told = (self.did, self.saw, self.not_yet, self.wish, self.moved_to)
        if sum(value is not None for value in told) != 1:
            raise ValueError("give exactly one of did, saw, not_yet, wish, moved_to")
        return self


class GardenFile(Strict):
    """The whole file."""

    garden: GardenPart
    since: Day | None = None
    spot: tuple[SpotPart, ...] = ()
    tree: tuple[TreePart, ...] = ()
    log: tuple[LogPart, ...] = ()

    def ahead(self, today: date) -> list[str]:
        """Return one line for each day that lies ahead."""
        days = {
            "since": self.since,
            **{f"tree[{n}].last_repot": tree.last_repot for n, tree in enumerate(self.tree, 1)},
            **{f"log[{n}].on": part.on for n, part in enumerate(self.log, 1)},
        }
        return [f"{key}: {ahead(day, today)}" for key, day in days.items() if day and day > today]


def read_garden_file(path: Path) -> GardenFile:
    """Return a garden file, or refuse it with one line for each fault."""
    return checked(GardenFile, toml_of(path, "a garden file"), in_file(path))
