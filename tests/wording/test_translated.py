"""Texts of every subject go through the reader's language: a translator who shouts leaves no word in a low voice."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

import pytest

from calendar_core.garden.model import Entry, Spot
from calendar_core.garden.parts import Part
from calendar_core.planning.moved_dates import DateMove, MovePart, Spell, Written
from calendar_core.planning.review.checklist import WINTER, Question
from calendar_core.planning.review.next_year import NextYear
from calendar_core.planning.review.summary import figures, year_to
from calendar_core.planning.review.supplies import Fertilizer, Paste, Supplies, WireRoll
from calendar_core.wording.garden import (
    answer_text,
    carrying_text,
    first_day_text,
    garden_text,
    log_text,
    weather_text,
)
from calendar_core.wording.plan import away_text, calendar_text, due_text, move_text, plan_text, rota_text
from calendar_core.wording.review import next_text, question_text, sheet_text, summary_text
from calendar_core.wording.sentences import Speaker
from calendar_core.wording.style import Style
from calendar_core.wording.warnings import judged_text
from tests.planning.made_up import knowledge
from tests.wording.plain import TODAY

if TYPE_CHECKING:
    from collections.abc import Callable

ID = UUID(int=1)
DAY = date(2015, 6, 24)


def _shout(phrase: str) -> str:
    """Return a phrase in capitals, but for the names in its braces."""
    return re.sub(r"\{[^}]*\}|[^{]+", lambda m: m[0] if m[0].startswith("{") else m[0].upper(), phrase)


STYLE = Style("us", _shout)
SPEAKER = Speaker(STYLE, TODAY, knowledge().operations, knowledge().sources)
LOG = log_text.LogSpeaker(STYLE, knowledge().operations, knowledge().aftercare, {}, {})
SPOT = Spot(ID, ID, "X", sun_from=time(8), sun_to=time(12), cloth_percent=30, roof=True, quarantine=True)
NEXT = next_text.NextSpeaker(SPEAKER, {})
ENTRY = Entry(
    ID, ID, (ID,), DAY, datetime(2015, 6, 24, tzinfo=UTC), "X", "answer", {"answer": "not this cycle"}
)
PART = Part(ID, ID, ID, DAY, "wound", "X", directive="undecided", decide_by="leaf_fall", height_mm=100.0)
MOVED = DateMove(
    ID, "safe", ID, DAY, DAY, DAY, DAY + timedelta(days=3), (
        MovePart("weather", 2, Spell(DAY, DAY, 2.1, "usual")),
        MovePart("sight", 1, written=(Written("seen", "not yet bud_break", DAY), Written("work", "repot", DAY))),
    ), "repot", "repot", 2015,
)  # fmt: skip

TEXTS: dict[str, Callable[[], str]] = {
    "plan": lambda: plan_text.within_weeks(STYLE, plan_text.PLAN["nothing"], 6),
    "question": lambda: plan_text.question(SPEAKER, "bud_break", DAY, "X", buds_closed=False),
    "objection": lambda: plan_text.either_part(STYLE, ["GRAFT", "LAYER"]),
    "moved": lambda: move_text.move_sentence(SPEAKER, MOVED),
    "moved, in a line": lambda: move_text.matters_line(SPEAKER, [MOVED], {ID: "X"}),
    "due": lambda: due_text.nothing_within(STYLE, 7),
    "warning": lambda: due_text.warning_line(STYLE, "X", "Y", ["Z"]),
    "free": lambda: rota_text.free_line(STYLE, [20, 20, 20, 20, 20, 180, 0], "X", "Y", usual=True),
    "away": lambda: rota_text.away_line(SPEAKER, DAY, DAY + timedelta(days=4)),
    "sheet": lambda: away_text.sheet_title(SPEAKER, "X", DAY, DAY),
    "entry": lambda: LOG.told(ENTRY),
    "part": lambda: log_text.followed(STYLE, PART, TODAY),
    "spot": lambda: garden_text.spot_words(STYLE, SPOT),
    "answer": lambda: answer_text.put_off(SPEAKER, "X", DAY),
    "start": lambda: first_day_text.fetched_behind(STYLE, 20),
    "sent": lambda: judged_text.would_be_sent(STYLE, 2, 3),
    "forecast": lambda: weather_text.forecast_line(SPEAKER, "X", DAY, 30, DAY),
    "frost": lambda: weather_text.frost_words(SPEAKER, None),
    "export": lambda: carrying_text.holds(STYLE, "X", 1, 2, 3),
    "look": lambda: question_text.question_words(STYLE, Question(WINTER, "tree", WINTER, "yes or no")),
    "printed": lambda: sheet_text.written(STYLE, "X", 2, 3),
    "year ahead": lambda: NEXT.head(NextYear((), (), (), (), (), proven=True)),
    "wire": lambda: NEXT.supplies(
        Supplies((), (WireRoll(None, 2, (0.0, 0.0), 2),), (), Fertilizer((0, 0), 0, 0, 3), Paste(1, 2), ())
    )[0],
    "year": lambda: summary_text.SummarySpeaker(SPEAKER, {}).beside(
        figures(year_to(DAY), {}, ({}, {}), {}, ()), None
    ),
    "calendar": lambda: calendar_text.about(STYLE, "X", ""),
}
VALUES = re.compile(r"June|July|Monday|Friday|Saturday|Sunday|bud break|leaf fall|\d in\b|six|seven|and")
"""What is no phrase: days, stages, lengths, small counts, and the and of a list."""


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_no_phrase_passes_by_the_translator(text: Callable[[], str]) -> None:
    said = text()
    assert re.search("[A-Z]{4}", said), said
    assert not re.search("[a-z]{2}", VALUES.sub("", said)), said
