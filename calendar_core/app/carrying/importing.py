"""An exported folder read back: every fault of every file is told at once, and then nothing is stored."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel, ValidationError

from calendar_core.app.carrying.exporting import CALENDAR, GARDEN, LOG, REJECTED, TREES, WEATHER
from calendar_core.app.carrying.forms import (
    DAY_COLUMNS,
    ENTRY_COLUMNS,
    REJECTED_COLUMNS,
    TREE_COLUMNS,
    CalendarForm,
    DayForm,
    Described,
    EntryForm,
    RejectedForm,
    TreeForm,
)
from calendar_core.app.carrying.log_checks import faults_of_entry
from calendar_core.app.carrying.tables import TableError, rows_of
from calendar_core.app.carrying.told_dates import dates_of, faults_of_dates
from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.days import ahead
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import fault_lines, in_file
from calendar_core.app.shell.reading import bytes_of, decoded, json_of
from calendar_core.app.shell.session import knowledge
from calendar_core.garden.model import Entry, Garden, Spot, Tree
from calendar_core.knowledge.profiles.names import UnknownSpeciesError, every_name, find_species, plain
from calendar_core.planning.events import PublishedEvent, ToldWork
from calendar_core.storage.gardens import Person
from calendar_core.storage.names import key_of
from calendar_core.storage.services import RejectedValue
from calendar_core.storage.weather import WeatherSeries
from calendar_core.storage.whole import DayValues, Snapshot, ToldRows, WeatherRecord, Whole

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable, Sequence
    from datetime import date

    Shape = TypeVar("Shape", bound=BaseModel)
    Rows = list[tuple[int, Any]]  # line and form


def read_folder(folder: Path) -> Whole:
    """Return the garden of an exported folder, or refuse it with one line for each fault."""
    reader = _Reader(folder.expanduser())
    reader.look_first()
    whole = reader.whole()
    if whole is None or reader.faults:
        raise Refusal(*dict.fromkeys(reader.faults))
    return whole


class _Reader:
    """Reads the files of a folder, gathering faults."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.faults: list[str] = []

    def look_first(self) -> None:
        """Refuse what is no exported folder at all in one line, not in one for each file that it lacks."""
        right = "right would be a folder made with: leafclock export"
        if not self.folder.is_dir():
            found = "is no folder" if self.folder.exists() else "there is no such folder"
            raise Refusal(f"{self.folder}: {found}; {right}")
        if not any((self.folder / name).exists() for name in (GARDEN, TREES, LOG)):
            raise Refusal(f"{self.folder}: holds no garden; {right}")

    def whole(self) -> Whole | None:
        described = self._json(GARDEN, Described)
        trees = self._rows(TREES, TREE_COLUMNS, TreeForm)
        entries = self._rows(LOG, ENTRY_COLUMNS, EntryForm)
        days = self._rows(WEATHER, DAY_COLUMNS, DayForm)
        rejected = self._rows(REJECTED, REJECTED_COLUMNS, RejectedForm)
        calendar = self._json(CALENDAR, CalendarForm) if (self.folder / CALENDAR).exists() else CalendarForm()
        if described is None or calendar is None or self.faults:
            return None  # what hangs together can be told only of files that can be read
        made = _made(described, trees, entries, calendar)
        made = replace(
            made,
            own=self._record("own", described, days, rejected),
            service=self._record("service", described, days, rejected),
        )
        self._check_days(clock(made.garden.zone).today, days)
        self._check_names(made, trees)
        self._check_log(made, entries)
        return made

    def _text(self, name: str) -> str | None:
        path, right = self.folder / name, "a folder made with: leafclock export"
        try:
            return decoded(bytes_of(path, right, self.folder), path, right, lines=False)
        except Refusal as refusal:
            self.faults += refusal.lines
        return None

    def _json(self, name: str, form: type[Shape]) -> Shape | None:
        text, path = self._text(name), self.folder / name
        if text is None:
            return None
        try:
            return form.model_validate(json_of(text))
        except ValidationError as error:
            self.faults += fault_lines(error, form, in_file(path))
        except ValueError as error:
            self.faults.append(f"{path}: is not JSON ({error})")
        return None

    def _rows(self, name: str, columns: Sequence[str], form: type[BaseModel]) -> Rows:
        text, path, rows = self._text(name), self.folder / name, []
        try:
            for line, cells in rows_of(text, columns) if text is not None else ():
                try:
                    rows.append((line, form.model_validate(_filled(cells, form))))
                except ValidationError as error:
                    self.faults += fault_lines(error, form, in_file(path, line))
        except TableError as error:
            self.faults.append(f"{path} {error}")
        return rows

    def _record(self, role: str, described: Described, days: Rows, rejected: Rows) -> WeatherRecord | None:
        series = getattr(described.weather, role)
        here = [(line, row) for line, row in days if row.of == role]
        odd = [(line, row) for line, row in rejected if row.of == role]
        if series is None:
            for name, rows in ((WEATHER, here), (REJECTED, odd)):
                for line, _ in rows[:1]:
                    self._fault(name, line, f"of: found '{role}'; right would be a series of {GARDEN}")
            return None
        self._once(WEATHER, "day", ((line, row.day) for line, row in here))
        made = WeatherSeries(**dict(series))
        return WeatherRecord(
            made,
            tuple(DayValues(**_without_role(row)) for _, row in here),
            tuple(RejectedValue(made.id, **_without_role(row)) for _, row in odd),
        )

    def _check_days(self, today: date, days: Rows) -> None:
        for line, row in days:
            if row.day > today:
                self._fault(WEATHER, line, f"day: {ahead(row.day, today)}")

    def _check_names(self, made: Whole, trees: Rows) -> None:
        self._once(TREES, "id", ((line, row.id) for line, row in trees))
        self._once(TREES, "label", ((line, row.label) for line, row in trees), key_of)
        profiles = knowledge().profiles
        names = every_name(profiles)
        for line, row in trees:
            if row.species not in profiles:
                self._fault(TREES, line, _other_species(row.species))
            if plain(row.label) in names:
                right = f"right would be another name, such as {row.label} 1"
                self._fault(TREES, line, f"label: found '{row.label}', the name of a species; {right}")
        for key, things in (("people", made.people), ("spots", made.spots)):
            self._once(GARDEN, f"{key}: id", ((None, thing.id) for thing in things))
            self._once(GARDEN, f"{key}: name", ((None, thing.name) for thing in things), key_of)

    def _check_log(self, made: Whole, rows: Rows) -> None:
        self._once(LOG, "id", ((line, row.id) for line, row in rows))
        trees, spots = {tree.id for tree in made.trees}, {spot.id for spot in made.spots}
        for member in made.told.members:
            if member[2] not in trees:
                self._fault(CALENDAR, None, f"members: tree_id: no tree {member[2]} in {TREES}")
        for fault in faults_of_dates(made.told.dates, trees, knowledge().operations):
            self._fault(CALENDAR, None, fault)
        now = clock(made.garden.zone)
        for (line, _), entry in zip(rows, made.entries, strict=True):
            for stranger in sorted(set(entry.tree_ids) - trees):
                self._fault(LOG, line, f"tree_ids: no tree {stranger}; right would be ids of {TREES}")
            for fault in faults_of_entry(entry, spots, knowledge(), now):
                self._fault(LOG, line, fault)

    def _once(
        self,
        name: str,
        key: str,
        values: Iterable[tuple[int | None, Any]],
        same: Callable[[Any], Hashable] = lambda value: value,
    ) -> None:
        seen: Counter[Hashable] = Counter()
        for line, value in values:
            seen[same(value)] += 1
            if seen[same(value)] > 1:
                self._fault(name, line, f"{key}: found '{value}' again; right would be each once")

    def _fault(self, name: str, line: int | None, what: str) -> None:
        self.faults.append(in_file(self.folder / name, line)(what))


