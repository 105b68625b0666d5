"""What becomes of warnings that another tells of, as forecasts, trees and channels change; threats are given."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.first_day.telling import gravest_warning
from calendar_core.app.warnings.channel_notices import standing_notices, tell_standing
from calendar_core.app.warnings.stored_warnings import timed_events
from tests.app.conftest import run
from tests.app.warnings.test_any_course import FIRST, HOUR, AnyCourse

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from alerts.notices import Notice
    from alerts.threats import Level
    from calendar_core.knowledge.words import Hazard

    Weather = Mapping[Hazard, tuple[dict[int, Level], int]]
    """The level of each threatened tree by hazard, and how many hours later than usual it comes."""

pytestmark = pytest.mark.slow

DAY = timedelta(days=1)

HEAT: Weather = {"heat": ({0: "danger"}, 0)}
HOT_POTS: Weather = {"hot roots": ({0: "danger"}, 0)}
EARLY_POTS: Weather = {"hot roots": ({0: "danger"}, -3)}
"""Asks for the same move sooner, so that the message of the heat carries it."""


@pytest.fixture
def course() -> Iterator[AnyCourse]:
    """Give a garden whose threats are given, two days before the second of them."""
    made = AnyCourse()
    yield made
    made.teardown()


def foretold(course: AnyCourse, *weather: Weather) -> list[Notice]:
    """Let forecasts come half an hour apart, and return what was told over the first channel."""
    before = len(course.told)
    for found in weather:
        course.given = {(hazard, FIRST): given for hazard, given in found.items()}
        course.now += HOUR / 2
        course._round()
    first = course.channels[0].id
    return [message.notice for _, channel, message in course.told[before:] if channel == first]


def asked(course: AnyCourse) -> list[tuple[str, int]]:
    """Return what the calendar asks for of the first tree, with the local hour."""
    events = timed_events(course._session(), course.now)
    return [
        (event.summary.partition(":")[0], event.start.astimezone(course.zone).hour)
        for event in events
        if course.trees[0] in event.tree_ids
    ]


def test_a_danger_that_one_forecast_missed_as_its_teller_was_withdrawn_is_told(course: AnyCourse) -> None:
    told = foretold(course, {**HEAT, **HOT_POTS}, HOT_POTS, {}, HOT_POTS)
    assert [notice.subject.partition(",")[0] for notice in told] == [
        "Danger from heat",
        "No longer expected: heat",
        "Danger from hot pots",
    ]


def test_both_are_taken_back_in_one_message(course: AnyCourse) -> None:
    told = foretold(course, {**HEAT, **EARLY_POTS}, {}, {})
    assert [notice.subject.rpartition(":")[0] for notice in told[:1]] + [told[-1].subject] == [
        "Danger from heat and hot pots, Thursday 11:00 to 18:00",
        "No longer expected: heat and hot pots, Thursday 11:00 to 18:00",
    ]


def test_what_was_told_along_is_told_no_more_once_its_trees_were_moved(course: AnyCourse) -> None:
    cautions: Weather = {
        "heat": ({0: "caution", 1: "caution"}, 0),
        "hot roots": ({0: "caution"}, -3),
    }
    foretold(course, cautions)
    course.a_tree_is_moved(0, False)
    update, withdrawal = foretold(course, {"heat": ({1: "danger"}, 0)}, {}, {})
    assert (update.action, "hot pots" in update.text) == ("update", False)
    assert withdrawal.subject == "No longer expected: heat, Thursday 11:00 to 18:00"


def test_what_was_told_along_and_is_over_is_told_no_more(course: AnyCourse) -> None:
    foretold(course, {**HEAT, **EARLY_POTS})
    course.now += 30 * HOUR  # 15:30 of the day, when the pots are over
    (update,) = foretold(course, {"heat": ({0: "danger"}, 3)})
    assert (update.action, "hot pots" in update.subject + update.text) == ("update", False)


def test_a_tree_that_two_warnings_moved_comes_back_once_after_both(course: AnyCourse) -> None:
    foretold(course, {**HEAT, **EARLY_POTS})
    assert asked(course) == [("Move to “under the eaves”", 7)]
    course.a_tree_is_moved(0, False)
    assert asked(course) == [("Back to “bench”", 18)]


def test_what_was_told_along_and_is_withdrawn_is_asked_for_no_more(course: AnyCourse) -> None:
    foretold(course, {**HEAT, **EARLY_POTS}, HEAT, HEAT)
    assert asked(course) == [("Move to “under the eaves”", 10)]


def test_what_is_told_along_again_is_asked_for_as_it_is_told(course: AnyCourse) -> None:
    """As the heat gets worse its message says anew what to do about the pots."""
    cautions: Weather = {"heat": ({0: "caution"}, 0), "hot roots": ({0: "caution"}, -3)}
    foretold(course, cautions)
    later: Weather = {"heat": ({0: "danger"}, 0), "hot roots": ({0: "caution"}, -1)}
    (update,) = foretold(course, later)
    assert "By Thursday 9:00 move" in update.text
    assert asked(course) == [("Move to “under the eaves”", 9)]


LATE_POTS: Weather = {"hot roots": ({0: "danger"}, 3)}
"""Ends at 21:00, when the heat that carries it has been over for three hours."""


def test_what_outlasts_its_teller_is_told_to_who_comes_then(course: AnyCourse) -> None:
    """A channel that is switched on that evening, and the first screen."""
    (both,) = foretold(course, {**HEAT, **LATE_POTS})
    assert [notice.subject for notice in standing_notices(course._session())] == [both.subject]
    course.now += 33 * HOUR  # 18:30 of the day
    (left,) = standing_notices(course._session())
    assert left.subject.startswith("Danger from hot pots, Thursday 14:00 to 21:00")
    grave = gravest_warning(course._session())
    assert grave is not None
    assert grave.hazard == "hot roots"


def test_a_cold_spell_that_goes_on_is_told_to_who_comes_on_its_second_day(course: AnyCourse) -> None:
    course.given = {("frost", FIRST + n * 24 * HOUR): ({0: "danger"}, 0) for n in range(2)}
    course.now += 6 * HOUR
    course._round()
    course.now += 17 * HOUR  # 8:00 of the first day, when its frost is over
    (left,) = standing_notices(course._session())
    assert left.subject.startswith("Danger from frost, Friday 2:00 to 8:00")


def test_what_outlasts_its_teller_is_shown_with_its_own_text(course: AnyCourse) -> None:
    morning: Weather = {"heat": ({0: "danger"}, -9), "hot roots": ({0: "danger"}, -5)}
    foretold(course, morning)
    course.now += 24 * HOUR
    foretold(course, morning)
    said = run("warn", "--dry-run", "--db", str(course.folder / "garden.db"), "--today", f"{FIRST}")  # noon
    assert "Danger from hot pots, Thursday 6:00 to 13:00" in said.out
    assert "root ball likely at 42 °C" in said.out
    assert "It goes on" not in said.out


def told_late(course: AnyCourse) -> list[str]:
    """Let the second channel work again, and return what comes over it then, without hours and trees."""
    course.channel_changes(1, "works")
    course.time_passes(2)
    second = course.channels[1].id
    return [
        message.notice.subject.partition(",")[0] for _, channel, message in course.told if channel == second
    ]


def test_a_warning_that_waited_while_its_trees_were_moved_is_not_sent(course: AnyCourse) -> None:
    course.channel_changes(1, "down")
    foretold(course, HEAT)
    course.a_tree_is_moved(0, False)
    assert told_late(course) == []
    course.a_tree_is_moved(0, True)
    assert told_late(course) == ["Danger from heat"]


def test_a_caution_that_waited_while_it_was_left_to_another_is_not_sent_after_it(course: AnyCourse) -> None:
    course.channel_changes(1, "down")
    foretold(course, {"hot roots": ({0: "caution"}, 0)}, {**HEAT, **EARLY_POTS})
    assert told_late(course) == ["Danger from heat and hot pots"]


def test_what_a_channel_is_caught_up_with_waits_though_it_was_left_to_another(course: AnyCourse) -> None:
    course.channel_changes(1, "down")
    foretold(course, {**HEAT, **LATE_POTS})
    course.now += 33 * HOUR
    session = course._session()
    with course.store.begin() as connection:
        tell_standing(session, connection, course.channels[1], standing_notices(session))
    foretold(course, {**HEAT, **LATE_POTS})
    course.works_since[course.channels[1].id] = course.now
    assert told_late(course) == ["Danger from hot pots"]


@pytest.mark.parametrize(("pots", "back"), [(EARLY_POTS, "18:00"), (LATE_POTS, "21:00")])
def test_a_tree_that_two_hazards_send_to_one_spot_stays_for_both(
    course: AnyCourse, pots: Weather, back: str
) -> None:
    (both,) = foretold(course, {**HEAT, **pots})
    told = {part.partition(".")[0] for part in both.text.split("Back after ")[1:]}
    assert told == {back}


def test_the_second_night_of_a_spell_is_told_where_the_first_never_came(course: AnyCourse) -> None:
    """One message tells of both; over the channel that was down it lapsed, and nothing would be told again."""
    course.channel_changes(1, "down")
    spell: tuple[dict[int, Level], int] = {0: "danger"}, 0
    course.given = {("frost", FIRST): spell, ("frost", FIRST + DAY): spell}
    course.time_passes(24)
    assert [subject for subject in told_late(course) if "frost" in subject] == ["Danger from frost"]
    first = [message for _, to, message in course.told if to == course.channels[0].id]
    assert len(first) == 1  # where it came, it is not told again
