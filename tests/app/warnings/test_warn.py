"""Judging now: told once, in plain words; nothing told in a dry run; silence where nothing can be judged is not quiet.

The hours are those of real days (NOAA station data for Seattle, in demo/), or of a weather service on this machine.
"""

from __future__ import annotations

import json
import shutil
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from alerts.outbox.queue import list_messages
from alerts.outbox.standing import active_warnings, remember, warnings_since
from calendar_core.app.answers.taking_back import take_back
from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.plan.line_names import name_of_move
from calendar_core.app.shell.session import open_session
from calendar_core.app.warnings.judging import Judged, judged
from calendar_core.app.warnings.stored_warnings import timed_events
from calendar_core.app.warnings.ways_back import wanted_out
from calendar_core.planning.events import TimedEvent
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.app.conftest import DAY, run
from tests.app.shapes import SHAPES
from tests.app.test_bad_input import rows
from tests.app.weather_service import WeatherService

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pytest_httpserver import HTTPServer

    from alerts.outbox.queue import Listed
    from tests.alerts.conftest import MailBox
    from tests.app.conftest import Answer, Program

    Garden = Callable[[str], Program]

pytestmark = pytest.mark.slow

HOT, COLD = "2015-06-26", "2014-02-05"
"""The day before one that reached 33 degC, and the day before a night of frost, at the station."""
INES = "ines@leafclock.example"


@pytest.fixture(scope="module")
def demos(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Give the demo garden as it was founded on each day; copied, never changed."""
    made = {}
    for day in (HOT, COLD, "2014-08-10"):
        out = tmp_path_factory.mktemp(day)
        found_demo(out, date.fromisoformat(day)).store.close()
        made[day] = out / "garden.db"
    return made


@pytest.fixture
def garden_on(demos: dict[str, Path], folder: Path, it_is: Callable[[str], None]) -> Garden:
    """Give the function that puts the demo garden of a day here, makes it that day, and gives what runs the program."""

    def here(day: str) -> Program:
        it_is(day)
        shutil.copy(demos[day], folder / "garden.db")
        return lambda *words, typed="": run(*words, "--today", day, typed=typed)

    return here


def cold_spell(server: HTTPServer, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a weather service foretell forty degrees less than usual."""
    service = WeatherService(server, date(2015, 6, 24), colder_by=40.0)
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "open-meteo")
    monkeypatch.setenv("LEAFCLOCK_OPEN_METEO", service.base)


def told(answer: Answer) -> dict[str, Any]:
    """Return the data of ``warn --json``."""
    assert (answer.status, answer.err) == (0, "")
    SHAPES["warn"].validate_json(answer.out)
    data: dict[str, Any] = json.loads(answer.out)
    return data


def with_mail(*more: str) -> None:
    assert run("channel", "add", "mail", INES, *more).status == 0


def timed_on(day: str) -> tuple[TimedEvent, ...]:
    session = open_session("garden.db", None, date.fromisoformat(day))
    return timed_events(session, session.clock.now)


def timed() -> tuple[TimedEvent, ...]:
    session = open_session("garden.db", None, date(2015, 6, 24))
    return timed_events(session, session.clock.now)


def messages() -> tuple[Listed, ...]:
    with closing(open_store("garden.db")) as store, store.read() as connection:
        return list_messages(connection, gardens.get_garden(connection).id)


@pytest.mark.parametrize("day", [HOT, COLD])
def test_a_warning_is_told_once(garden_on: Garden, mails: MailBox, httpserver: HTTPServer, day: str) -> None:
    httpserver.expect_request("/hook").respond_with_data("")
    garden = garden_on(day)
    with_mail()
    run("channel", "add", "hook", httpserver.url_for("/hook"), "--private")
    first = told(garden("warn", "--json"))
    new = {one["subject"]: one["text"] for one in first["warnings"] if one["id"] in first["told_now"]}
    assert len(new) == len(first["told_now"]) > 0
    again = told(garden("warn", "--json"))
    assert (again["told_now"], again["warnings"]) == ([], first["warnings"])
    mailed = [(str(mail["Subject"]), "\n".join(mail.get_content().splitlines())) for mail in mails.mails]
    assert sorted(mailed) == sorted(new.items())
    hooked = [request.get_json()["data"] for request, _ in httpserver.log]
    assert sorted((one["subject"], one["text"]) for one in hooked) == sorted(new.items())


