"""A database and its copies are their owner's alone; what is damaged or lost names the copy that brings it back."""

from __future__ import annotations

import os
import shlex
import stat
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from calendar_core.storage import copies, gardens
from calendar_core.storage.copy_folder import newest_whole, way_back
from calendar_core.storage.engine import open_store
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from calendar_core.garden.model import Garden

DAY = date(2015, 6, 25)
HEX = "26955b683e1c4f0f9d5f1f5d6a7b8c9d"  # as uuid4 gives it
PAGES = slice(4096, 4096 * 12)  # all but the first page, of 4096 bytes each: the tables


@pytest.fixture
def database(tmp_path: Path, make_garden: Callable[..., Garden]) -> Path:
    """Give a SQLite file with one garden, in a folder of its own."""
    (tmp_path / "bench").mkdir()
    file = tmp_path / "bench" / "garden.db"
    with closing(open_store(file)) as store, store.begin() as connection:
        gardens.add_garden(connection, make_garden())
    return file


def mode(file: Path) -> int:
    return stat.S_IMODE(file.stat().st_mode)


@contextmanager
def umask(bits: int) -> Iterator[None]:
    before = os.umask(bits)
    try:
        yield
    finally:
        os.umask(before)


def torn(file: Path, where: slice = PAGES) -> None:
    data = bytearray(file.read_bytes())
    data[where] = b"\xff" * len(data[where])
    file.write_bytes(data)


def names_of_gardens(file: Path) -> list[str]:
    with closing(open_store(file)) as store, store.read() as connection:
        return [garden.name for garden in gardens.list_gardens(connection)]


def modes(folder: Path) -> dict[str, int]:
    return {path.name: mode(path) for path in folder.iterdir()}


def test_a_database_is_its_owners_alone(tmp_path: Path, make_garden: Callable[..., Garden]) -> None:
    for bits in (0o000, 0o022, 0o277):
        file = tmp_path / f"{bits}" / "garden.db"
        with umask(bits), closing(open_store(file)) as store:
            with store.begin() as connection:
                gardens.add_garden(connection, make_garden())
            assert modes(file.parent) == dict.fromkeys(("garden.db", "garden.db-wal", "garden.db-shm"), 0o600)


def test_one_that_anyone_could_read_is_narrowed(database: Path) -> None:
    with closing(open_store(database)) as store, store.begin():
        for path in database.parent.iterdir():
            path.chmod(0o644)
        with closing(open_store(database)):
            assert set(modes(database.parent).values()) == {0o600}


def test_one_that_its_owner_shares_with_a_group_stays_shared(database: Path) -> None:
    database.chmod(0o660)
    open_store(database).close()
    assert mode(database) == 0o660


def test_the_folder_of_copies_is_its_owners_alone(database: Path) -> None:
    folder = database.parent / "garden copies"
    with umask(0):
        copies.copy_of_day(database, DAY, 14)
        assert (mode(folder), modes(folder)) == (0o700, {"2015-06-25.db": 0o600})
        folder.chmod(0o755)
        copies.copy_of_day(database, DAY, 14)
    assert mode(folder) == 0o700


def test_what_restoring_keeps_is_private_too(database: Path) -> None:
    copies.copy_of_day(database, DAY, 14)
    copy = newest_whole(database)
    assert copy is not None
    database.chmod(0o644)
    kept = copies.restore(copy, database, replace=True)
    assert kept is not None
    assert (mode(kept), mode(database)) == (0o600, 0o600)


def test_a_copy_that_broke_off_is_cleared_by_the_next(database: Path) -> None:
    folder = database.parent / "garden copies"
    folder.mkdir()
    gone = [folder / f".2015-06-24.db.{HEX}{ending}" for ending in ("", "-journal", "-wal")]
    stay = [
        folder / name
        for name in (f".2015-06-23.db.{HEX}", f".letter.{HEX}", ".2015-06-24.db", "2015-06-22.db")
    ]
    for path in (*gone, *stay):
        path.write_bytes(b"part")
        os.utime(path, (0, 0))
    os.utime(stay[0])  # it is being written now
    copies.copy_of_day(database, DAY, 14)
    assert set(folder.iterdir()) == {*stay, folder / "2015-06-25.db"}


def test_a_damaged_database_names_its_newest_whole_copy_and_the_command(
    database: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day in (23, 24, 25):
        copies.copy_of_day(database, date(2015, 6, day), 14)
    folder = database.parent / "garden copies"
    torn(folder / "2015-06-25.db")
    whole = database.read_bytes()
    for how, said in (
        (slice(0, 16), "file is not a database"),
        (PAGES, "database disk image is malformed"),
    ):
        torn(database, how)
        with pytest.raises(StoreError) as error:
            names_of_gardens(database)
        command = f"leafclock restore '{folder / '2015-06-24.db'}' --db {database} --replace"
        assert str(error.value) == f"{database}: {said}: its newest whole copy comes back with: {command}"
        _, _, copy, _, where, _ = shlex.split(command)
        copies.restore(Path(copy), Path(where), replace=True)
        assert names_of_gardens(database) == ["Court"]
        database.write_bytes(whole)


def test_a_damaged_database_without_copies_says_so(database: Path) -> None:
    torn(database)
    with pytest.raises(
        StoreError,
        match=r"malformed: no whole copy lies beside it; look for one made with 'leafclock backup'",
    ):
        names_of_gardens(database)


def test_a_damaged_database_does_not_take_the_place_of_its_copies(database: Path) -> None:
    copies.copy_of_day(database, DAY, 1)
    before = newest_whole(database)
    torn(database)
    with pytest.raises(StoreError, match=r"leafclock restore .*2015-06-25\.db"):
        copies.copy_of_day(database, date(2015, 6, 26), 1)
    assert newest_whole(database) == before


def test_a_lost_database_has_a_way_back_where_there_is_a_copy(database: Path) -> None:
    assert way_back(database) == ""
    copies.copy_of_day(database, DAY, 14)
    database.unlink()
    copy = database.parent / "garden copies" / "2015-06-25.db"
    assert (
        way_back(database)
        == f"its newest whole copy comes back with: leafclock restore '{copy}' --db {database}"
    )
