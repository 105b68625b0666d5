"""Everything of one garden as one value: read from a database, and added to another one.

Adding changes nothing that is there: what is missing comes in, the log grows, and all of it or nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Protocol, TypeVar
from uuid import UUID

from sqlalchemy import select

from calendar_core.garden.model import Entry, Garden, Spot, Tree
from calendar_core.planning.events import PublishedEvent, ToldWork
from calendar_core.storage import gardens, log, published, told_dates
from calendar_core.storage.errors import StoreError
from calendar_core.storage.gardens import Person
from calendar_core.storage.rows import columns, insert, record, upsert
from calendar_core.storage.schema import tables
from calendar_core.storage.services import RejectedValue, list_rejected
from calendar_core.storage.weather import WeatherSeries, get_series, list_series

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from sqlalchemy import Column, Connection, Table


@dataclass(frozen=True, slots=True)
class DayValues:
    """The stored values of a day [degC, mm]; None where there is none."""

    day: date
    t_min_c: float | None
    t_max_c: float | None
    precipitation_mm: float | None


@dataclass(frozen=True, slots=True)
class WeatherRecord:
    """A series with its days and the values that were not believed, each in order."""

    series: WeatherSeries
    days: tuple[DayValues, ...] = ()
    rejected: tuple[RejectedValue, ...] = ()


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What a published plan was made from."""

    id: UUID
    day: date
    made_at: datetime
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class ToldRows:
    """What calendar subscribers were told."""

    events: tuple[PublishedEvent, ...] = ()
    members: published.Members = field(default_factory=dict)
    snapshots: tuple[Snapshot, ...] = ()
    work: tuple[ToldWork, ...] = ()
    dates: told_dates.ToldDates = field(default_factory=told_dates.ToldDates)


@dataclass(frozen=True, slots=True)
class Whole:
    """A garden with all that is its own; ``own`` and ``service`` are the weather it names."""

    garden: Garden
    people: tuple[Person, ...] = ()
    spots: tuple[Spot, ...] = ()
    trees: tuple[Tree, ...] = ()
    entries: tuple[Entry, ...] = ()
    own: WeatherRecord | None = None
    service: WeatherRecord | None = None
    told: ToldRows = field(default_factory=ToldRows)


@dataclass(frozen=True, slots=True)
class Added:
    """How much came in; ``differing`` things have other content under a stored id, which stays.

    ``left_out`` are the places of weather that a garden has from elsewhere already.
    """

    new: bool
    spots: int
    trees: int
    entries: int
    days: int
    differing: int
    left_out: tuple[str, ...]


class _Identified(Protocol):
    @property
    def id(self) -> UUID: ...


_Thing = TypeVar("_Thing", bound=_Identified)


def read_whole(connection: Connection, garden: Garden) -> Whole:
    """Return everything of a stored garden."""
    return Whole(
        garden,
        gardens.list_people(connection, garden.id),
        gardens.list_spots(connection, garden.id),
        gardens.list_trees(connection, garden.id),
        log.entries(connection, garden.id),
        _record(connection, garden.weather_series),
        _record(connection, garden.service_series),
        ToldRows(
            published.load(connection, garden.id, None),
            published.load_members(connection, garden.id),
            _snapshots(connection, garden.id),
            published.load_work(connection, garden.id, date.min),
            told_dates.load_whole(connection, garden.id),
        ),
    )


def add_whole(connection: Connection, whole: Whole) -> Added:
    """Add what a database lacks of a garden, or all of it.

    What subscribers were told is taken only where none were told anything yet: a database that publishes
    knows best what it said.

    Raises
    ------
    StoreError
        When another garden, spot, tree or person has the name, or an id belongs to another garden.
    """
    _refuse_ids_of_others(connection, whole)
    stored = next(
        (garden for garden in gardens.list_gardens(connection) if garden.id == whole.garden.id), None
    )
    before = Whole(whole.garden) if stored is None else read_whole(connection, stored)
    own, own_days = _add_record(connection, before.own, whole.own)
    service, service_days = _add_record(connection, before.service, whole.service)
    _keep_garden(connection, stored, replace(before.garden, weather_series=own, service_series=service))
    spots, trees = _missing(before.spots, whole.spots), _missing(before.trees, whole.trees)
    for person in _missing(before.people, whole.people):
        gardens.add_person(connection, person)
    for spot in spots:
        gardens.add_spot(connection, spot)
    gardens.add_trees(connection, trees)
    entries = log.append(connection, _missing(before.entries, whole.entries))
    if before.told == ToldRows():
        _add_told(connection, whole)
    pairs = ((before.own, whole.own), (before.service, whole.service))
    left_out = tuple(new.series.place for old, new in pairs if old and new and not _same(old, new))
    days = own_days + service_days
    return Added(stored is None, len(spots), len(trees), entries, days, _differing(before, whole), left_out)


def _missing(before: Sequence[_Thing], now: Sequence[_Thing]) -> list[_Thing]:
    known = {thing.id for thing in before}
    return [thing for thing in now if thing.id not in known]


def _differing(before: Whole, now: Whole) -> int:
    """Count spots, trees and entries that stand otherwise under the same id."""
    stored = {thing.id: thing for thing in _things(before)}
    return sum(stored.get(thing.id, thing) != thing for thing in _things(now))


def _things(whole: Whole) -> list[Spot | Tree | Entry]:
    return [*whole.spots, *whole.trees, *whole.entries]


