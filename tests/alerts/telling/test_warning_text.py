"""The text of warnings: what, when, which trees, what to do, how sure, and what to mind. Trees and values are invented."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import product
from typing import TYPE_CHECKING, get_args
from uuid import UUID

import pytest

from alerts.policy.judging import WarningChange, What
from alerts.telling.events import events_of, way_back
from alerts.telling.warning import Carried, Told, notice_of, tell
from alerts.threats import Why
from calendar_core.knowledge.words import Hazard, Means
from calendar_core.wording.warnings import warning_text as phrases
from tests.alerts.made_up import (
    ASH,
    BEECH,
    BEGINS,
    FRAME,
    MAPLE,
    NOW,
    SECOND,
    TREES,
    advice,
    judged,
    mild,
    raised,
    threat,
    voice,
)
from tests.planning.made_up import knowledge
from tests.wording.plain import UNITS, is_plain

if TYPE_CHECKING:
    from alerts.threats import Advice
    from calendar_core.garden.model import Units

HAZARDS: tuple[Hazard, ...] = get_args(Hazard)
MEANS: tuple[Means, ...] = get_args(Means)
MORE_CARE = {  # what people must mind; the project's trade facts and its rules of safety, not its config
    "heat": "water at hand",
    "sunburn": "water at hand",
    "hot roots": "water at hand",
    "drying": "water at hand",
    "frost": "Ice underfoot",
    "cold roots": "Ice underfoot",
    "move": "two people",
    "lay down": "two people",
    "cover": "Do not climb",
}
GOLDEN = """\
Thursday 25 June, 11:00 to 18:00.
In danger: Maple 1 and Maple 2.
To watch: Beech.
Maple 1: leaves likely at 41 °C, at 44 °C if it comes badly; harm begins at 38 °C, danger at 42 °C.
New leaves, so harm begins sooner: Maple 1.

By Thursday 9:00 move Maple 1 and Maple 2 to “under the ash” (leaves 36 °C instead of 44 °C). Back after 18:00. Light enough there for a hot week.
By Thursday 9:00 water Beech again (leaves 36 °C instead of 44 °C).
Water well in the morning: a leaf that drinks stays cooler.

How sure: danger 7 times in 10, some harm 9 times in 10.

Caution: On hot days work before ten or towards dusk, in shade, with water at hand; from a heat index of 33 °C take added care, from 39 °C leave heavy work.
Caution: A wet pot weighs about 1.5 kg a litre (12.5 lb a US gallon): above 20 kg (45 lb) two people or a trolley, and clear, dry steps.

