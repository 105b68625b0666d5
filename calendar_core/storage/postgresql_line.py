"""The line to a PostgreSQL server: one that falls silent is given up, so that nothing waits for it for ever."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING, Any

import psycopg
from sqlalchemy import event

from calendar_core.storage.errors import SILENT

if TYPE_CHECKING:
    from collections.abc import Generator

    from sqlalchemy import Engine

LIMITS = {
    "connect_timeout": 10,  # s (estimate; libpq's own is none)
    "keepalives_idle": 30,  # s, then three probes 10 s apart (estimate; Linux begins after two hours)
    "keepalives_interval": 10,
    "keepalives_count": 3,
    "tcp_user_timeout": 30_000,  # ms for which what was sent may go unacknowledged (estimate; Linux: a quarter of an hour)
}
"""Parameters of libpq, where the URL does not give its own. They end a line that is cut, not one that is kept open."""
STATEMENT_S = 50
"""After so long the server ends a statement, and frees what it holds (estimate: the longest, which reads forty years of
days, takes a second)."""
SILENCE_S = 60
"""For so long nothing may come of an answer: the server's own word comes first (estimate)."""


class PatientConnection(psycopg.Connection[Any]):
    """A connection that waits for an answer only as long as it may be silent; ``patience_s`` is None for ever."""

    patience_s: float | None

    def wait(self, gen: Generator[Any, Any, Any], *args: Any, **more: Any) -> Any:
        """Wait as psycopg does; a server that says nothing raises OperationalError, and the line is closed."""
        patience_s = getattr(self, "patience_s", SILENCE_S)
        if patience_s is None:
            return super().wait(gen, *args, **more)
        try:
            return super().wait(_answered(gen, patience_s), *args, **more)
        except _SilentServerError:
            self.pgconn.finish()  # what it was asked may still be under way: nothing else may be asked over it
            raise


class _SilentServerError(psycopg.OperationalError):
    pass


def _answered(gen: Generator[Any, Any, Any], patience_s: float) -> Generator[Any, Any, Any]:
    """Hand on what a generator of psycopg waits for; each time something comes its patience begins anew."""
    until = monotonic() + patience_s
    try:
        wanted = next(gen)
        while True:
            ready = yield wanted  # nothing, at psycopg's intervals, while nothing comes
            if ready:
                until = monotonic() + patience_s
            elif monotonic() > until:
                raise _SilentServerError(SILENT)
            wanted = gen.send(ready)
    except StopIteration as end:
        return end.value


def watch_line(engine: Engine) -> None:
    """Let an engine's connections be patient ones, with the limits of this module."""
    event.listen(engine, "do_connect", _connected)
    event.listen(engine, "connect", _limited)


def _connected(_dialect: Any, _record: object, words: Any, more: dict[str, Any]) -> PatientConnection:
    return PatientConnection.connect(*words, **{**LIMITS, **more})


def _limited(connection: PatientConnection, _record: object) -> None:
    connection.execute(f"SET statement_timeout = {STATEMENT_S * 1000}".encode())
    connection.commit()
