"""A real PostgreSQL server for tests: Debian's, on a socket of its own, in a folder that goes away."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import NullPool, create_engine

if TYPE_CHECKING:
    from collections.abc import Iterator

# A zone unlike UTC, so that nothing comes out right by chance.
_SERVER_OPTIONS = "-c timezone=Asia/Kathmandu -c listen_addresses='' -c fsync=off -c synchronous_commit=off -c full_page_writes=off"


def programs() -> Path | None:
    """Return the folder of the newest server's programs, None where no server is installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name))
    return found[-1] if found else None


@contextmanager
def server(programs: Path) -> Iterator[str]:
    """Run a server; give the URL without the database's name."""
    # Under /tmp whatever TMPDIR says: the path of a socket may have no more than 107 characters.
    folder = tempfile.mkdtemp(prefix="pg.", dir="/tmp")
    run, data = _as_anyone_but_root(folder), ("-D", f"{folder}/data")
    try:
        create = [f"{programs}/initdb", *data, "-U", "app", "--auth=trust", "--no-sync", "-E", "UTF8"]
        subprocess.run([*run, *create, "--locale=C.UTF-8"], check=True, stdout=subprocess.DEVNULL)
        options = f"{_SERVER_OPTIONS} -c unix_socket_directories={folder}"
        start = [f"{programs}/pg_ctl", *data, "-w", "-l", f"{folder}/log", "-o", options, "start"]
        subprocess.run([*run, *start], check=True, stdout=subprocess.DEVNULL)
        try:
            yield f"postgresql://app@/{{}}?host={folder}"
        finally:
            stop = [f"{programs}/pg_ctl", *data, "-m", "immediate", "stop"]
            subprocess.run([*run, *stop], check=True, stdout=subprocess.DEVNULL)
    finally:
        shutil.rmtree(folder)


def _as_anyone_but_root(folder: str) -> list[str]:
    """Return the words that run the server unprivileged: it refuses root."""
    if os.getuid() != 0:
        return []
    shutil.chown(folder, "nobody")
    drop = ["setpriv", "--reuid=nobody", "--regid=nogroup", "--clear-groups"]
    return [*drop, "env", "-i", f"PATH={os.environ['PATH']}", f"HOME={folder}"]


def tell(url: str, statement: str) -> None:
    """Run a statement outside of this program's own way to the database."""
    driven = url.replace("postgresql:", "postgresql+psycopg:")
    engine = create_engine(driven, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with engine.connect() as connection:
        connection.exec_driver_sql(statement)
