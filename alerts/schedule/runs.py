"""Which slot of which job has been run: what is done is not done twice, what broke off is done again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import delete, func, select, update

from calendar_core.storage.rows import columns, insert
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from sqlalchemy import Connection

KEPT = timedelta(days=40)  # how long runs are remembered; longer than any slot is made up for (estimate)
EARLY = timedelta(hours=1)  # what was run so long before its time need not be run again (estimate)

_run = tables.job_run.c


@dataclass(frozen=True, slots=True)
class JobRun:
    """A job's run for a slot; ``done_at`` is None while it has not succeeded."""

    job: str
    slot: datetime
    tries: int
    started_at: datetime
    done_at: datetime | None
    error: str


def begin(connection: Connection, job: str, slot: datetime, now: datetime) -> bool:
    """Note that a job starts for a slot; False where it is done already.

    Slots that are far to come were run by a clock that was ahead: they are forgotten, and run when they come.
    """
    connection.execute(delete(tables.job_run).where(_run.job == job, _run.slot > now + EARLY))
    first = {"job": job, "slot": slot, "tries": 1, "started_at": now, "error": ""}
    statement = insert(connection, tables.job_run).values(first)
    again = statement.on_conflict_do_update(
        index_elements=["job", "slot"],
        set_={"tries": _run.tries + 1, "started_at": now},
        where=_run.done_at.is_(None),
    )
    return connection.execute(again.returning(_run.job)).first() is not None


def end(connection: Connection, job: str, slot: datetime, now: datetime, error: str = "") -> None:
    """Note how a run ended; without an error the slot is done."""
    values = {"error": error, "done_at": None if error else now}
    connection.execute(update(tables.job_run).where(_run.job == job, _run.slot == slot).values(**values))
    connection.execute(delete(tables.job_run).where(_run.job == job, _run.slot < now - KEPT))


def last_runs(connection: Connection) -> tuple[JobRun, ...]:
    """Return each job's run for its newest slot, by name."""
    newest = select(_run.job, func.max(_run.slot).label("slot")).group_by(_run.job).subquery()
    chosen = select(*columns(tables.job_run, JobRun)).join(
        newest, (_run.job == newest.c.job) & (_run.slot == newest.c.slot)
    )
    return tuple(JobRun(*row) for row in connection.execute(chosen.order_by(_run.job)))
