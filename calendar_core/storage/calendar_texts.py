"""The bytes of each calendar as they are served and sent, kept between requests and starts of the program."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import and_, select, update

from calendar_core.storage.rows import columns, record, upsert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Mapping
    from uuid import UUID

    from sqlalchemy import ColumnElement, Connection

    from calendar_core.planning.events import CalendarOf

TAG_DIGITS = 32  # of SHA-256: 128 bits are enough that no two texts share one
_text = tables.calendar_text


@dataclass(frozen=True, slots=True)
class CalendarText:
    """A calendar's bytes; ``modified_at`` (UTC, whole seconds) never goes back, ``made_from`` marks what they rest on."""

    data: bytes
    etag: str
    modified_at: datetime
    made_from: str


def get_text(connection: Connection, garden_id: UUID, of: CalendarOf) -> CalendarText | None:
    """Return a calendar as it was made last, None where it never was."""
    chosen = select(*columns(_text, CalendarText)).where(_at(garden_id, of))
    row = connection.execute(chosen).first()
    return None if row is None else CalendarText(*row)


def tag_of(connection: Connection, garden_id: UUID, of: CalendarOf) -> str:
    """Return the tag of a calendar's bytes, "" where there are none: it is read often, and they may be long."""
    return connection.execute(select(_text.c.etag).where(_at(garden_id, of))).scalar() or ""


def made_from(connection: Connection, garden_id: UUID) -> dict[str, str]:
    """Return what each kept calendar of a garden was made from, by what it holds."""
    chosen = select(_text.c.holds, _text.c.made_from).where(_text.c.garden_id == garden_id)
    return {row[0]: row[1] for row in connection.execute(chosen)}


def put_texts(
    connection: Connection, garden_id: UUID, made: Mapping[CalendarOf, bytes], mark: str, now: datetime
) -> None:
    """Keep calendars as they are now; bytes that are the same keep their tag and when they changed."""
    for of, data in made.items():
        kept = get_text(connection, garden_id, of)
        etag = hashlib.sha256(data).hexdigest()[:TAG_DIGITS]
        if kept is not None and kept.etag == etag:
            connection.execute(update(_text).where(_at(garden_id, of)).values(made_from=mark))
            continue
        stamp = now if kept is None else max(now, kept.modified_at + timedelta(seconds=1))
        text = CalendarText(data, etag, stamp.replace(microsecond=0), mark)
        upsert(connection, _text, [record(text, garden_id=garden_id, holds=str(of))])


def _at(garden_id: UUID, of: CalendarOf) -> ColumnElement[bool]:
    return and_(_text.c.garden_id == garden_id, _text.c.holds == str(of))
