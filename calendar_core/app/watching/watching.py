"""What watches a database until it is stopped: the same jobs for the command and beside the pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from alerts.schedule.watch import Watch
from calendar_core.app.calendar.jobs import CalendarJobs
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.app.warnings.mailing import carrier, heartbeat
from calendar_core.storage.copies import sqlite_file
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from calendar_core.storage.engine import Store


def file_of(database: str) -> Path | None:
    """Return the file of a database, None of one that a server keeps."""
    try:
        return sqlite_file(database, "pg_dump")
    except StoreError:
        return None


def watch_of(store: Store, file: Path | None, say: Callable[[str], None]) -> Watch:
    """Return what does all jobs of a database, and copies its ``file``.

    Raises
    ------
    Refusal
        At once, for what could not be used later: a monitor or a mail server that cannot be called.
    """
    heartbeat()
    jobs = CalendarJobs(Jobs(store, carrier(utc_now, store), utc_now, say, file))
    return Watch(store, jobs.lines(), utc_now, say)
