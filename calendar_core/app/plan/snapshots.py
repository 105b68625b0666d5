"""What a published plan was made from, kept so that a date can be explained later."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any

from calendar_core.app.shell.json_text import as_json
from calendar_core.app.shell.version import program_version
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.storage.services import latest_snapshot, put_snapshot

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from sqlalchemy import Connection

    from calendar_core.app.shell.session import Session


def keep_snapshot(session: Session, connection: Connection, more: Mapping[str, Any]) -> None:
    """Store what today's plan was made from: weather, forecast, knowledge, program; and ``more`` of what was told."""
    data = {
        "weather": as_json(session.weather.sky.traces.known),
        "level": as_json(session.weather.level),
        "credit": session.weather.credit,
        "knowledge": knowledge_mark(),
        "program": program_version(),
        "entries": len(session.entries),
        **more,
    }
    put_snapshot(connection, session.garden.id, session.today, session.clock.now, data)


def snapshot_of(session: Session, day: date) -> tuple[date, dict[str, Any]] | None:
    """Return the newest snapshot up to a day, with the day it is of."""
    with session.store.read() as connection:
        return latest_snapshot(connection, session.garden.id, day)


def knowledge_mark() -> str:
    """Return a short mark of all files in config/: another one means other knowledge."""
    digest = hashlib.sha256()
    for path in sorted(folder("config").rglob("*.toml")):
        digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()[:12]
