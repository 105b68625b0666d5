"""Calendars written to a folder and put to a web server (pytest-httpserver) whenever they change."""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from werkzeug import Request, Response

from calendar_core.app.calendar.jobs import AGAIN, LONGEST_WAIT
from calendar_core.app.shell.errors import Refusal
from calendar_core.storage import calendar_places, gardens
from tests.app.calendar.test_keeping import MINUTE, NOON, Kept
from tests.app.conftest import run
from tests.app.test_bad_input import assert_refused

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytest_httpserver import HTTPServer

    from calendar_core.storage.calendar_places import CalendarPlace
    from tests.app.conftest import Program

NAMES = {"work.ics", "windows.ics", "moves.ics", "helper.ics"}
PASSWORD = "s3cret pass/word"  # noqa: S105 - invented
LOGIN = base64.b64encode(f"ines:{PASSWORD}".encode()).decode()


class WebFolder:
    """What was put to a folder of a web server; ``status`` is what it answers."""

    def __init__(self, server: HTTPServer) -> None:
        self.files: dict[str, bytes] = {}
        self.asked: list[Request] = []
        self.status = 201
        server.expect_request("/care/").respond_with_data("")
        for name in NAMES:
            server.expect_request(f"/care/{name}").respond_with_handler(self._take)
        self.host = f"{server.host}:{server.port}"

    def _take(self, request: Request) -> Response:
        self.asked.append(request)
        if self.status == 201:
            self.files[request.path.rpartition("/")[2]] = request.get_data()
        return Response(status=self.status, headers={"Location": "/elsewhere"})


@pytest.fixture
def web(httpserver: HTTPServer) -> WebFolder:
    return WebFolder(httpserver)


@pytest.fixture
def kept(garden: Program) -> Iterator[Kept]:
    found = Kept()
    yield found
    found.store.close()


def places(kept: Kept) -> tuple[CalendarPlace, ...]:
    with kept.store.read() as connection:
        return calendar_places.list_places(connection, gardens.get_garden(connection).id)


def test_a_folder_has_each_kind_and_is_written_again_when_one_changes(kept: Kept, garden: Program) -> None:
    said = garden("calendar", "--to", "care")
    assert said.status == 0, said.err
    files = {file.name: file.read_bytes() for file in Path("care").iterdir()}
    assert files.keys() == NAMES
    assert all(data.startswith(b"BEGIN:VCALENDAR") for data in files.values())
    kept.keep(at=NOON)
    kept.jobs.send(NOON)
    assert {file.name: file.read_bytes() for file in Path("care").iterdir()} == files
    assert garden("away", "2015-07-10", "2015-07-12").status == 0
    Path("care/moves.ics").unlink()
    kept.keep(at=NOON + MINUTE)
    kept.jobs.send(NOON + MINUTE)
    now = {file.name: file.read_bytes() for file in Path("care").iterdir()}
    assert now.keys() == NAMES
    assert now["helper.ics"] != files["helper.ics"]
    assert now["moves.ics"] == files["moves.ics"]


def test_a_web_folder_is_put_each_kind_once(kept: Kept, garden: Program, web: WebFolder) -> None:
    assert garden("calendar", "--to", f"http://ines:s3cret%20pass%2Fword@{web.host}/care").status == 0
    assert web.files.keys() == NAMES
    for asked in web.asked:
        assert asked.method == "PUT"
        assert asked.headers["Content-Type"] == "text/calendar; charset=utf-8"
        assert asked.headers["Authorization"] == f"Basic {LOGIN}"
    kept.keep(at=NOON)
    kept.jobs.send(NOON)
    assert len(web.asked) == len(NAMES)