def _filled(cells: dict[str, str], form: type[BaseModel]) -> dict[str, str]:
    """Return cells as keys of a form: an empty one is left out where there is a default."""
    known = form.model_fields
    labels = {"trees"} - set(known)
    return {
        name: cell
        for name, cell in cells.items()
        if name not in labels and (cell or known[name].is_required())
    }


def _without_role(row: Any) -> dict[str, Any]:
    return {name: value for name, value in dict(row).items() if name != "of"}


def _made(described: Described, trees: Rows, entries: Rows, calendar: CalendarForm) -> Whole:
    garden = Garden(**dict(described.garden))
    members = {(member.group, member.cycle, member.tree_id): member.event_uid for member in calendar.members}
    garden = replace(
        garden,
        weather_series=getattr(described.weather.own, "id", None),
        service_series=getattr(described.weather.service, "id", None),
    )
    return Whole(
        garden,
        tuple(Person(garden_id=garden.id, **dict(person)) for person in described.people),
        tuple(Spot(garden_id=garden.id, **dict(spot)) for spot in described.spots),
        tuple(Tree(garden_id=garden.id, **dict(row)) for _, row in trees),
        tuple(Entry(garden_id=garden.id, **dict(row)) for _, row in entries),
        told=ToldRows(
            tuple(PublishedEvent(**dict(event)) for event in calendar.events),
            members,
            tuple(Snapshot(**dict(snapshot)) for snapshot in calendar.snapshots),
            tuple(ToldWork(**dict(work)) for work in calendar.work),
            dates_of(calendar.dates),
        ),
    )


def _other_species(key: str) -> str:
    try:
        return f"species: found '{key}'; right would be {find_species(key, knowledge().profiles)}"
    except UnknownSpeciesError as error:
        return str(error)
