"""The program as it is run: words in, status and text out. Every test has a folder of its own."""

from __future__ import annotations

import shutil
import sys
from collections import OrderedDict
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Protocol
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from aiosmtpd.controller import Controller
from typer.testing import CliRunner

from calendar_core.app.calendar.publishing import publish
from calendar_core.app.first_day.commands import start
from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.main import main
from calendar_core.app.shell import clock
from calendar_core.app.shell.lazy import lazy
from calendar_core.app.shell.session import Session
from calendar_core.app.warnings.commands import channel, warn
from calendar_core.app.watching import watching
from calendar_core.app.weather import commands as weather
from calendar_core.weather.sources.http import Client
from tests.alerts.conftest import MailBox, free_port

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from calendar_core.planning.items import Plan

DAY = "2015-06-24"  # a day in the middle of the growing season; nothing depends on the real one
TREES = "2 Japanese maple; black pine; satsuki azalea; tropical fig"  # invented


@dataclass(frozen=True)
class Answer:
    """What a run left behind."""

    status: int
    out: str
    err: str


class Program(Protocol):
    """Runs the program in this process."""

    def __call__(self, *words: str, typed: str = "") -> Answer: ...


def run(*words: str, typed: str = "") -> Answer:
    """Run ``leafclock WORDS`` with ``typed`` on its standard input."""
    with pytest.MonkeyPatch.context() as patch, CliRunner().isolation(input=typed) as (out, err, _):
        patch.setattr(sys, "argv", ["leafclock", *words])
        try:
            main()
            status = 0
        except SystemExit as end:
            status = int(end.code or 0)
        sys.stdout.flush()
        sys.stderr.flush()
        return Answer(status, out.getvalue().decode(), err.getvalue().decode())


_MAKE_PLAN: Callable[[Session], Plan] = Session.plan.func
_PLANS: OrderedDict[object, Plan] = OrderedDict()
_KEPT = 40  # plans; a test reads few, and most begin with the founded garden's


def _rests_on(session: Session) -> object:
    """Return all that a plan is made from, by value: most tests begin with the same garden, and read it many times."""
    weather, log = session.weather, (session.garden, session.spots, session.trees, session.entries)
    series = (weather.sky.traces, weather.mean_year, *filter(None, (weather.measured,)))
    air = [np.asarray(getattr(one, name)).tobytes() for one in series for name in ("t_min_c", "t_max_c")]
    known = (session.today, weather.sky.traces.start, weather.sky.traces.known, weather.level)
    first = None if weather.measured is None else weather.measured.start
    return repr((*log, *known, first)), *air


def _shared_plan(session: Session) -> Plan:
    key = _rests_on(session)
    plan = _PLANS[key] = _PLANS.pop(key) if key in _PLANS else _MAKE_PLAN(session)
    if len(_PLANS) > _KEPT:
        _PLANS.popitem(last=False)
    return plan


def _planned_by(make: Callable[[Session], Plan], monkeypatch: pytest.MonkeyPatch) -> None:
    def plan(session: Session) -> Plan:
        return make(session)

    monkeypatch.setattr(
        Session, "plan", lazy(plan)
    )  # as the program's own: who forgets to forget a plan is found


@pytest.fixture(autouse=True)
def plans_shared(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let all commands that rest on the same share one plan: the planner is pure, and a plan is frozen."""
    _planned_by(_shared_plan, monkeypatch)


@pytest.fixture
def plans_anew(plans_shared: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Plan as the program does, for tests that change the planner or hold plans against each other."""
    _planned_by(_MAKE_PLAN, monkeypatch)


@pytest.fixture
def it_is(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Give the function that makes it noon of a day in Seattle, for what acts on no other day than the real one."""

    def noon_of(day: str) -> None:
        noon = datetime.fromisoformat(f"{day}T12:00").replace(tzinfo=ZoneInfo("America/Los_Angeles"))
        for module in (
            clock,
            warn,
            start,
            channel,
            watching,
            weather,
        ):  # all that ask it by name, lest one be loaded meanwhile
            monkeypatch.setattr(module, "utc_now", lambda: noon.astimezone(UTC))

    return noon_of


@pytest.fixture
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let requests to a service on this machine follow at once; how long they wait is tested in tests/weather/sources."""
    defaults = Client.__init__.__kwdefaults__ or {}
    monkeypatch.setitem(defaults, "sleep", lambda _s: None)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in an empty folder, where ``garden.db`` is the database if none is named."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LEAFCLOCK_DB", "garden.db")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "off")
    return tmp_path


@pytest.fixture
def leafclock() -> Program:
    """Give the function that runs the program."""
    return run


@pytest.fixture(scope="session")
def founded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a database with one garden of five trees in Seattle, founded on DAY; it is copied, never changed."""
    database = tmp_path_factory.mktemp("founded") / "garden.db"
    where = ("--db", str(database), "--place", "Seattle", "--today", DAY)
    assert run("start", *where, "--trees", TREES).status == 0
    return database


@pytest.fixture
def garden(founded: Path, folder: Path) -> Program:
    """Give the function that runs the program on DAY in the founded garden."""
    shutil.copy(founded, folder / "garden.db")

    def on_day(*words: str, typed: str = "") -> Answer:
        timeless = words[0] in {"spot", "places", "channel", "address"} or words[:2] == ("species", "list")
        return run(*words, *(() if timeless else ("--today", DAY)), typed=typed)

    return on_day


@pytest.fixture
def mails(monkeypatch: pytest.MonkeyPatch) -> Iterator[MailBox]:
    """Give the box of a real mail server on this machine, which the environment names."""
    box = MailBox()
    controller = Controller(box, hostname="127.0.0.1", port=free_port())
    controller.start()
    monkeypatch.setenv("LEAFCLOCK_SMTP", f"127.0.0.1:{controller.port}")
    monkeypatch.setenv("LEAFCLOCK_SMTP_FROM", "garden@leafclock.example")
    monkeypatch.setenv("LEAFCLOCK_SMTP_SECURITY", "none")
    yield box
    controller.stop()


@pytest.fixture(scope="session")
def midsummer(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the database of the demo's garden on DAY, its calendar published; it is copied, never changed."""
    out = tmp_path_factory.mktemp("midsummer")
    session = found_demo(out, date.fromisoformat(DAY))
    publish(session)
    session.store.close()
    return out / "garden.db"


@pytest.fixture(scope="session")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[Answer, Path]:
    """Give what the demo prints of its own day, and the folder it writes to."""
    out = tmp_path_factory.mktemp("demo") / "out"
    return run("demo", "--out", str(out)), out