@pytest.mark.parametrize("day", [HOT, COLD])
def test_it_is_said_in_plain_words_of_at_most_100_signs_a_line(garden_on: Garden, day: str) -> None:
    garden = garden_on(day)
    first, second = garden("warn"), garden("warn")
    assert (first.status, first.err) == (0, "")
    assert first.out == second.out
    for text in first.out.splitlines():
        assert len(text) <= 100
        assert text.isprintable()
    named = told(garden("warn", "--json"))["warnings"]
    assert [text for text in first.out.splitlines() if text in {one["subject"] for one in named}]
    for needed in ("How sure: ", "judged 12:00 on the forecast of 12:00.", "Official warnings"):
        assert needed in first.out


def test_a_dry_run_stores_and_sends_nothing(garden_on: Garden, mails: MailBox) -> None:
    garden = garden_on(COLD)
    with_mail()
    before = rows()
    dry = garden("warn", "--dry-run")
    assert dry.status == 0
    assert "2 messages would be sent over the channel; nothing was stored." in dry.out
    as_data = told(garden("warn", "--dry-run", "--json"))
    assert rows() == before
    assert mails.mails == []
    assert told(garden("warn", "--json"))["warnings"] == as_data["warnings"]


def test_on_an_old_forecast_it_says_once_that_it_cannot_judge(
    garden_on: Garden, mails: MailBox, it_is: Callable[[str], None]
) -> None:
    garden_on(HOT)
    it_is("2015-06-27")
    with_mail()
    day_after = ("--today", "2015-06-27")
    answer = run("warn", *day_after)
    assert (answer.status, answer.err) == (0, "")
    assert "The newest forecast here is of Friday 12:00, 24 hours old: too old to judge by." in " ".join(
        answer.out.split()
    )
    assert told(run("warn", "--json", *day_after))["cannot_judge"]
    assert [str(mail["Subject"]) for mail in mails.mails] == ["Cannot judge: the forecast is 24 hours old"]


@pytest.mark.parametrize("asked", ["2014-08-10", "2016-07-20"])
def test_a_forecast_of_other_days_is_not_judged_on(
    garden_on: Garden, mails: MailBox, it_is: Callable[[str], None], asked: str
) -> None:
    garden_on(HOT)
    it_is(asked)
    with_mail()
    before = rows()
    answer = run("warn", "--today", asked)
    assert (answer.status, answer.err) == (0, "")
    said = " ".join(answer.out.split())
    assert "was made on 26 June 2015, up to " in said
    assert "it is not of this day, so nothing can be judged." in said
    assert "No warning stands" not in said
    data = told(run("warn", "--json", "--today", asked))
    assert (data["cannot_judge"], data["threats"], data["told_now"]) == (True, [], [])
    assert data["forecast_at"].startswith("2015-06-26T19:00")
    assert (mails.mails, rows()) == ([], before)


def test_a_forecast_made_later_the_same_day_is_judged_on(garden_on: Garden) -> None:
    """The run of the demo is of noon; asked is for its day, which stands at noon, and a clock may be slow."""
    garden_on(HOT)
    for early in (timedelta(minutes=5), timedelta(hours=3)):
        session = open_session("garden.db", None, date.fromisoformat(HOT))
        assert isinstance(judged(session, session.clock.now - early), Judged)


def test_without_hours_it_says_how_to_get_them(
    garden: Program, mails: MailBox, it_is: Callable[[str], None]
) -> None:
    it_is(DAY)
    with_mail()
    answer = garden("warn")
    assert (answer.status, answer.err) == (0, "")
    assert answer.out.splitlines()[1:] == [
        "There is no forecast hour by hour, so nothing can be judged. Get one with:",
        "  leafclock weather fetch",
    ]
    assert told(garden("warn", "--json"))["cannot_judge"]
    assert mails.mails == []


def test_a_channel_that_is_off_gets_nothing(garden_on: Garden, mails: MailBox) -> None:
    garden = garden_on(COLD)
    with_mail()
    run("channel", "off", INES)
    told_now = told(garden("warn", "--json"))["told_now"]
    assert mails.mails == []
    assert [one.state for one in messages()] == ["pending"] * len(told_now)  # for when it is on again


