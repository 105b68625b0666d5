"""Publishing plans for seconds: meanwhile others write, and what they told subscribers is gone on from."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

import pytest

from calendar_core.app.calendar import publishing
from calendar_core.app.calendar.publishing import publish
from calendar_core.app.calendar.work import work_told
from calendar_core.app.shell.session import open_session
from calendar_core.garden.model import Entry
from calendar_core.storage import gardens, log, told_dates
from calendar_core.storage import published as stored
from calendar_core.storage.calendar_files import CalendarFile
from calendar_core.storage.engine import open_store
from tests.app.conftest import DAY

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.app.conftest import Program

FILE = CalendarFile("bench.ics", "work")


def published() -> bytes:
    session = open_session("garden.db", None, date.fromisoformat(DAY))
    publish(session, FILE, to=Path("bench.ics"), allow_many=True)
    session.store.close()
    return Path("bench.ics").read_bytes()


def told() -> object:
    """Return what is stored of what subscribers are told, but for ids that are drawn anew."""
    with closing(open_store("garden.db")) as store, store.read() as connection:
        garden_id = gardens.get_garden(connection).id
        dates = told_dates.load_dates(connection, garden_id)
        return (
            stored.load(connection, garden_id, None),
            stored.load_members(connection, garden_id),
            stored.load_work(connection, garden_id, date.min),
            {key: told.day for key, told in dates.items()},
        )


@pytest.fixture
def meanwhile(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[], object]], None]:
    """Give the function that has something done once, while a publication is planned."""

    def do(what: Callable[[], object]) -> None:
        waiting = [what]

        def planned(*words: Any) -> Any:
            while waiting:
                waiting.pop()()
            return work_told(*words)

        monkeypatch.setattr(publishing, "work_told", planned)

    return do


def test_a_writer_need_not_wait_for_the_plan(
    garden: Program, meanwhile: Callable[[Callable[[], object]], None]
) -> None:
    def write() -> None:
        with closing(sqlite3.connect("garden.db", timeout=0)) as other, other:
            other.execute("UPDATE garden SET elevation_m = elevation_m")

    meanwhile(write)
    published()


def test_one_that_publishes_meanwhile_is_gone_on_from(
    garden: Program, meanwhile: Callable[[Callable[[], object]], None]
) -> None:
    """As if one had waited for the other: what it told, of an entry that was written meanwhile, stands."""
    published()
    before = Path("garden.db").read_bytes()

    def other() -> None:
        with closing(open_store("garden.db")) as store, store.begin() as connection:
            here = gardens.get_garden(connection).id
            trees = tuple(tree.id for tree in gardens.list_trees(connection, here))
            now = datetime(2015, 6, 24, 18, tzinfo=UTC)
            repotted = {"operation": "repot"}
            log.append(
                connection, [Entry(UUID(int=1), here, trees, now.date(), now, "owner", "work", repotted)]
            )
        published()

    other()
    in_turn = published(), told()
    for path in Path().glob("garden.db*"):
        path.unlink()
    Path("garden.db").write_bytes(before)
    meanwhile(other)
    assert (published(), told()) == in_turn
