"""What breaks a machine, counted: processes that write at once, upgrades that are killed, copies made under writing.

Run by hand: ``python -m tests.benchmarks.machine_faults`` (about three minutes on SQLite; the goals are all "none").
Entries lost: four processes write a hundred each into the log of one garden. Upgrades killed: a database of the schema
before is opened by a process that is killed (SIGKILL) after some of the time an upgrade takes; opened again it must hold
what it held. Copies: while a process writes entries in pairs, copies are made; each must be whole and hold no half of a pair.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing, redirect_stdout, suppress
from dataclasses import replace
from datetime import UTC, date, datetime
from io import StringIO
from pathlib import Path
from uuid import uuid4

from calendar_core.app.main import main
from calendar_core.garden.model import Entry
from calendar_core.storage import gardens, log
from calendar_core.storage.copies import back_up
from calendar_core.storage.engine import open_store
from calendar_core.storage.schema import migrate
from calendar_core.storage.schema.version import HEAD

WRITERS, EACH = 4, 100
KILLS, COPIES = 40, 80
BEFORE = f"{int(HEAD) - 1:04d}"


def found(folder: Path) -> Path:
    """Found a garden of three trees."""
    database = folder / "garden.db"
    sys.argv = [
        "leafclock",
        "start",
        "--place",
        "Seattle",
        "--trees",
        "3 larch",
        "--offline",
        "--db",
        str(database),
    ]
    with suppress(SystemExit), redirect_stdout(StringIO()):
        main()
    return database


def entries_in(database: Path) -> int:
    with closing(open_store(database)) as store, store.read() as connection:
        return len(log.entries(connection, gardens.get_garden(connection).id))


def write(database: str, number: str) -> None:
    """Write entries two by two, as a process of its own."""
    with closing(open_store(database)) as store:
        with store.read() as connection:
            garden = gardens.get_garden(connection)
            trees = tuple(tree.id for tree in gardens.list_trees(connection, garden.id))
        blank = Entry(
            uuid4(),
            garden.id,
            trees,
            date(2015, 6, 24),
            datetime(2015, 6, 24, 12, tzinfo=UTC),
            "Ines",
            "work",
            {"operation": "wire"},
        )
        for _ in range(int(number) // 2):
            with store.begin() as connection:
                log.append(connection, [replace(blank, id=uuid4()), replace(blank, id=uuid4())])


def process(*words: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, "-m", "tests.benchmarks.machine_faults", *words])


def lost_entries(database: Path) -> int:
    before = entries_in(database)
    writers = [process("write", str(database), str(EACH)) for _ in range(WRITERS)]
    for writer in writers:
        writer.wait()
    return before + WRITERS * EACH - entries_in(database)


def harmed_upgrades(database: Path, folder: Path, chance: random.Random) -> tuple[int, int]:
    """Return how many kills came before the end of the upgrade, and how many databases were harmed."""
    held, old = entries_in(database), folder / "old.db"
    back_up(database, old)
    with closing(open_store(old)) as store:
        migrate.downgrade(store.engine, BEFORE)
    tried = folder / "tried.db"
    shutil.copy(old, tried)
    began = time.monotonic()
    process("open", str(tried)).wait()
    lasts_s = time.monotonic() - began
    early = harmed = 0
    for _ in range(KILLS):
        for name in (tried, Path(f"{tried}-wal"), Path(f"{tried}-shm")):
            name.unlink(missing_ok=True)
        shutil.copy(old, tried)
        upgrade = process("open", str(tried))
        time.sleep(lasts_s * (0.4 + 0.6 * chance.random()))  # before that Python is loading
        early += upgrade.poll() is None
        upgrade.kill()
        upgrade.wait()
        with closing(sqlite3.connect(tried)) as connection:
            whole = connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        harmed += not whole or entries_in(tried) != held
    return early, harmed


def broken_copies(database: Path, folder: Path) -> int:
    writer = process("write", str(database), str(40 * EACH))
    broken = 0
    for number in range(COPIES):
        copy = folder / f"copy {number}.db"
        back_up(database, copy)
        with closing(sqlite3.connect(copy)) as connection:
            whole = connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            (pairs,) = connection.execute("SELECT count(*) FROM entry WHERE kind = 'work'").fetchone()
        broken += not whole or pairs % 2 == 1
        copy.unlink()
    writer.kill()
    writer.wait()
    return broken


def report() -> None:
    """Break things and print what came of it."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        database = found(folder)
        print(f"entries of {WRITERS} processes at once: {WRITERS * EACH}, lost {lost_entries(database)}")
        early, harmed = harmed_upgrades(database, folder, random.Random(0))  # noqa: S311 - moments to kill at
        print(f"upgrades killed: {KILLS}, of them {early} under way, harmed {harmed}")
        print(f"copies under writing: {COPIES}, broken {broken_copies(database, folder)}")


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["write", where, number]:
            write(where, number)
        case ["open", where]:
            open_store(where).close()
        case _:
            report()
