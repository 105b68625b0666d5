"""Forms of an exported folder, made from the values they hold: a field added to a value is in its form too."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields
from datetime import date, datetime
from typing import Annotated, Any, Literal, get_type_hints
from uuid import UUID

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    create_model,
)

from calendar_core.app.garden.horizons import Horizon
from calendar_core.app.garden.place import zone_at
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import (
    Day,
    LocalTime,
    meant,
    name_of,
    no_control_characters,
    no_truth,
    shortened,
    storable,
)
from calendar_core.app.shell.reading import NumberError, json_of
from calendar_core.garden.limits import FIRST, HIGHEST_M, LAST, LOWEST_M
from calendar_core.garden.model import Entry, EntryKind, Garden, MonthDay, Spot, Tree
from calendar_core.knowledge import words
from calendar_core.planning.events import PublishedEvent, ToldWork
from calendar_core.planning.moved_dates import DateMove, MovePart, Spell, ToldDate, Written
from calendar_core.storage.errors import StoreError
from calendar_core.storage.gardens import Person
from calendar_core.storage.names import key_of
from calendar_core.storage.services import RejectedValue
from calendar_core.storage.told_dates import Basis
from calendar_core.storage.weather import WeatherSeries
from calendar_core.storage.whole import DayValues, Snapshot

FORMAT = 1
Role = Literal["own", "service"]


def _aware(moment: datetime) -> datetime:
    if moment.utcoffset() is None:
        right = f"right would be with its offset from UTC, such as {moment.isoformat()}+00:00"
        raise ValueError(f"found {moment.isoformat()}; {right}")
    if not FIRST.year <= moment.year <= LAST.year:  # at its ends the calendar has no UTC for it
        right = f"right would be a moment from {FIRST.year} to {LAST.year}"
        raise ValueError(f"found {moment.isoformat()}; {right}")
    return moment


Moment = Annotated[datetime, AfterValidator(_aware)]
_NAMES = {
    **vars(words), "date": date, "datetime": Moment, "time": LocalTime, "UUID": UUID, "Mapping": Mapping, "Any": Any,
    "EntryKind": EntryKind,
}  # fmt: skip


class Form(BaseModel):
    """Keys as they were exported and no others; texts stay as they are, spaces and all."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def _format(number: object) -> object:
    if number == FORMAT:
        return number
    newer = isinstance(number, int) and number > FORMAT
    raise ValueError(
        f"found {shortened(number)}; right would be {FORMAT}" + (": update the program" if newer else "")
    )


def _name(text: str) -> str:
    try:
        key_of(text)
    except StoreError as error:
        raise ValueError(str(error)) from None
    return text


def _month_day(value: MonthDay) -> MonthDay:
    try:
        date(2015, value.month, value.day)
    except ValueError:
        raise ValueError(f"found {value.month}-{value.day}; right would be a day of a common year") from None
    return value


def _json(cell: object) -> object:
    if not isinstance(cell, str):
        return cell
    try:
        return json_of(cell)
    except NumberError:
        raise
    except ValueError as error:
        raise ValueError(f"found {shortened(cell)} ({error}); right would be JSON such as {{}}") from None


def _words(cell: object) -> object:
    return cell.split() if isinstance(cell, str) else cell


def _zone(name: str) -> str:
    try:
        return zone_at(name, None, 0.0, 0.0)
    except Refusal as refusal:
        raise ValueError(str(refusal)) from None


def _value(cell: object) -> object:
    return None if cell == "" else cell


Name = Annotated[str, AfterValidator(_name), AfterValidator(name_of("other"))]
TreeName = Annotated[str, AfterValidator(_name), AfterValidator(name_of("tree"))]
Plain = Annotated[str, AfterValidator(no_control_characters)]
Told = Annotated[str, AfterValidator(storable)]
Whole = Annotated[int, BeforeValidator(no_truth), AfterValidator(storable)]
Zone = Annotated[str, AfterValidator(_zone)]
Data = Annotated[dict[str, Any], BeforeValidator(_json)]
Ids = Annotated[tuple[UUID, ...], BeforeValidator(_words)]
Number = Annotated[float, Field(allow_inf_nan=False)]
Value = Annotated[Number | None, BeforeValidator(_value)]
Height = Annotated[float, Field(ge=LOWEST_M, le=HIGHEST_M)]
Percent = Annotated[int, Field(ge=0, le=100)]
Latitude, Longitude = Annotated[float, Field(ge=-90, le=90)], Annotated[float, Field(ge=-180, le=180)]
Anniversary = Annotated[MonthDay, AfterValidator(_month_day)]


