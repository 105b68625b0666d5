"""What a grower is told as forecasts come with gaps, flip, grow old, and clocks are wrong; the weather is invented."""

from __future__ import annotations

import shutil
from contextlib import closing
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from alerts.outbox.standing import last_judgement
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.app.conftest import run
from tests.app.warnings.foretold import HOUR, SEATTLE, Foretold

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

pytestmark = pytest.mark.slow

WEDNESDAY, THURSDAY, FRIDAY = (date(2015, 6, 24) + timedelta(days=n) for n in range(3))
HOT = {THURSDAY: 44.0}


def at(day: date, hour: int, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=SEATTLE)


@pytest.fixture
def garden(founded: Path, folder: Path) -> Iterator[Foretold]:
    """Give the founded garden with a mail channel."""
    shutil.copy(founded, folder / "garden.db")
    assert run("channel", "add", "mail", "ines@leafclock.example").status == 0
    made = Foretold()
    yield made
    made.end()


def test_a_gap_tonight_hides_no_danger_of_tomorrow(garden: Foretold) -> None:
    now = at(WEDNESDAY, 18, 1)
    garden.forecast(now, HOT, unknown=(at(WEDNESDAY, 21), at(THURSDAY, 4)))
    garden.at(now)
    assert [text for text in garden.subjects() if text.startswith("Danger from heat and hot pots, Thursday")]
    (digest,) = (notice for _, notice in garden.told if notice.action == "digest")
    assert "heat" in digest.subject
    assert "The forecast tells nothing of 20:00 to Thursday 4:00" in digest.text
    assert garden.said[1:] == []


def test_a_gap_that_begins_within_the_hour_is_no_lack_of_a_forecast(garden: Foretold) -> None:
    now = at(WEDNESDAY, 18, 1)
    garden.forecast(now, HOT, unknown=(at(WEDNESDAY, 17), at(THURSDAY, 4)))
    garden.at(now)
    assert [text for text in garden.subjects() if text.startswith("Danger from heat and hot pots, Thursday")]
    assert not [text for text in garden.subjects() if "no forecast" in text]


def test_a_forecast_that_ends_in_three_hours_is_not_told_as_no_warning(garden: Foretold) -> None:
    now = at(WEDNESDAY, 18, 1)
    garden.forecast(now, hours=4)
    garden.at(now)
    ((_, digest),) = garden.told
    assert digest.subject == "Tonight and tomorrow: part of the forecast is missing"
    assert "The forecast tells nothing of 21:00 to Friday 0:00" in digest.text
    assert "promise" not in digest.text


def test_hours_that_are_not_known_take_no_warning_back(garden: Foretold) -> None:
    """The 44 degC is still there behind them, or is one of them."""
    for run_of, unknown in enumerate((None, (4, 12), (9, 21), (9, 21), (4, 12))):
        now = at(WEDNESDAY, 20) + run_of * 6 * HOUR
        gap = None if unknown is None else (at(FRIDAY, unknown[0]), at(FRIDAY, unknown[1]))
        garden.forecast(now, {FRIDAY: 44.0}, unknown=gap)
        garden.judge(now)
    assert [text for text in garden.subjects() if text.startswith("Danger from heat")]
    assert not [text for text in garden.subjects() if text.startswith("No longer expected")]
    for hours in (1, 2):  # seen without heat, it is taken back
        now = at(THURSDAY, 20) + hours * HOUR
        garden.forecast(now)
        garden.judge(now)
    assert [text for text in garden.subjects() if text.startswith("No longer expected: heat")]


def test_a_danger_that_was_left_to_another_is_told_when_that_is_withdrawn(garden: Foretold) -> None:
    """Saturday's heat is first told, withdrawn, then left to Friday's moves, and Friday's heat goes away."""
    saturday = FRIDAY + timedelta(days=1)
    course: list[tuple[int, dict[date, float]]] = [
        (23, {saturday: 44.0}), (24, {}), (25, {}), (26, {FRIDAY: 44.0, saturday: 44.0}),
        (27, {saturday: 44.0}), (28, {saturday: 44.0}), (29, {saturday: 44.0}),
    ]  # fmt: skip
    for hour, peaks in course:
        now = at(THURSDAY, 0) + hour * HOUR
        garden.forecast(now, peaks)
        garden.judge(now)
    heat = [text for text in garden.subjects() if "heat" in text]
    assert sum(text.startswith("Danger from heat") for text in heat) == 3
    assert [text for text in heat if "Saturday" in text][-1].startswith("Danger from heat")
    revisions = [
        (notice.warning_id, notice.revision) for _, notice in garden.told if notice.action != "digest"
    ]
    assert len(set(revisions)) == len(revisions)


