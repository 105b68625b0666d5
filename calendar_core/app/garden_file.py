"""A garden written as a file: an input of ``leafclock start``. The database is the only truth afterwards."""

from __future__ import annotations

import tomllib
from datetime import date, time
from typing import TYPE_CHECKING, Annotated, Literal, Self
from uuid import UUID

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from calendar_core.app.errors import Refusal
from calendar_core.garden.model import Aim, SizeClass, ThermalProfile, Units

if TYPE_CHECKING:
    from pathlib import Path

Label = Annotated[str, Field(min_length=1, max_length=60)]


class Strict(BaseModel):
    """A table in which an unknown key is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)


class GardenPart(Strict):
    """Where the garden is: a bundled place, or coordinates."""

    id: UUID | None = None  # given, the garden keeps its calendar's event names when it is founded again
    name: Label = "My garden"
    place: str | None = None
    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    elevation_m: Annotated[float, Field(ge=-430, le=6000)] | None = None
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
    sun_from: time | None = None
    sun_to: time | None = None
    cloth_percent: Annotated[int, Field(ge=0, le=100)] = 0
    profile: ThermalProfile = "open"
    wind: Literal["sheltered", "normal", "windy"] = "normal"
    surface: str = "bench"
    roof: bool = False
    quarantine: bool = False


class TreePart(Strict):
    """A tree with the state it comes with."""

    species: str
    label: Label | None = None
    cultivar: str = ""
    aim: Aim = "structure"
    vigour: Annotated[int, Field(ge=1, le=5)] = 3
    size: SizeClass = "medium"
    spot: str | None = None
    pot_litres: Annotated[float, Field(gt=0, le=1000)] | None = None
    last_repot: date | None = None


class LogPart(Strict):
    """Something that was done, seen, looked for in vain, or is wished."""

    on: date
    trees: Annotated[tuple[str, ...], Field(min_length=1)]
    did: str | None = None
    saw: str | None = None
    not_yet: str | None = None
    wish: str | None = None
    note: str = ""

    @model_validator(mode="after")
    def _one(self) -> Self:
        if sum(value is not None for value in (self.did, self.saw, self.not_yet, self.wish)) != 1:
            raise ValueError("give exactly one of did, saw, not_yet, wish")
        return self


class GardenFile(Strict):
    """The whole file."""

    garden: GardenPart
    since: date | None = None
    spot: tuple[SpotPart, ...] = ()
    tree: tuple[TreePart, ...] = ()
    log: tuple[LogPart, ...] = ()


def read_garden_file(path: Path) -> GardenFile:
    """Return a garden file, or refuse it with one line for each fault."""
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise Refusal(f"{path}: cannot be read ({error.strerror}); right would be a garden file") from None
    except UnicodeDecodeError:
        raise Refusal(f"{path}: is not UTF-8 text; right would be a garden file in TOML") from None
    except tomllib.TOMLDecodeError as error:
        raise Refusal(f"{path}: is not valid TOML: {error}") from None
    try:
        return GardenFile.model_validate(data)
    except ValidationError as error:
        raise Refusal(*fault_lines(str(path), error)) from None


def fault_lines(where: str, error: ValidationError) -> list[str]:
    """Return one line for each fault: file, key, what was found and what would be right."""
    lines = []
    for fault in error.errors():
        key = "".join(
            f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in fault["loc"]
        ).lstrip(".")
        found = fault["input"]
        shown = f": found {found!r}" if isinstance(found, str | int | float | bool) else ""
        lines.append(f"{where}: {key or 'file'}{shown}: {fault['msg'].removeprefix('Value error, ')}")
    return lines
