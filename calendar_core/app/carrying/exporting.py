"""A garden as a folder of JSON and CSV: everything exactly, or what may be given away, with its place rounded."""

from __future__ import annotations

import json
import re
import shutil
import stat
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4, uuid5

from calendar_core.app.carrying.forms import (
    DAY_COLUMNS,
    ENTRY_COLUMNS,
    FORMAT,
    REJECTED_COLUMNS,
    TREE_COLUMNS,
    BasisForm,
    DateMoveForm,
    EventForm,
    GardenForm,
    PersonForm,
    SeriesForm,
    SnapshotForm,
    SpotForm,
    ToldDateForm,
    WorkForm,
)
from calendar_core.app.carrying.tables import table
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import unwritable
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.shell.reading import json_of, text_of
from calendar_core.app.shell.version import program_version
from calendar_core.storage.whole import ToldRows, WeatherRecord, Whole

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from pydantic import BaseModel

    from calendar_core.app.carrying.tables import Cell

GARDEN, TREES, LOG, WEATHER, REJECTED, CALENDAR = (
    "garden.json", "trees.csv", "log.csv", "weather.csv", "rejected.csv", "calendar.json",
)  # fmt: skip
FILES = (GARDEN, TREES, LOG, WEATHER, REJECTED, CALENDAR)
PRIVATE = 0o700  # of a folder that is made
DIGITS = 1  # decimals of a degree: some ten kilometres


def rounded(whole: Whole) -> Whole:
    """Return what may be given away: no place nearer than 0.1 degree, and nothing from which one follows.

    Ids of series are made from coordinates, so they get others; service days and what the calendar told carry
    the place in their texts, and are left out.
    """
    garden = replace(
        whole.garden,
        latitude=round(whole.garden.latitude, DIGITS),
        longitude=round(whole.garden.longitude, DIGITS),
        place=_coarse(whole.garden.place),
        service_series=None,
    )
    own = None if whole.own is None else _coarse_record(garden.id, whole.own)
    garden = replace(garden, weather_series=None if own is None else own.series.id)
    return replace(whole, garden=garden, own=own, service=None, told=ToldRows())


def _coarse_record(garden_id: UUID, record: WeatherRecord) -> WeatherRecord:
    place = _coarse(record.series.place)
    identity = uuid5(garden_id, f"{record.series.source} {record.series.kind} {place}")
    series = replace(
        record.series,
        id=identity,
        station=f"{place} {identity}",
        place=place,
        latitude=round(record.series.latitude, DIGITS),
        longitude=round(record.series.longitude, DIGITS),
    )
    return replace(record, series=series)


def _coarse(text: str) -> str:
    """Return a place's name with no number finer than 0.1: some are called by their coordinates.

    >>> _coarse("47.6062 N 122.3321 W")
    '47.6 N 122.3 W'
    """
    return re.sub(r"\d+\.\d{2,}", lambda number: f"{float(number[0]):.{DIGITS}f}", text)


def files_of(whole: Whole, *, exact: bool) -> dict[str, bytes]:
    """Return the files of an exported folder by name."""
    labels = {tree.id: tree.label for tree in whole.trees}
    by_role = {"own": whole.own, "service": whole.service}
    records = {role: record for role, record in by_role.items() if record is not None}
    described = {
        "format": FORMAT,
        "program": program_version(),
        "exact": exact,
        "garden": _fitting(whole.garden, GardenForm),
        "people": [_fitting(person, PersonForm) for person in whole.people],
        "spots": [_fitting(spot, SpotForm) for spot in whole.spots],
        "weather": {role: _fitting(record.series, SeriesForm) for role, record in records.items()},
    }
    days = ((day, {"of": role}) for role, record in records.items() for day in record.days)
    rejected = ((each, {"of": role}) for role, record in records.items() for each in record.rejected)
    entries = (
        (each, {"trees": ", ".join(labels.get(tree, "?") for tree in each.tree_ids)})
        for each in whole.entries
    )
    files = {
        GARDEN: _lines(described),
        TREES: _sheet(TREE_COLUMNS, ((tree, {}) for tree in whole.trees)),
        LOG: _sheet(ENTRY_COLUMNS, entries),
        WEATHER: _sheet(DAY_COLUMNS, days),
        REJECTED: _sheet(REJECTED_COLUMNS, rejected),
    }
    return {**files, CALENDAR: _lines(_calendar(whole.told))} if exact else files


def _calendar(told: ToldRows) -> dict[str, Any]:
    members = [
        {"group": group, "cycle": cycle, "tree_id": str(tree), "event_uid": str(uid)}
        for (group, cycle, tree), uid in sorted(told.members.items())
    ]
    return {
        "events": [_fitting(event, EventForm) for event in told.events],
        "members": members,
        "snapshots": [_fitting(snapshot, SnapshotForm) for snapshot in told.snapshots],
        "work": [_fitting(work, WorkForm) for work in told.work],
        "dates": {
            "bases": [_fitting(basis, BasisForm) for basis in told.dates.bases],
            "dates": [_fitting(day, ToldDateForm) for day in told.dates.dates],
            "moves": [_fitting(move, DateMoveForm) for move in told.dates.moves],
        },
    }