def test_a_login_is_never_shown(garden: Program, web: WebFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    where = f"http://ines:s3cret%20pass%2Fword@{web.host}/care"
    told = [
        garden("calendar", "--to", where),
        run("calendar", "--places"),
        run("calendar", "--places", "--json"),
    ]
    web.status = 401
    told.append(garden("calendar", "--to", where))
    told.append(garden("calendar", "--to", where, "--stop"))
    assert [one.status for one in told] == [0, 0, 0, 2, 0]
    assert json.loads(told[2].out)[0]["place"] == f"http://{web.host}/care/"
    for one in told:
        assert "s3cret" not in one.out + one.err
        assert "ines" not in one.out + one.err


def test_a_login_may_stand_in_the_environment(
    kept: Kept, garden: Program, web: WebFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LEAFCLOCK_CALENDAR_LOGIN", f"ines:{PASSWORD}")
    assert garden("calendar", "--to", f"http://{web.host}/care/").status == 0
    assert {asked.headers["Authorization"] for asked in web.asked} == {f"Basic {LOGIN}"}
    assert b"s3cret" not in Path("garden.db").read_bytes()


def test_a_place_that_refuses_at_first_is_not_kept(kept: Kept, garden: Program, web: WebFolder) -> None:
    for status, said in ((401, "401 UNAUTHORIZED"), (301, "301 MOVED PERMANENTLY")):
        web.status = status
        line = f"http://{web.host}/care/: 127.0.0.1 answers {said}; right would be a place that takes files"
        assert_refused(
            garden("calendar", "--to", f"http://{web.host}/care"),
            line.replace("127.0.0.1", web.host.partition(":")[0]),
        )
    assert places(kept) == ()


def test_a_place_that_fails_later_is_tried_again_ever_more_rarely(
    kept: Kept, garden: Program, web: WebFolder
) -> None:
    assert garden("calendar", "--to", f"http://{web.host}/care").status == 0
    assert garden("away", "2015-07-10", "2015-07-12").status == 0
    kept.keep(at=NOON)
    web.status, web.asked[:] = 503, []
    for minute in range(180):
        with pytest.raises(Refusal, match="503"):
            kept.jobs.send(NOON + minute * MINUTE)
    assert 6 <= len(web.asked) <= 9  # after 1, 2, 4 ... 32 minutes, then hourly
    assert AGAIN < LONGEST_WAIT
    (place,) = places(kept)
    assert "503" in place.why_failing
    assert "not written: " in run("calendar", "--places").out
    web.status = 201
    kept.jobs.send(NOON + 300 * MINUTE)
    (place,) = places(kept)
    assert place.why_failing == ""
    assert b"BEGIN:VEVENT" in web.files["helper.ics"]


def test_a_folder_that_is_gone_is_not_made_anew(kept: Kept, garden: Program) -> None:
    assert garden("calendar", "--to", "stick/care").status == 0
    for file in Path("stick/care").iterdir():
        file.unlink()
    Path("stick/care").rmdir()
    with pytest.raises(Refusal, match="the folder is gone"):
        kept.jobs.send(NOON)
    assert not Path("stick/care").exists()


def test_what_is_stopped_is_written_no_more(kept: Kept, garden: Program) -> None:
    assert garden("calendar", "--to", "care").status == 0
    assert garden("calendar", "--to", "care", "--stop").status == 0
    for file in Path("care").iterdir():
        file.unlink()
    kept.jobs.send(NOON)
    assert list(Path("care").iterdir()) == []
    assert "nowhere" in run("calendar", "--places").out


def test_two_gardens_do_not_write_over_each_other(garden: Program) -> None:
    assert garden("calendar", "--to", "care").status == 0
    place = ("--place", "Nagano", "--trees", "black pine", "--name", "Roof")
    assert garden("start", *place).status == 0
    line = f"{Path('care').resolve()}: holds the calendars of another garden; right would be another place"
    assert_refused(garden("calendar", "--to", "care", "--garden", "Roof"), line)


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--to", "ftp://trees.example/care"), "--to: is no address of a folder of the web; right would be one such as https://HOST/FOLDER"),
        (("--to", "https://ines:x@trees.example/care?k=1"), "--to: is no address of a folder of the web; right would be one such as https://HOST/FOLDER"),
        (("--to", "https://[trees.example/care"), "--to: is no address of a folder of the web; right would be one such as https://HOST/FOLDER"),
        (("--to", "https://trees.example/care.ics"), "--to: is the address of a file; right would be its folder, where each calendar has a file"),
        (("--to", "http://1.1.1.1/care"), "--to: 1.1.1.1 is reached without TLS; right would be https://, which nobody can read"),
        (("--to", "bench.ics"), "bench.ics: is a file; right for --to would be a folder, where each calendar has a file"),
        (("--to", "care", "--kind", "work"), "a file, --kind and --tree do not go with --to, --stop and --places; right would be one of both"),
        (("--stop",), "--stop: of which place is not said; right would be with --to and its folder or address"),
        ((), "no file is named; right would be 'FILE.ics', or --to with a folder or an address"),
    ],
)  # fmt: skip
def test_bad_input_is_one_line_and_is_no_place(
    kept: Kept, garden: Program, words: tuple[str, ...], line: str
) -> None:
    assert_refused(garden("calendar", *words), line)
    assert places(kept) == ()
    assert not Path("care").exists()