def _keep_garden(connection: Connection, stored: Garden | None, garden: Garden) -> None:
    if stored is None:
        gardens.add_garden(connection, garden)
    elif garden != stored:
        gardens.update_garden(connection, garden)


def _refuse_ids_of_others(connection: Connection, whole: Whole) -> None:
    events = {event.uid for event in whole.told.events}
    _refuse_others(connection, tables.person, tables.person.c.id, whole.garden, _ids(whole.people))
    _refuse_others(connection, tables.spot, tables.spot.c.id, whole.garden, _ids(whole.spots))
    _refuse_others(connection, tables.tree, tables.tree.c.id, whole.garden, _ids(whole.trees))
    _refuse_others(connection, tables.entry, tables.entry.c.id, whole.garden, _ids(whole.entries))
    _refuse_others(connection, tables.published_event, tables.published_event.c.uid, whole.garden, events)
    snapshots = tables.plan_snapshot
    _refuse_others(connection, snapshots, snapshots.c.id, whole.garden, _ids(whole.told.snapshots))
    told = whole.told.dates
    _refuse_others(connection, tables.told_basis, tables.told_basis.c.id, whole.garden, _ids(told.bases))
    for table, rows in ((tables.told_date, told.dates), (tables.told_move, told.moves)):
        _refuse_others(connection, table, table.c.item_id, whole.garden, {row.item_id for row in rows})


def _ids(things: Iterable[_Identified]) -> set[UUID]:
    return {thing.id for thing in things}


def _refuse_others(
    connection: Connection, table: Table, key: Column[UUID], garden: Garden, ids: Collection[UUID]
) -> None:
    others = connection.execute(select(key).where(table.c.garden_id != garden.id)).scalars()
    taken = set(ids).intersection(others)
    if taken:
        raise StoreError(
            f"the {table.name.replace('_', ' ')} {min(taken)} belongs to another garden of this database: "
            "right would be ids as they were exported"
        )


def _same(old: WeatherRecord, new: WeatherRecord) -> bool:
    """Tell whether two records are of one series: by id, or by what the grower calls it."""
    a, b = old.series, new.series
    return a.id == b.id or (a.source, a.kind, a.place) == (b.source, b.kind, b.place)


def _record(connection: Connection, series_id: UUID | None) -> WeatherRecord | None:
    if series_id is None:
        return None
    table = tables.weather_day
    chosen = select(*columns(table, DayValues)).where(table.c.series_id == series_id).order_by(table.c.day)
    days = tuple(DayValues(*row) for row in connection.execute(chosen))
    return WeatherRecord(get_series(connection, series_id), days, list_rejected(connection, series_id))


def _add_record(
    connection: Connection, before: WeatherRecord | None, new: WeatherRecord | None
) -> tuple[UUID | None, int]:
    """Add days to the record a garden has, or the record where it has none; return its id and how many came in."""
    if new is None or (before is not None and not _same(before, new)):
        return (None if before is None else before.series.id), 0
    known = before or _shared(connection, new.series)
    have = {day.day: day for day in known.days}
    joined = [_joined(have.get(day.day), day) for day in new.days]
    fresh = [day for day in joined if have.get(day.day) != day]
    upsert(connection, tables.weather_day, [record(day, series_id=known.series.id) for day in fresh])
    rejected = [record(value, series_id=known.series.id) for value in new.rejected]
    if rejected:
        connection.execute(insert(connection, tables.weather_rejected).on_conflict_do_nothing(), rejected)
    return known.series.id, len(fresh)


def _shared(connection: Connection, series: WeatherSeries) -> WeatherRecord:
    """Return the record of a series that another garden may have stored; it is stored where none has."""
    key = (series.source, series.station, series.kind)
    for stored in list_series(connection):
        if stored.id == series.id or (stored.source, stored.station, stored.kind) == key:
            found = _record(connection, stored.id)
            return found or WeatherRecord(stored)
    upsert(connection, tables.weather_series, [record(series)])
    return WeatherRecord(series)


def _joined(old: DayValues | None, new: DayValues) -> DayValues:
    """Return a day's values: those stored, and the new ones where there is none."""
    if old is None:
        return new
    return DayValues(
        old.day,
        new.t_min_c if old.t_min_c is None else old.t_min_c,
        new.t_max_c if old.t_max_c is None else old.t_max_c,
        new.precipitation_mm if old.precipitation_mm is None else old.precipitation_mm,
    )


def _snapshots(connection: Connection, garden_id: UUID) -> tuple[Snapshot, ...]:
    table = tables.plan_snapshot
    chosen = select(*columns(table, Snapshot)).where(table.c.garden_id == garden_id)
    ordered = chosen.order_by(table.c.day, table.c.made_at, table.c.id)
    return tuple(Snapshot(*row) for row in connection.execute(ordered))


def _add_told(connection: Connection, whole: Whole) -> None:
    identity, told = whole.garden.id, whole.told
    published.save(connection, identity, told.events)
    published.save_members(connection, identity, told.members)
    rows = [record(snapshot, garden_id=identity, data=dict(snapshot.data)) for snapshot in told.snapshots]
    upsert(connection, tables.plan_snapshot, rows)
    published.save_work(
        connection, identity, told.work, min((work.day for work in told.work), default=date.max)
    )
    told_dates.save_whole(connection, identity, told.dates)