@pytest.mark.parametrize(("day", "held"), [(COLD, False), (HOT, True)])
def test_quiet_hours_hold_back_a_caution_but_no_danger_that_begins_before_they_end(
    garden_on: Garden, mails: MailBox, day: str, held: bool
) -> None:
    """It is noon: the frost of one day begins in the evening, the other's heat on the next day."""
    garden = garden_on(day)
    with_mail("--quiet", "11:00-21:00")
    end = datetime.fromisoformat(f"{day}T21:00").replace(tzinfo=ZoneInfo("America/Los_Angeles"))
    data = told(garden("warn", "--json"))
    new = [one for one in data["warnings"] if one["id"] in data["told_now"]]
    in_danger = {one["severity"] in ("Severe", "Extreme") for one in new}
    assert in_danger == {not held}
    begun = [one for one in new if datetime.fromisoformat(one["onset"]) < end]
    sent = 0 if held else len(begun)
    assert held or sent
    assert len(mails.mails) == sent
    found = sorted((one.state, one.due_at == end) for one in messages())
    assert found == [("pending", True)] * (len(new) - sent) + [("sent", False)] * sent


@pytest.mark.parametrize("day", [HOT, COLD])
def test_who_is_added_while_warnings_stand_gets_them_at_once(
    garden_on: Garden, mails: MailBox, day: str
) -> None:
    garden, ole = garden_on(day), "ole@leafclock.example"
    with_mail()
    garden("warn")
    before = [(mail["Subject"], mail.get_content()) for mail in mails.mails]
    answer = run("channel", "add", "mail", ole)
    assert answer.out.splitlines()[1].endswith("of warnings that stand: leafclock watch sends what is due.")
    garden("warn")
    late = [mail for mail in mails.mails if mail["To"] == ole]
    assert [(mail["Subject"], mail.get_content()) for mail in late] == before
    assert len(mails.mails) == 2 * len(before) > 0


@pytest.mark.parametrize("said", ["451 come later", "550 no such user here"])
def test_what_was_not_sent_is_said(garden_on: Garden, mails: MailBox, said: str) -> None:
    garden = garden_on(HOT)
    with_mail()
    mails.answers["DATA"] = said
    answer = garden("warn")
    assert answer.status == 0
    assert f"Not sent to {INES}: {said}; it is tried again by leafclock watch." in " ".join(
        answer.out.split()
    )
    listed = " ".join(run("channel", "list").out.split())
    assert listed.endswith(f"; failing since 12:00: {said}; 1 message waiting")


def test_hours_of_a_weather_service_are_judged(
    garden: Program,
    mails: MailBox,
    httpserver: HTTPServer,
    monkeypatch: pytest.MonkeyPatch,
    it_is: Callable[[str], None],
) -> None:
    """Forty degrees below what is usual: danger in any season, and at noon it has begun."""
    it_is(DAY)
    cold_spell(httpserver, monkeypatch)
    with_mail()
    assert garden("weather", "fetch", "--years", "0").status == 0
    data = told(garden("warn", "--json"))
    assert data["forecast_of"] == "open-meteo single run"
    assert {"frost", "cold roots"} <= {one["hazard"] for one in data["warnings"]}
    assert len(mails.mails) == len(data["told_now"]) > 0
    assert "danger" in {level for one in data["warnings"] for level in one["levels"].values()}


def test_what_a_move_against_frost_does_against_cold_pots_is_told_once(
    garden: Program,
    mails: MailBox,
    httpserver: HTTPServer,
    monkeypatch: pytest.MonkeyPatch,
    it_is: Callable[[str], None],
) -> None:
    it_is(DAY)
    cold_spell(httpserver, monkeypatch)
    assert run("spot", "add", "shed", "--profile", "frost-free").status == 0
    assert garden("spot", "add", "house", "--profile", "heated").status == 0
    assert (
        garden("tree", "change", "Tropical fig 1", "--spot", "house").status == 0
    )  # frost alone threatens it
    with_mail()
    assert garden("weather", "fetch", "--years", "0").status == 0
    said = garden("warn").out
    subjects = [str(mail["Subject"]) for mail in mails.mails]
    assert [one.partition(",")[0] for one in sorted(subjects)] == [
        "Danger from cold pots",
        "Danger from hail",
    ]
    assert "\nDanger from frost" in said
    assert "What is asked for against cold pots helps against this too, and is told there." in said
    events = [event for event in timed() if "shed" in event.summary]
    assert len({event.uid for event in events}) == len(events)


