"""Writing looks first: no file is taken that holds something else, and a refusal leaves everything as it was."""

from __future__ import annotations

import os
import shlex
import shutil
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from calendar_core.storage.copies import copy_of_day
from tests.app.conftest import DAY, Answer, run
from tests.app.test_bad_input import assert_refused, rows

if TYPE_CHECKING:
    from tests.app.conftest import Program

LETTER = b"Dear Ines,\nthe maples are well.\n"  # invented
ON = ("--today", DAY)
WRITERS = [
    (("calendar", *ON), "bench.ics", "a calendar"),
    (("stages", *ON, "--chart"), "season.svg", "a drawing"),
    (("stages", *ON, "--desk", "--chart"), "desk.png", "a picture"),
    (("review", "sheet", *ON, "--weeks", "26"), "round.html", "a page"),
    (("review", "summary", *ON, "--html"), "year.html", "a page"),
    (("backup", "--replace"), "copy.sqlite", "a database"),
]
"""Commands up to the file they are given, a file, and what they make of it."""


def written(*words: str) -> bytes:
    """Return what a command wrote to the file that is its last word."""
    made = run(*words)
    assert (made.status, made.err) == (0, "")
    return Path(words[-1]).read_bytes()


def there() -> set[str]:
    return {path.name for path in Path().iterdir() if not path.name.startswith("garden.db-")}


@pytest.mark.slow
@pytest.mark.parametrize(("words", "file", "kind"), WRITERS)
def test_a_file_of_ones_own_is_replaced_and_no_other(
    garden: Program, words: tuple[str, ...], file: str, kind: str
) -> None:
    own = written(*words, file)
    assert written(*words, file)[:8] == own[:8]
    Path(file).write_bytes(b"")
    assert written(*words, file)[:8] == own[:8]
    Path(file).write_bytes(LETTER)
    before = rows()
    told = f"{file}: holds something else than {kind}; right would be a file that is not there yet"
    assert_refused(run(*words, file), told)
    assert Path(file).read_bytes() == LETTER
    assert rows() == before
    assert there() == {"garden.db", file}


@pytest.mark.parametrize(("words", "file", "kind"), [each for each in WRITERS if each[0][0] != "backup"])
def test_no_database_is_ever_taken(garden: Program, words: tuple[str, ...], file: str, kind: str) -> None:
    before = rows()
    for name in ("garden.db", "garden.db-wal", "garden.db-shm", "other.SQLITE3"):
        answer = run(*words, name)
        assert (answer.status, answer.out, len(answer.err.splitlines())) == (2, "", 1)
        assert answer.err.startswith(f"leafclock: {name}: ")
    shutil.copy("garden.db", file)  # by its content, whatever its name
    assert_refused(
        run(*words, file),
        f"{file}: holds a database, not {kind}; right would be a file that is not there yet",
    )
    Path(file).unlink()
    Path(file).symlink_to("garden.db")
    assert run(*words, file).status == 2
    assert rows() == before
    assert rows(file) == before
    assert there() == {"garden.db", file}


def test_the_name_of_another_kind_is_refused_before_anything_is_there(garden: Program) -> None:
    for words, name, told in (
        (("calendar", *ON), "maple.svg", "is the name of a drawing; right for a calendar would be one ending in .ics"),
        (("backup",), "bench.ics", "is the name of a calendar; right for a database would be one ending in .db"),
        (("review", "summary", *ON, "--html"), "year.db", "is the name of a database; right for a page would be one ending in .html"),
    ):  # fmt: skip
        assert_refused(run(*words, name), f"{name}: {told}")
    assert there() == {"garden.db"}


def test_what_is_no_file_is_not_replaced(garden: Program) -> None:
    os.mkfifo("pipe.ics")
    Path("shelf.ics").mkdir()
    assert_refused(
        run("calendar", "pipe.ics", *ON),
        "pipe.ics: is no file that could be replaced; right would be one that is not there yet",
    )
    assert_refused(run("calendar", "shelf.ics", *ON), "shelf.ics: is a folder; right would be a file in it")
    assert Path("pipe.ics").is_fifo()


@pytest.mark.parametrize(("words", "file"), [each[:2] for each in WRITERS[:3]])
def test_a_link_stays_and_what_it_leads_to_is_written(
    garden: Program, words: tuple[str, ...], file: str
) -> None:
    """The phone subscribes to the folder that the link leads to: a file in the link's place reaches nobody."""
    Path("public").mkdir()
    target, link = Path("public") / file, Path(file)
    link.symlink_to(target)
    written(*words, file)
    assert link.is_symlink()
    first = target.read_bytes()
    target.write_bytes(first[:20])
    written(*words, file)
    assert link.is_symlink()
    assert target.read_bytes()[:20] == first[:20] != target.read_bytes()
    target.write_bytes(LETTER)
    assert run(*words, file).status == 2
    assert target.read_bytes() == LETTER
    assert [each.name for each in Path("public").iterdir()] == [file]


def test_a_link_to_the_name_of_another_kind_is_refused(garden: Program) -> None:
    Path("bench.ics").symlink_to("lost.db")
    place = Path("lost.db").resolve()
    assert_refused(
        run("calendar", "bench.ics", *ON),
        f"{place}: is the name of a database; right for a calendar would be one ending in .ics",
    )
    assert not place.exists()


@pytest.fixture
def own_garden_in(founded: Path, folder: Path) -> Path:
    """Give a folder in which someone's own garden lies under the name that the demo's has."""
    (folder / "mine").mkdir()
    shutil.copy(founded, folder / "mine" / "garden.db")
    return folder / "mine"


def test_the_demo_takes_the_place_of_no_garden(own_garden_in: Path) -> None:
    database = own_garden_in / "garden.db"
    before = rows(str(database))
    told = f"{database}: holds 'My garden', not the demo's garden; right would be another folder"
    assert_refused(run("demo", "--out", str(own_garden_in)), told)
    assert rows(str(database)) == before


def test_the_demo_looks_at_every_file_before_it_writes_one(folder: Path) -> None:
    (folder / "out").mkdir()
    (folder / "out" / "review.html").write_bytes(LETTER)
    answer: Answer = run("demo", "--out", "out")
    assert_refused(
        answer,
        "out/review.html: holds something else than a page; right would be a file that is not there yet",
    )
    assert [path.name for path in (folder / "out").iterdir()] == ["review.html"]


def test_a_folder_with_tables_of_ones_own_is_not_exported_to(garden: Program) -> None:
    Path("tables").mkdir()
    Path("tables/log.csv").write_bytes(LETTER)
    here = Path.cwd() / "tables"
    assert_refused(
        run("export", "tables"),
        f"{here}: holds other files, such as log.csv; right would be an empty or a new folder",
    )
    assert Path("tables/log.csv").read_bytes() == LETTER


def test_a_lost_database_is_said_to_be_gone_with_the_command_that_brings_it_back(garden: Program) -> None:
    copy_of_day(Path("garden.db"), date.fromisoformat(DAY), 14)
    before = rows()
    for file in Path().glob("garden.db*"):
        file.unlink()
    command = "leafclock restore 'garden copies/2015-06-24.db' --db garden.db"
    told = f"garden.db: this database is gone; its newest whole copy comes back with: {command}"
    for words in (("due",), ("watch",), ()):
        assert_refused(run(*words), told)
    assert run(*shlex.split(command)[1:]).status == 0
    assert rows() == before
