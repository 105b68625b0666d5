"""A garden about to be founded: from what was typed to what will be stored, nothing written yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from calendar_core.app.first_day.first_weather import looked_up, mean_year_of, with_height
from calendar_core.app.garden.founding import Founded, design
from calendar_core.app.garden.garden_file import GardenPart
from calendar_core.app.garden.place import find_place, in_its_zone
from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.errors import Refusal, faults_of
from calendar_core.app.shell.forms import as_option, checked
from calendar_core.app.shell.plan_weather import near_normals
from calendar_core.app.shell.session import knowledge
from calendar_core.app.weather.measured import MeasuredDays, read_measured

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from calendar_core.app.garden.garden_file import GardenFile
    from calendar_core.app.weather.services import Services


@dataclass(frozen=True)
class Designed:
    """A garden as it will be stored by `founding.keep`, with its measured ``days`` if it brings any.

    ``past_years`` tells whether the past days of its place are known.
    """

    made: Founded
    days: MeasuredDays | None
    past_years: bool


def garden_part(typed: dict[str, Any], where: str | None, asked: Services | None) -> GardenPart:
    """Return where a garden is, from options or from the answer ``where`` it is: a place, or two coordinates.

    A place that is not bundled is looked up with the services that are ``asked``. Raises Refusal.
    """
    if where is not None:
        place, latitude, longitude = _where(where)
        typed = typed | {"place": place, "latitude": latitude, "longitude": longitude}
    garden = checked(GardenPart, typed, as_option)
    if asked is not None:
        garden = looked_up(garden, asked)
    in_its_zone(garden)  # refused before more is asked
    return garden


def designed(
    wanted: GardenFile,
    day: date | None,
    asked: Services | None = None,
    weather: Path | None = None,
    file: Path | None = None,
) -> Designed:
    """Return the garden that is wanted, as of a day or today; faults are told by the ``file`` it came from.

    Services that are ``asked`` find its place, its height and its mean year; ``weather`` is a file of its own days.
    Raises Refusal.
    """
    with faults_of(file):
        if asked is not None:
            wanted = wanted.model_copy(update={"garden": looked_up(wanted.garden, asked)})
        part = in_its_zone(wanted.garden)
    at = clock(str(part.zone), day)
    days = _measured(weather, part) if weather else None
    mean_year = days.mean_year(at.today) if days else None
    if asked is not None and mean_year is None:
        part = with_height(part, asked, at.today)
        wanted = wanted.model_copy(update={"garden": part})
        mean_year = mean_year_of(part, asked, at.today)
    with faults_of(file):
        faults = wanted.ahead(at.today)
        if faults:
            raise Refusal(*faults)
        made = design(wanted, knowledge(), at.today, at.now, mean_year)
    return Designed(made, days, past_years=mean_year is not None)


def _where(answer: str) -> tuple[str | None, float | None, float | None]:
    numbers = answer.replace(",", " ").split()
    try:
        latitude, longitude = (float(number) for number in numbers)
    except ValueError:
        return answer, None, None
    return None, latitude, longitude


def _measured(path: Path, part: GardenPart) -> MeasuredDays:
    zone = ZoneInfo(str(part.zone))
    if part.latitude is None or part.longitude is None:
        return read_measured(path, zone=zone, near=find_place(str(part.place)))
    try:
        near = near_normals(part.latitude, part.longitude)[0]
    except Refusal:
        near = None
    return read_measured(path, zone=zone, near=near)