def test_a_move_is_written_down_by_its_printed_name(garden_on: Garden) -> None:
    garden = garden_on("2014-08-10")
    said = garden("warn").out.splitlines()
    place = said.index("    Move to “under the ash”: Maple 4, Monday 9:00") - 1
    name = said[place].split()[2]
    refused = garden("answer", name, "Pruned")
    assert (refused.status, refused.err) == (
        2,
        "leafclock: 'Pruned' does not answer a move; right would be Moved\n",
    )
    assert garden("answer", name, "Moved").out.splitlines() == [
        "Moved to “under the ash”: Maple 4.",
        "  Back to “south bench”: Maple 4, Monday 20:00. It stands in the calendar.",
    ]
    assert "under the ash" in garden("tree", "show", "Maple 4").out
    said = garden("warn").out.splitlines()
    assert "Look out for heat, Monday 12:00 to 17:00: Maple 4" not in said
    place = said.index("    Back to “south bench”: Maple 4, Monday 20:00")
    assert "Back to “south bench”: Maple 4. See: leafclock warn\n" in garden("due").out
    assert garden("answer", said[place - 1].split()[2], "Moved").out == "Moved to “south bench”: Maple 4.\n"
    assert "Back to" not in garden("due").out


def test_trees_moved_by_hand_leave_their_move_and_their_way_back(garden_on: Garden) -> None:
    garden = garden_on(COLD)
    assert run("spot", "add", "shed", "--profile", "frost-free").status == 0
    assert garden("warn").status == 0

    def asked() -> list[str]:
        told = garden("warn").out.splitlines()
        return [told[n + 1].strip() for n, text in enumerate(told) if text.startswith("  leafclock answer")]

    first = next(text for text in asked() if "Satsuki 1" in text)
    assert first == "Move to “shed”: Satsuki 1, Maple 1, Maple 3, Cutleaf and 2 more, 17:00"
    garden("tree", "change", "Satsuki 1", "--spot", "shed")
    assert "Move to “shed”: Maple 1, Maple 3, Cutleaf, Satsuki 2 and Maple 5, 17:00" in asked()
    assert "Back to “under the ash”: Satsuki 1, Friday 9:00" in asked()
    garden("tree", "change", "Maple 1", "--spot", "shed")
    assert "Back to “under the ash”: Satsuki 1 and Maple 1" in garden("due").out
    session = open_session("garden.db", None, date.fromisoformat(COLD))
    events = timed_events(session, session.clock.now)
    assert len({event.uid for event in events}) == len(events)
    garden("tree", "change", "Satsuki 1, Maple 1", "--spot", "porch")
    assert "Back to" not in garden("due").out


@pytest.mark.parametrize("away", [False, True])
def test_a_helper_is_told_on_days_away(garden_on: Garden, mails: MailBox, *, away: bool) -> None:
    garden = garden_on(HOT)
    with_mail("--while-away")
    assert run("channel", "list").out.endswith(f"{INES}, only while you are away\n")
    if away:
        assert garden("away", "2015-06-26", "2015-07-04").status == 0
    assert garden("warn").status == 0
    assert len(mails.mails) == (1 if away else 0)


def test_a_tree_that_was_moved_is_judged_where_it_stands_now(garden_on: Garden) -> None:
    leafclock = garden_on(COLD)
    before = told(leafclock("warn", "--json"))["warnings"][0]
    labels = {
        tree["tree"]["label"]: tree["tree"]["id"]
        for tree in json.loads(leafclock("tree", "list", "--json").out)
    }
    assert labels["Maple 3"] in before["levels"]
    assert leafclock("tree", "change", "Maple 3", "--spot", "porch").status == 0
    said = leafclock("warn")
    assert "Moved since: Maple 3." in said.out
    after = told(leafclock("warn", "--json"))
    assert after["told_now"] == []
    assert all(labels["Maple 3"] not in one["levels"] for one in after["warnings"])