def form_of(shape: type, without: str = "garden_id", **kinds: Any) -> type[Form]:
    """Return the form of a dataclass; ``kinds`` say more of a field than its annotation does, or add one."""
    hints = get_type_hints(shape, localns=_NAMES)
    own = {column.name for column in fields(shape)}
    made: dict[str, Any] = {name: (meant(kind), ...) for name, kind in kinds.items() if name not in own}
    for column in fields(shape):
        default = column.default if column.default_factory is MISSING else column.default_factory()
        kind = meant(kinds.get(column.name, hints[column.name]))
        made[column.name] = (kind, ... if default is MISSING else default)
    kept = {name: field for name, field in made.items() if name not in without.split()}
    form: type[Form] = create_model(shape.__name__, __base__=Form, **kept)
    return form


GardenForm = form_of(
    Garden, "weather_series service_series", name=Name, place=Plain, zone=Zone, latitude=Latitude,
    longitude=Longitude, elevation_m=Height, leaf_fall=Anniversary, coldest=Anniversary,
)  # fmt: skip
PersonForm, SpotForm = (
    form_of(Person, name=Name),
    form_of(Spot, name=Name, cloth_percent=Percent, horizon=Horizon),
)
TreeForm = form_of(Tree, label=TreeName, cultivar=Plain)
EntryForm = form_of(Entry, tree_ids=Ids, part_ids=Ids, data=Data, happened=Day, who=Plain, recorded_at=Moment)
SeriesForm = form_of(WeatherSeries, latitude=Latitude, longitude=Longitude, elevation_m=Height, place=Plain)
DayForm = form_of(DayValues, of=Role, day=Day, t_min_c=Value, t_max_c=Value, precipitation_mm=Value)
RejectedForm = form_of(RejectedValue, "series_id", of=Role, day=Day, value=Value)
EventForm, SnapshotForm, WorkForm = form_of(PublishedEvent), form_of(Snapshot, data=Data), form_of(ToldWork)


WrittenForm, SpellForm = form_of(Written), form_of(Spell, warmer_c=Number)
PartForm = form_of(MovePart, spell=SpellForm | None, written=tuple[WrittenForm, ...])  # type: ignore[valid-type]
DateMoveForm = form_of(DateMove, parts=tuple[PartForm, ...])  # type: ignore[valid-type]
ToldDateForm, BasisForm = form_of(ToldDate), form_of(Basis, forecast=Data | None)


class WeatherForm(Form):
    """The series a garden names."""

    own: SeriesForm | None = None  # type: ignore[valid-type]
    service: SeriesForm | None = None  # type: ignore[valid-type]


class Described(Form):
    """garden.json."""

    format: Annotated[int, BeforeValidator(_format)]
    program: Plain
    exact: bool
    garden: GardenForm  # type: ignore[valid-type]
    people: tuple[PersonForm, ...]  # type: ignore[valid-type]
    spots: tuple[SpotForm, ...]  # type: ignore[valid-type]
    weather: WeatherForm


class MemberForm(Form):
    """Which event a tree was put in."""

    group: Told
    cycle: Whole
    tree_id: UUID
    event_uid: UUID


class DatesForm(Form):
    """The dates that were told, and how they moved."""

    bases: tuple[BasisForm, ...] = ()  # type: ignore[valid-type]
    dates: tuple[ToldDateForm, ...] = ()  # type: ignore[valid-type]
    moves: tuple[DateMoveForm, ...] = ()  # type: ignore[valid-type]


class CalendarForm(Form):
    """calendar.json."""

    events: tuple[EventForm, ...] = ()  # type: ignore[valid-type]
    members: tuple[MemberForm, ...] = ()
    snapshots: tuple[SnapshotForm, ...] = ()  # type: ignore[valid-type]
    work: tuple[WorkForm, ...] = ()  # type: ignore[valid-type]
    dates: DatesForm = DatesForm()


TREE_COLUMNS = tuple(TreeForm.model_fields)
_READ_FIRST = ("happened", "trees", "kind", "data")
ENTRY_COLUMNS = (*_READ_FIRST, *(name for name in EntryForm.model_fields if name not in _READ_FIRST))
"""Those of an entry; ``trees`` are the labels, for the reader: the ids beside them count."""
DAY_COLUMNS, REJECTED_COLUMNS = tuple(DayForm.model_fields), tuple(RejectedForm.model_fields)