def _fitting(thing: Any, form: type[BaseModel]) -> dict[str, Any]:
    """Return the fields of a value that its form knows, as plain JSON."""
    return {name: as_json(getattr(thing, name)) for name in form.model_fields}


def _lines(data: object) -> bytes:
    return f"{_json(data, indent=1)}\n".encode()


def _json(data: object, indent: int | None = None) -> str:
    """Return JSON in readable signs; half a pair of UTF-16, which UTF-8 cannot write, as its escape."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, indent=indent)
    return text.encode("utf-8", "backslashreplace").decode()


def _sheet(columns: Sequence[str], things: Iterable[tuple[Any, Mapping[str, str]]]) -> bytes:
    """Return a table; the mark at its beginning tells spreadsheets that it is UTF-8."""
    rows = (
        [more[name] if name in more else _cell(getattr(thing, name)) for name in columns]
        for thing, more in things
    )
    return table(columns, rows).encode("utf-8-sig")


def _cell(value: object) -> Cell:
    if value is None or isinstance(value, str | int | float):
        return value
    if isinstance(value, Mapping):
        return _json(dict(value))
    if isinstance(value, tuple):
        return " ".join(map(str, value))
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    return str(value)


def places_named(whole: Whole, files: Mapping[str, bytes]) -> list[str]:
    """Return the files whose texts, such as notes, still name the exact coordinates of ``whole``."""
    found = []
    for name in (GARDEN, TREES, LOG):
        text = files[name].decode()
        if all(
            any(re.search(rf"(?<![\d.:]){re.escape(part)}", text) for part in _parts(value))
            for value in (whole.garden.latitude, whole.garden.longitude)
        ):
            found.append(name)
    return found


def _parts(degrees: float) -> set[str]:
    """Return the ways in which coordinates begin that are finer than they are given away."""
    size, more = abs(degrees), DIGITS + 1
    cut = re.match(rf"\d+\.\d{{1,{more}}}", f"{size:.8f}")
    return {f"{size:.{more}f}", cut[0] if cut else f"{size:.{more}f}"}


def write_folder(folder: Path, files: Mapping[str, bytes], garden_id: UUID, *, private: bool) -> None:
    """Write an export to its folder in one step, in place of an earlier one of the same garden.

    Raises
    ------
    Refusal
        When the folder holds anything else, or cannot be written; it is then as it was.
    """
    folder = folder.expanduser().resolve()
    _refuse_others(folder, garden_id)
    part = folder.parent / f".{folder.name}.{uuid4().hex}"
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        part.mkdir(mode=PRIVATE)
        for name, data in files.items():
            (part / name).write_bytes(data)
        if folder.exists() and not private:
            part.chmod(stat.S_IMODE(folder.stat().st_mode))  # as its owner opened it, to give it away
        _put(part, folder)
    except OSError as error:
        raise unwritable(folder, error, "a folder where you may write") from None
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _put(part: Path, folder: Path) -> None:
    """Move a folder to its place; the one before goes when the new one is there."""
    if not folder.exists():
        part.rename(folder)
        return
    old = part.with_name(part.name + ".old")
    folder.rename(old)
    try:
        part.rename(folder)
    except OSError:
        old.rename(folder)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _refuse_others(folder: Path, garden_id: UUID) -> None:
    """Refuse a folder that holds anything but an earlier export of this garden."""
    if not folder.exists():
        return
    if folder == Path.cwd():
        raise Refusal(f"{folder}: this is where you stand; right would be a folder in it")
    if not folder.is_dir():
        raise Refusal(f"{folder}: this is a file; right would be a folder")
    holds = set(_names(folder))
    others = sorted(holds - set(FILES) if GARDEN in holds else holds)
    if others:
        raise Refusal(
            f"{folder}: holds other files, such as {others[0]}; right would be an empty or a new folder"
        )
    if (folder / GARDEN).exists() and _garden_in(folder) != str(garden_id):
        raise Refusal(f"{folder}: holds another garden; right would be an empty or a new folder")


def _names(folder: Path) -> Iterator[str]:
    try:
        for path in folder.iterdir():
            yield path.name
    except OSError as error:
        raise Refusal(f"{folder}: cannot be read ({error.strerror}); right would be another folder") from None


def _garden_in(folder: Path) -> str:
    with suppress(Refusal, ValueError, TypeError, KeyError):
        return str(json_of(text_of(folder / GARDEN, "an exported garden", folder))["garden"]["id"])
    return ""