Mill yard: judged 18:00 on the forecast of 15:40. Official warnings, labels and local rules come first. Forecasts err: look at your trees too."""


def hot() -> WarningChange:
    return raised(threat(reasons=("new leaves",)), threat(SECOND, bad=43.0), mild(BEECH))


def shelter() -> list[Advice]:
    return [advice(MAPLE, SECOND), advice(BEECH, do="water", to=None, enough=None)]


def told(hazard: Hazard, do: Means, units: Units = "metric") -> Told:
    why = "no better place" if do == "nothing" else "below the line"
    found = advice(hazard=hazard, do=do, why=why, here=0.9, there=0.2)
    return tell(voice(units), raised(threat(hazard=hazard)), [found], NOW)


def test_a_warning_of_heat_reads_so() -> None:
    found = tell(voice(), hot(), shelter(), NOW)
    assert found.subject == "Danger from heat, Thursday 11:00 to 18:00: Maple 1 and 2 more"
    assert found.text == GOLDEN


def carried(hazard: Hazard, level_of: WarningChange, *pieces: Advice) -> Carried:
    change = replace(level_of, standing=replace(level_of.standing, hazard=hazard))
    threats = tuple(replace(each, hazard=hazard) for each in change.threats)
    return Carried(change.standing, threats, [replace(piece, hazard=hazard) for piece in pieces])


def test_what_else_the_day_brings_to_the_same_trees_is_told_with_it() -> None:
    """What the same moves meet is named; what is to be done besides is asked for, and minded."""
    met = carried("hot roots", raised(threat(SECOND)), advice(SECOND, asked=True))
    dry = carried("drying", raised(mild(BEECH)), advice(BEECH, do="cover", to=None, cloth_percent=50))
    found = tell(voice(), hot(), shelter(), NOW, carried=[met, dry])
    assert found.subject == "Danger from heat and hot pots, Thursday 11:00 to 18:00: Maple 1 and 2 more"
    paragraphs = found.text.split("\n\n")
    assert paragraphs[:2] == GOLDEN.split("\n\n")[:2]
    assert paragraphs[2] == (
        "Danger from hot pots, Thursday 11:00 to 18:00: met by the same moves, for Maple 2."
    )
    assert paragraphs[3].startswith(
        "Look out for drying out, Thursday 11:00 to 18:00: Beech.\nBy Thursday 9:00 hang shade cloth of 50 % over Beech"
    )
    assert "Do not climb" in found.text
    assert paragraphs[-1] == GOLDEN.rsplit("\n\n", maxsplit=1)[-1]
    helpless = carried("hot roots", raised(mild(BEECH)), advice(BEECH, do="nothing", why="no better place"))
    lost = tell(voice(), hot(), shelter(), NOW, carried=[helpless]).text
    assert "Beech.\nNo better place is known for Beech: leave in place" in lost
    assert "met by" not in lost
    early = carried("drying", raised(mild(BEECH)), advice(BEECH, do="cover", to=None, by=NOW))
    assert notice_of(voice(), hot(), shelter(), NOW, carried=[early]).act_by == NOW


def test_a_message_begins_with_the_first_of_what_it_tells() -> None:
    early = carried("hot roots", raised(threat(SECOND)))
    standing = replace(early.standing, onset=BEGINS - timedelta(hours=2))
    notice = notice_of(voice(), hot(), shelter(), NOW, carried=[replace(early, standing=standing)])
    assert (notice.onset, notice.expires) == (standing.onset, hot().standing.expires)


def test_what_was_told_together_is_withdrawn_together() -> None:
    gone = replace(hot(), action="withdraw", threats=())
    found = tell(voice(), gone, [], NOW, carried=[carried("hot roots", raised(threat(SECOND)))])
    assert found.subject == "No longer expected: heat and hot pots, Thursday 11:00 to 18:00"
    assert "The warning of heat and hot pots (Thursday 25 June, 11:00 to 18:00) is withdrawn" in found.text


def test_who_has_heard_nothing_of_a_warning_hears_of_its_change_as_new() -> None:
    change = replace(hot(), action="update", what=("danger",), before=raised(mild()).standing)
    notice = notice_of(voice(), change, shelter(), NOW)
    assert notice.subject.startswith("Changed: ")
    assert notice.text.startswith("Now in danger: ")
    assert (notice.anew_subject, notice.anew_text) == (
        "Danger from heat, Thursday 11:00 to 18:00: Maple 1 and 2 more",
        GOLDEN,
    )
    assert notice.act_by == datetime(2015, 6, 25, 16, tzinfo=UTC)


def test_where_such_units_are_used_it_reads_so() -> None:
    found = tell(voice("us"), hot(), shelter(), NOW)
    assert found.subject == "Danger from heat, Thursday 11 am to 6 pm: Maple 1 and 2 more"
    assert "Thursday, June 25, 11 am to 6 pm." in found.text
    assert "leaves likely at 106 °F, at 111 °F" in found.text  # 41 and 44 degC by 9/5 t + 32
    assert (
        "By Thursday 9 am move Maple 1 and Maple 2 to “under the ash” (leaves 97 °F instead of 111 °F)."
        in found.text
    )
    assert "Mill yard: judged 6 pm on the forecast of 3:40 pm." in found.text
    assert "°C" not in found.text


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize(("hazard", "do"), list(product(HAZARDS, MEANS)))
def test_every_hazard_and_means_is_plain_and_promises_nothing(
    hazard: Hazard, do: Means, units: Units
) -> None:
    found = told(hazard, do, units)
    for line in [f"{found.subject}.", *found.text.splitlines()]:
        if line:
            is_plain(line)
    own = found.text.partition("Caution:")[0]
    assert not re.search(r"\bsafe|\bsure to\b|will be fine|protected|\bfeed\b|calendar", own, re.IGNORECASE)
    assert "Official warnings, labels and local rules come first" in found.text
    assert f"on the forecast of {'3:40 pm' if units == 'us' else '15:40'}." in found.text
    assert len(found.subject) <= 70


@pytest.mark.parametrize(("hazard", "do"), list(product(HAZARDS, MEANS)))
def test_no_caution_that_is_due_is_missing(hazard: Hazard, do: Means) -> None:
    found = told(hazard, do)
    for cause in (hazard, do):
        if cause in MORE_CARE:
            assert MORE_CARE[cause] in found.text, cause
    written = [key for key, one in knowledge().cautions.items() if voice().style.text(one.text) in found.text]
    assert set(written) == set(found.cautions)


def test_every_code_has_its_phrase() -> None:
    assert set(phrases.HAZARDS) == set(phrases.WORST) == set(phrases.GAINS) == {*HAZARDS, "chill"}
    assert set(phrases.DO) | {"nothing"} == set(MEANS)
    assert set(phrases.DO) == set(phrases.EVENT_SUMMARY)
    assert {*phrases.NOTHING, *phrases.NOTES, "below the line"} == set(get_args(Why))
    assert set(phrases.CHANGED) == set(get_args(What))


@pytest.mark.parametrize("why", phrases.NOTHING)
def test_to_do_nothing_is_an_answer_with_its_reason(why: str) -> None:
    found = tell(voice(), raised(), [advice(do="nothing", to=None, enough=None, why=why)], NOW)
    assert phrases.NOTHING[why].format(trees="Maple 1") in found.text


def test_what_is_to_be_done_comes_before_what_is_not() -> None:
    calm = advice(MAPLE, do="nothing", to=None, enough=None, why="no better place")
    text = tell(voice(), raised(threat(), mild(BEECH)), [calm, advice(BEECH)], NOW).text
    assert text.index("move Beech") < text.index("No better place is known for Maple 1")


def test_heat_that_strains_people_is_told_them() -> None:
    assert "may feel like 40 °C in shade" in tell(voice(), raised(), [], NOW, feels_c=40.4).text
    assert "for people too" not in tell(voice(), raised(), [], NOW).text


def test_a_move_that_does_not_suffice_or_is_too_dark_says_so() -> None:
    found = tell(voice(), raised(), [advice(why="best there is", enough=False)], NOW)
    assert (
        "Still past where harm begins, but the best there is here. Too dark there to stay longer."
        in found.text
    )


@pytest.mark.parametrize("reason", phrases.REASONS)
def test_why_a_line_is_lower_is_told_with_its_trees(reason: str) -> None:
    text = tell(voice(), raised(threat(reasons=(reason,)), threat(SECOND)), [], NOW).text
    (line,) = (line for line in text.splitlines() if line.endswith("harm begins sooner: Maple 1."))
    is_plain(line)


def test_a_frost_of_the_night_says_on_which_evening_to_move() -> None:
    """A night belongs to its morning."""
    begins, ends = datetime(2015, 6, 25, 9, tzinfo=UTC), datetime(2015, 6, 25, 13, tzinfo=UTC)
    move = advice(
        hazard="frost",
        by=datetime(2015, 6, 25, 4, tzinfo=UTC),
        until=datetime(2015, 6, 25, 15, tzinfo=UTC),
        here=-4.5,
        there=0.5,
        to=FRAME,
        enough=None,
    )
    found = tell(voice(), raised(threat(hazard="frost", begins=begins, ends=ends)), [move], NOW)
    assert found.subject == "Danger from frost, Thursday 2:00 to 6:00: Maple 1"
    assert "By 21:00 move Maple 1 to “cold frame” (down to 0 °C instead of -4 °C)." in found.text


CHILL = {"typical": 6.6, "bad": 5.2, "caution": 7.0, "danger": 3.0, "chances": (0.7, 0.05)}


def test_cold_above_freezing_is_not_called_frost_and_leaves_no_ice() -> None:
    fig = threat(MAPLE, "frost", reasons=("chill",), **CHILL)
    move = advice(hazard="frost", here=5.2, there=12.0, to=FRAME, enough=None, why="stays in")
    reader = voice("metric", None, MAPLE)
    change = raised(fig)
    found = tell(reader, change, [move], NOW)
    assert found.subject == "Look out for cold, Thursday 11:00 to 18:00: Maple 1"
    assert "Maple 1: air likely down to 7 °C, to 5 °C if it comes badly;" in found.text
    assert "From a warm climate, so harm begins sooner: Maple 1." in found.text
    assert "down to 12 °C instead of 5 °C" in found.text
    assert "Ice" not in found.text
    assert "rost" not in found.text
    (event,) = events_of(reader, change, [move], NOW)
    assert "Ice" not in event.description


def test_among_trees_that_meet_frost_it_is_frost_and_there_is_ice() -> None:
    fig, maple = threat(MAPLE, "frost", reasons=("chill",), **CHILL), threat(SECOND, "frost")
    moves = [
        advice(tree, hazard="frost", here=here, there=12.0, to=FRAME, enough=None)
        for tree, here in ((MAPLE, 5.2), (SECOND, -4.5))
    ]
    found = tell(voice("metric", None, MAPLE), raised(fig, maple), moves, NOW)
    assert found.subject.startswith("Danger from frost, ")
    assert "Caution: Ice underfoot" in found.text


def test_advice_for_other_days_hazards_and_trees_is_left_out() -> None:
    others = [
        advice(hazard="frost"),
        advice(BEECH),
        advice(by=BEGINS + timedelta(days=1), until=BEGINS + timedelta(days=2)),
        advice(by=BEGINS - timedelta(days=2), until=BEGINS - timedelta(days=1)),
    ]
    assert "move" not in tell(voice(), raised(), others, NOW).text.partition("Caution:")[0]


def test_hundreds_of_trees_make_a_short_message() -> None:
    many = {UUID(int=100 + n): f"Tree {n}" for n in range(300)}
    change = raised(*(threat(tree, bad=44.0 - n / 1000, reasons=("weak",)) for n, tree in enumerate(many)))
    trees = list(many)
    found = tell(voice(trees=many), change, [advice(*trees[n::60]) for n in range(60)], NOW)
    assert len(found.text) < 1700  # about two screens of a phone
    assert "In danger: Tree 0, Tree 1, Tree 2, Tree 3 and 296 more." in found.text
    assert "By Thursday 9:00 move Tree 0, " in found.text
    assert "Trees not named here: 280." in found.text


# Changes and withdrawal


def test_a_change_says_first_what_changed() -> None:
    later = NOW + timedelta(hours=6)
    found = [threat(begins=BEGINS - timedelta(hours=3)), threat(SECOND), threat(BEECH)]
    (change,) = judged(found, [hot().standing], now=later)
    text = tell(voice(), change, [advice(*TREES)], later)
    assert text.subject.startswith("Changed: Danger from heat, Thursday 8:00")
    assert text.text.startswith("Now in danger: Beech. It begins earlier: 8:00, not 11:00.\n\n")
    assert "Mill yard: judged 0:00 on the forecast of Wednesday 21:40." in text.text


@pytest.mark.parametrize(
    ("hours", "says"),
    [((4, 0), "It begins later: 15:00, not 11:00."), ((0, 4), "It lasts longer: until 22:00, not 18:00.")],
)
def test_other_hours_are_told_beside_the_old(hours: tuple[int, int], says: str) -> None:
    begins, ends = (timedelta(hours=h) for h in hours)
    moved = replace(threat(), begins=BEGINS + begins, ends=threat().ends + ends)
    (change,) = judged([moved], [raised().standing], now=NOW + timedelta(hours=1))
    assert tell(voice(), change, [], NOW).text.startswith(says)


def withdrawn() -> WarningChange:
    (miss,) = judged([], [hot().standing], now=NOW + timedelta(hours=6))
    (change,) = judged([], [miss.standing], now=NOW + timedelta(hours=12))
    return change


def test_a_withdrawal_reads_so() -> None:
    found = tell(voice(), withdrawn(), [], NOW + timedelta(hours=12))
    assert found.subject == "No longer expected: heat, Thursday 11:00 to 18:00"
    assert found.text == (
        "The warning of heat (Thursday 25 June, 11:00 to 18:00) is withdrawn: the newest forecasts no longer show it where "
        "your trees stand. It named Maple 1, Maple 2 and Beech.\n\n"
        "Nothing more needs to be moved or covered for it. What stands in shelter comes back as you see fit.\n\n"
        "Mill yard: judged 6:00 on the forecast of 3:40. Official warnings, labels and local rules come first. "
        "Forecasts err: look at your trees too."
    )


def test_a_notice_carries_text_and_fields() -> None:
    change = withdrawn()
    notice = notice_of(voice(), change, [], NOW)
    assert (notice.action, notice.revision, notice.warning_id) == ("withdraw", 2, hot().standing.id)
    assert notice.cap["responseType"] == "AllClear"
    assert notice.expires == hot().standing.expires
    quiet = WarningChange(None, change.standing)
    with pytest.raises(ValueError, match="nobody"):
        notice_of(voice(), quiet, [], NOW)


# In the calendar


def test_a_move_is_an_event_from_when_to_when_it_stands_there() -> None:
    move, water = events_of(voice(), hot(), [*shelter(), advice(BEECH, do="nothing")], NOW)
    assert (move.start, move.end) == (advice().by, advice().until)
    assert move.summary == "Move to “under the ash”: Maple 1 and Maple 2"
    assert move.reminder == "Move to “under the ash”: Maple 1 and Maple 2, by 9:00"
    assert "two people" in move.description
    assert water.summary == "Water: Beech"


def test_an_event_keeps_its_id_as_hours_and_trees_change() -> None:
    (first,) = events_of(voice(), hot(), [advice(MAPLE)], NOW)
    (later,) = events_of(voice(), hot(), [advice(MAPLE, SECOND, by=BEGINS)], NOW)
    (other,) = events_of(voice(), hot(), [advice(MAPLE, to=FRAME)], NOW)
    assert first.uid == later.uid != other.uid
    twice = events_of(voice(), hot(), [advice(MAPLE), advice(SECOND, until=BEGINS)], NOW)
    assert len({event.uid for event in twice}) == 2


def test_what_is_due_already_is_asked_for_now() -> None:
    found = tell(voice(), hot(), shelter(), advice().by)
    assert "Now move Maple 1 and Maple 2 to “under the ash”" in found.text
    assert advice().to == ASH


def test_a_moved_tree_comes_back_when_it_is_over_by_the_steps_it_needs() -> None:
    (move,) = events_of(voice(), hot(), [advice(MAPLE, SECOND)], NOW)
    (back,) = way_back(voice(), move, {MAPLE: FRAME}, NOW)
    assert (back.start, back.to, back.tree_ids) == (advice().until, FRAME, (MAPLE,))
    assert back.summary == "Back to “cold frame”: Maple 1"
    days = (date(2015, 6, 27), date(2015, 6, 29))
    (slow,) = events_of(voice(), hot(), [advice(MAPLE, back=((days[0], ASH), (days[1], FRAME)))], NOW)
    steps = way_back(voice(), slow, {MAPLE: FRAME}, NOW)
    assert [(one.start.date(), one.to) for one in steps] == [(days[0], ASH), (days[1], FRAME)]
    (stays,) = events_of(voice(), hot(), [advice(MAPLE, why="stays in")], NOW)
    assert way_back(voice(), stays, {MAPLE: FRAME}, NOW) == ()