def test_a_day_that_was_only_asked_for_stores_nothing(garden: Foretold, it_is: Callable[[str], None]) -> None:
    it_is(f"{WEDNESDAY}")
    garden.forecast(at(WEDNESDAY, 12), {WEDNESDAY: 44.0, THURSDAY: 44.0})
    said = run("warn", "--today", f"{THURSDAY}")
    assert (said.status, said.err) == (0, "")
    assert "Judged as of another day than today, so this is only shown: nothing was stored or sent." in (
        " ".join(said.out.split())
    )
    assert garden.messages() == ()
    with closing(open_store("garden.db")) as store, store.read() as connection:
        assert last_judgement(connection, gardens.get_garden(connection).id) is None
    assert run("warn", "--today", f"{WEDNESDAY}").status == 0
    assert garden.messages()


def test_a_clock_that_was_days_ahead_for_a_round_keeps_no_danger_back(garden: Foretold) -> None:
    now = at(WEDNESDAY, 13)
    garden.forecast(now)
    garden.at(now)
    garden.at(now + timedelta(days=3))
    for hours in range(1, 12):
        garden.forecast(now + hours * HOUR, HOT if hours >= 4 else {})
        garden.at(now + hours * HOUR)
    told = {notice.subject.partition(",")[0]: when for when, notice in garden.told if notice.action == "new"}
    assert told["Danger from heat and hot pots"] <= at(WEDNESDAY, 18)


def test_a_clock_that_was_ahead_for_a_round_makes_no_warning_pass(garden: Foretold) -> None:
    now = at(WEDNESDAY, 13)
    garden.forecast(now, HOT)
    garden.judge(now, send=False)
    garden.forecast(now + timedelta(days=3), issued=now)
    garden.at(now + timedelta(days=3))
    garden.forecast(now, HOT)
    garden.at(now + HOUR, "sending")
    garden.judge(now + 2 * HOUR)
    assert [text for text in garden.subjects() if text.startswith("Danger from heat and hot pots, Thursday")]
    assert (
        "Danger from heat and hot pots, Thursday" in run("warn", "--dry-run", "--today", f"{WEDNESDAY}").out
    )


def test_a_garden_that_was_never_judged_is_told_so_each_evening(garden: Foretold) -> None:
    for hours in range(50):
        garden.at(at(WEDNESDAY, 13) + hours * HOUR, "hazards", "sending")
    assert [when.hour for when, _ in garden.told] == [13, 18, 18]
    assert set(garden.subjects()) == {"No warnings yet: there is no forecast to judge by"}


def test_that_nothing_is_judged_is_told_once_and_with_its_reason(garden: Foretold) -> None:
    """The weather service is gone for two days: the forecast grows old, and that is said, not that all is silent."""
    begun = at(WEDNESDAY, 12)
    garden.forecast(begun)
    for hours in range(44):
        garden.at(begun + hours * HOUR, "hazards", "sending")
    words = [text.partition(":")[0] for text in garden.subjects()]
    assert words == [
        "Tonight and tomorrow",
        "Cannot judge",
        "Cannot judge",
    ]  # evening, when it is old, evening
    assert [when.hour for when, _ in garden.told] == [18, 5, 18]


def test_who_looks_after_the_trees_is_told_what_stands_as_the_grower_leaves(garden: Foretold) -> None:
    """The grower is warned of Thursday, and writes down after it that they are away then."""
    helper = ("channel", "add", "mail", "helper@leafclock.example", "--while-away")
    assert run(*helper, "--quiet", "none").status == 0
    now = at(WEDNESDAY, 13)
    garden.forecast(now, HOT)
    garden.at(now)
    warned = list(garden.subjects())
    assert [text.partition(",")[0] for text in warned] == ["Danger from heat and hot pots"]
    assert run("away", f"{THURSDAY}", f"{FRIDAY}", "--today", f"{WEDNESDAY}").status == 0
    for minutes in (1, 2):
        garden.at(now + timedelta(minutes=minutes), "sending")
    assert garden.subjects() == warned * 2


def test_the_first_screen_calls_no_night_calm_of_which_it_knows_nothing(
    garden: Foretold, it_is: Callable[[str], None]
) -> None:
    it_is(f"{WEDNESDAY}")
    noon = at(WEDNESDAY, 12)
    garden.forecast(noon)
    garden.judge(noon)
    assert "No warning stands." in run("today").out
    garden.forecast(noon, unknown=(at(WEDNESDAY, 20), at(THURSDAY, 5)))
    garden.judge(noon)
    assert "No warning stands; hours are missing." in run("today").out