def test_a_tree_that_is_gone_is_in_no_warning_and_no_move(garden_on: Garden) -> None:
    leafclock = garden_on(COLD)
    before = told(leafclock("warn", "--json"))["warnings"][0]
    labels = {
        tree["tree"]["label"]: tree["tree"]["id"]
        for tree in json.loads(leafclock("tree", "list", "--json").out)
    }
    assert labels["Maple 3"] in before["levels"]
    assert any(labels["Maple 3"] in map(str, event.tree_ids) for event in timed_on(COLD))
    assert leafclock("tree", "gone", "Maple 3", "--why", "sold").status == 0
    assert not any(labels["Maple 3"] in map(str, event.tree_ids) for event in timed_on(COLD))
    said = leafclock("warn")
    assert (said.status, "Gone since: Maple 3." in said.out) == (0, True)
    assert "Moved since" not in said.out
    after = told(leafclock("warn", "--json"))
    assert after["told_now"] == []
    assert all(labels["Maple 3"] not in one["levels"] for one in after["warnings"])


def test_a_warning_is_over_without_a_word_when_its_last_tree_was_moved(
    garden_on: Garden, mails: MailBox
) -> None:
    leafclock = garden_on(HOT)
    with_mail()
    named = {tree for one in told(leafclock("warn", "--json"))["warnings"] for tree in one["levels"]}
    sent = len(mails.mails)
    assert named
    for tree in json.loads(leafclock("tree", "list", "--json").out):
        if tree["tree"]["id"] in named:
            assert leafclock("tree", "change", tree["tree"]["label"], "--spot", "under the ash").status == 0
    assert told(leafclock("warn", "--json"))["warnings"] == []
    assert len(mails.mails) == sent


def test_all_that_is_to_be_done_is_printed_though_a_phone_gets_the_first_of_it(garden_on: Garden) -> None:
    leafclock = garden_on(COLD)
    assert leafclock("warn").status == 0
    with closing(open_store("garden.db")) as store, store.begin() as connection:
        garden = gardens.get_garden(connection)
        first = active_warnings(connection, garden.id)[0]
        more = {**first.data["events"][0], "description": "By 21:00 cover Fig 9.\n\nCaution: none."}
        remember(connection, replace(first, data={**first.data, "events": [*first.data["events"], more]}))
    said = leafclock("warn").out
    assert said.count("- By 21:00 cover Fig 9.") == 1
    assert "- By 18:00" not in said  # what the text has is not repeated


def test_a_tree_of_several_warnings_is_asked_in_once_and_back_once(garden_on: Garden) -> None:
    """Two nights of one cold spell: nobody carries a tree in twice, or out of a place that the other asks for."""
    garden = garden_on(COLD)
    said = " ".join(garden("warn").out.split())
    assert "By Thursday 15:00 have Maple 3, Cutleaf and Satsuki 2 in “porch”, as another warning asks" in said
    asked = [event for event in timed_on(COLD) if event.to is not None]
    trees = [tree for event in asked for tree in event.tree_ids]
    assert len(set(trees)) == len(trees) == 8
    first = next(event for event in asked if len(event.tree_ids) == 6)
    backs = garden("answer", name_of_move(first), "Moved").out.splitlines()[1:]
    assert len([text for text in backs if "Back to" in text]) == 1
    steps = [event for event in timed_on(COLD) if event.at]
    assert sorted(tree for step in steps for tree in step.tree_ids) == sorted(first.tree_ids)


def test_what_the_seasons_move_brought_in_is_not_asked_back(garden_on: Garden) -> None:
    """The plan brings it out when its season is over; that the warning ends is no reason."""
    garden = garden_on(COLD)
    garden("warn")
    move = next(one for one in json.loads(garden("due", "--json").out) if len(one["items"]) == 6)
    assert garden("answer", move["name"], "Moved").status == 0
    assert "Back to" not in garden("due").out
    assert not [event for event in timed_on(COLD) if event.at]


