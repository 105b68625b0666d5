"""Calendars kept for subscribers: made by the jobs when something is new, from the garden of the tests; khal reads one."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import icalendar
import pytest

from calendar_core.app.calendar import keeping
from calendar_core.app.calendar.addresses import hash_of
from calendar_core.app.calendar.jobs import CalendarJobs
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.planning.events import CalendarOf
from calendar_core.storage import calendar_addresses, calendar_texts, gardens
from calendar_core.storage.engine import open_store
from tests.app.calendar.reading import by_icalendar, by_khal
from tests.app.conftest import DAY, run
from tests.app.test_bad_input import assert_refused

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from alerts.notices import Message, Result
    from tests.app.conftest import Program

NOON = datetime.fromisoformat(f"{DAY}T12:00").replace(tzinfo=ZoneInfo("America/Los_Angeles")).astimezone(UTC)
MINUTE = timedelta(minutes=1)
WORK, MOVES = CalendarOf("work"), CalendarOf("moves")


def unused(message: Message) -> Result:
    raise AssertionError(f"{message.id} was sent")


class Kept:
    """The jobs of calendars on a clock of the test, and what is kept."""

    def __init__(self) -> None:
        self.now, self.store = NOON, open_store("garden.db")
        self.jobs = CalendarJobs(Jobs(self.store, unused, lambda: self.now, print))

    def keep(self, *, at: datetime) -> None:
        self.now = at
        self.jobs._rests.clear()
        self.jobs.keep_moves(at)
        self.jobs.keep(at)

    def text(self, of: CalendarOf = WORK) -> calendar_texts.CalendarText | None:
        with self.store.read() as connection:
            return calendar_texts.get_text(connection, gardens.get_garden(connection).id, of)

    def data(self, of: CalendarOf = WORK) -> bytes:
        text = self.text(of)
        assert text is not None
        return text.data


@pytest.fixture
def kept(garden: Program) -> Iterator[Kept]:
    found = Kept()
    yield found
    found.store.close()


def secret_of(out: str) -> str:
    path = next(line for line in out.splitlines() if line.startswith("/calendar/"))
    return path.removeprefix("/calendar/").removesuffix(".ics")


def test_nothing_is_kept_for_nobody(kept: Kept) -> None:
    kept.keep(at=NOON)
    assert kept.text() is None


def test_it_is_what_the_file_would_hold_and_stays_so_while_nothing_is_new(
    kept: Kept, garden: Program, folder: Path
) -> None:
    assert run("address", "add").status == 0
    kept.keep(at=NOON)
    first = kept.text()
    assert first is not None
    assert garden("calendar", "bench.ics").status == 0
    assert (folder / "bench.ics").read_bytes() == first.data
    kept.keep(at=NOON + 30 * MINUTE)
    assert kept.text() == first
    days = by_icalendar(folder / "bench.ics")
    assert by_khal(folder / "bench.ics", date.fromisoformat(DAY), (max(days) - date.fromisoformat(DAY)).days + 1, folder) == days  # fmt: skip


def test_an_entry_makes_it_anew(kept: Kept, garden: Program) -> None:
    assert run("address", "add").status == 0
    kept.keep(at=NOON)
    before = kept.text()
    due = json.loads(garden("rota", "--json").out)["days"]
    item = next(day["work"][0]["item"] for day in due if day["work"])
    assert garden("answer", item, "not this year").status == 0
    kept.keep(at=NOON + MINUTE)
    after = kept.text()
    assert before is not None
    assert after is not None
    assert after.etag != before.etag
    assert after.modified_at > before.modified_at


def test_a_publication_that_fails_leaves_what_was_told(
    kept: Kept, garden: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run("address", "add").status == 0
    kept.keep(at=NOON)
    before = kept.text()

    def fails(*_words: object, **_more: object) -> None:
        raise Refusal("too many events would vanish")

    monkeypatch.setattr(keeping, "publish", fails)
    assert garden("log", "all", "wire", "2015-06-20").status == 0
    with pytest.raises(Refusal, match="vanish"):
        kept.keep(at=NOON + MINUTE)
    assert kept.text() == before


def test_moves_need_no_plan(kept: Kept, garden: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeping, "publish", None)
    assert run("address", "add", "moves").status == 0
    kept.keep(at=NOON)
    assert kept.data(MOVES).startswith(b"BEGIN:VCALENDAR")


def test_each_tree_and_a_helper_have_theirs(kept: Kept, garden: Program) -> None:
    assert garden("away", "2015-07-10", "2015-07-12").status == 0
    for words in (
        ("tree", "--tree", "Japanese maple 1"),
        ("tree", "--tree", "Japanese black pine 1"),
        ("helper",),
    ):
        assert run("address", "add", *words).status == 0
    kept.keep(at=NOON)
    with kept.store.read() as connection:
        garden_id = gardens.get_garden(connection).id
        holds = calendar_texts.made_from(connection, garden_id)
        of = {one.of for one in calendar_addresses.list_addresses(connection, garden_id)}
    assert holds.keys() == {str(one) for one in of}
    events = {one: icalendar.Calendar.from_ical(kept.data(one)).events for one in of}
    assert all(events.values())
    texts = [kept.data(one) for one in of if one.kind == "tree"]
    assert texts[0] != texts[1]


def test_a_big_garden_is_not_published_all_the_time(kept: Kept, garden: Program) -> None:
    assert run("address", "add").status == 0
    kept.jobs.keep(NOON)
    before = kept.text()
    assert garden("log", "all", "wire", "2015-06-20").status == 0
    kept.jobs._rests = {key: float("inf") for key in kept.jobs._rests}
    kept.jobs.keep(NOON + MINUTE)
    assert kept.text() == before
    assert kept.jobs._rests


# -- the command ------------------------------------------------------------------------------------------------------


def test_an_address_is_shown_once_and_stored_as_its_hash(garden: Program, folder: Path) -> None:
    made = run("address", "add", "windows", "--label", "phone", "--at", "https://trees.example")
    assert made.status == 0, made.err
    plain, subscribed = (line for line in made.out.splitlines() if "://trees.example/calendar/" in line)
    secret = plain.rpartition("/")[2].removesuffix(".ics")
    assert plain == f"https://trees.example/calendar/{secret}.ics"
    assert subscribed == f"webcal://trees.example/calendar/{secret}.ics"
    assert len(secret) == 32  # 192 bits in base64
    assert not [file for file in folder.glob("garden.db*") if secret.encode() in file.read_bytes()]
    listed = run("address", "list", "--json")
    (row,) = json.loads(listed.out)
    assert (row["kind"], row["label"], row["revoked_at"]) == ("windows", "phone", None)
    assert hash_of(secret) not in listed.out
    assert "phone, never read" in run("address", "list").out


def test_a_revoked_address_is_told_so(garden: Program) -> None:
    assert run("address", "add", "--label", "phone").status == 0
    assert run("address", "revoke", "PHONE").status == 0
    assert "revoked on" in run("address", "list").out
    (row,) = json.loads(run("address", "list", "--json").out)
    assert row["revoked_at"] is not None


def test_an_exported_garden_has_no_addresses(garden: Program, folder: Path) -> None:
    """They are secrets: whoever gets the garden's folder must not get at its calendars."""
    secret = secret_of(run("address", "add").out)
    assert run("export", "out").status == 0
    exported = b"".join(file.read_bytes() for file in (folder / "out").rglob("*") if file.is_file())
    assert exported
    assert secret.encode() not in exported
    assert hash_of(secret).encode() not in exported
    assert run("import", "out", "--db", "other.db").status == 0
    assert json.loads(run("address", "list", "--json", "--db", "other.db").out) == []


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("add", "wrok"), "--kind wrok: no such calendar; right would be one of work, windows, moves, tree, helper"),
        (("add", "tree"), "--kind tree: whose is not said; right would be with --tree and its label"),
        (("add", "work", "--tree", "Japanese black pine 1"), "--tree goes with the kind tree, not with work"),
        (("add", "--label", "x" * 61), "the label is not a short line; right would be up to 60 signs, such as phone"),
        (("add", "--at", "trees.example"), "--at is no address of a service; right would be one such as https://HOST"),
        (("add", "--at", "https://a:b@trees.example"), "--at is no address of a service; right would be one such as https://HOST"),
        (("revoke", "phone"), "no address 'phone'; right would be a name as printed by: leafclock address list"),
    ],
)  # fmt: skip
def test_bad_input_is_one_line_and_makes_no_address(
    garden: Program, words: tuple[str, ...], line: str
) -> None:
    assert_refused(run("address", *words), line)
    assert json.loads(run("address", "list", "--json").out) == []