def test_a_tree_that_the_season_would_call_in_again_is_not_asked_back(
    leafclock: Program,
) -> None:
    """In mid November a maple near Chicago goes under cover for the winter (growers' dates): one frost's end changes nothing."""
    where = ("--db", "lisle.db", "--today", "2014-11-15")
    assert leafclock("start", "--place", "Lisle", "--trees", "Japanese maple", *where).status == 0
    assert leafclock("spot", "add", "shed", "--profile", "frost-free", "--db", "lisle.db").status == 0
    session = open_session("lisle.db", None, date(2014, 11, 15))
    (tree,), spots = session.trees, {spot.name: spot.id for spot in session.spots.values()}
    now = session.clock.now
    back = TimedEvent(
        UUID(int=9), (tree.id,), now + timedelta(days=1), now + timedelta(days=1, hours=1), "Back", "", "", 0, now,
        spots["bench"], (), (spots["shed"],),
    )  # fmt: skip
    assert leafclock("tree", "change", tree.label, "--spot", "shed", *where).status == 0
    assert wanted_out(open_session(*where[1:2], None, date(2014, 11, 15)), [back]) == []
    june = open_session("lisle.db", None, date(2015, 6, 20))
    later = replace(back, start=june.clock.now, end=june.clock.now, revised_at=june.clock.now)
    assert wanted_out(june, [later]) == [later]


def test_a_tree_does_not_come_back_the_morning_before_the_next_frost(garden_on: Garden) -> None:
    """Both nights are in the forecast; a step back between them is put off, once."""
    garden = garden_on(COLD)
    garden("warn")
    first = next(event for event in timed_on(COLD) if len(event.tree_ids) == 6)
    garden("answer", name_of_move(first), "Moved")
    garden("warn")
    (step,) = [event for event in timed_on(COLD) if event.at]
    early = step.start - timedelta(hours=23)  # on Thursday, at ten
    with closing(open_store("garden.db")) as store, store.begin() as connection:
        known = warnings_since(connection, gardens.get_garden(connection).id, step.start - timedelta(days=9))
        for one in known:
            returns = [{**row, "start": early.isoformat()} for row in one.data.get("returns", ())]
            remember(connection, replace(one, data={**one.data, "returns": returns}))
    assert [event.start for event in timed_on(COLD) if event.at] == [early]
    garden("warn")
    (later,) = [event for event in timed_on(COLD) if event.at]
    assert step.start <= later.start < step.start + timedelta(hours=3)
    garden("warn")
    assert [event.sequence for event in timed_on(COLD) if event.at] == [later.sequence]


@pytest.mark.parametrize("judged_since", [False, True])
def test_a_move_that_is_taken_back_is_asked_for_again(garden_on: Garden, *, judged_since: bool) -> None:
    garden = garden_on(COLD)
    garden("warn")
    before = timed_on(COLD)
    move = next(event for event in before if len(event.tree_ids) == 6)
    assert garden("answer", name_of_move(move), "Moved").status == 0
    assert move.uid not in {event.uid for event in timed_on(COLD)}
    if judged_since:
        garden("warn")
    session = open_session("garden.db", None, date.fromisoformat(COLD))
    take_back(session, [session.entries[-1].id])
    assert {(one.start, one.to, one.tree_ids) for one in timed_on(COLD)} == {
        (one.start, one.to, one.tree_ids) for one in before
    }


def test_a_move_of_the_season_that_is_taken_back_leaves_the_warning_as_it_was(garden_on: Garden) -> None:
    garden = garden_on(COLD)
    garden("warn")
    before = timed_on(COLD)
    move = next(one for one in json.loads(garden("due", "--json").out) if len(one["items"]) == 6)
    assert garden("answer", move["name"], "Moved").status == 0
    assert timed_on(COLD) != before
    session = open_session("garden.db", None, date.fromisoformat(COLD))
    take_back(session, [session.entries[-1].id])
    assert timed_on(COLD) == before


def test_a_way_back_bears_one_stamp_until_it_is_judged_anew(
    garden_on: Garden, it_is: Callable[[str], None]
) -> None:
    garden = garden_on(COLD)
    garden("warn")
    move = next(event for event in timed_on(COLD) if len(event.tree_ids) == 6)
    garden("answer", name_of_move(move), "Moved")
    session = open_session("garden.db", None, date.fromisoformat(COLD))
    early, late = (timed_events(session, session.clock.now + timedelta(minutes=n)) for n in (0, 50))
    assert [one.revised_at for one in late if one.at] == [one.revised_at for one in early if one.at] != []
