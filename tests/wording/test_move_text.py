"""What is said of dates that moved. The moves are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, get_args
from uuid import UUID

import pytest

from calendar_core.garden.model import EntryKind
from calendar_core.knowledge.words import MOVE_CAUSES
from calendar_core.planning.moved_dates import DateMove, MovePart, Spell, Written
from calendar_core.wording.plan.move_text import (
    BRIEF,
    NOTES,
    ONE_LINE,
    change_texts,
    matters_line,
    move_sentence,
    moved_alike,
)
from tests.wording.plain import UNITS, is_plain, speaker

if TYPE_CHECKING:
    from calendar_core.garden.model import Units
    from calendar_core.knowledge.words import DateSide

PINE, MAPLE = UUID(int=1), UUID(int=2)
LABELS = {PINE: "Pine 2", MAPLE: "Maple 1"}
JUNE, TODAY = date(2015, 6, 1), date(2015, 6, 24)
WARM_MAY = Spell(date(2015, 5, 1), date(2015, 5, 31), 2.1, "usual")
WARM_JUNE = Spell(date(2015, 6, 2), date(2015, 6, 23), 2.1, "usual")
SEEN = Written("seen", "candles_firm", date(2015, 6, 20))


def moved(*parts: MovePart, told_on: date = JUNE, side: DateSide = "opens") -> DateMove:
    after = date(2015, 7, 12)
    before = after - timedelta(days=sum(part.days for part in parts))
    return DateMove(
        PINE,
        side,
        PINE,
        told_on,
        TODAY,
        before,
        after,
        parts,
        "decandling",
        "decandling",
        2015,
    )


@pytest.mark.parametrize(
    ("move", "units", "said"),
    [
        (
            moved(MovePart("weather", -3, WARM_MAY)), "metric",
            "Opening moved to 12 July, 3 days earlier than told on 1 June: May was 2.1 °C warmer than usual.",
        ),
        (
            moved(MovePart("weather", -2, WARM_JUNE), MovePart("forecast", -1)), "us",
            "Opening moved to July 12, 3 days earlier than told on June 1: June 2 to June 23 were 3.8 °F warmer than usual (2 days), the forecast (1 day).",
        ),
        (
            moved(MovePart("weather", -2, WARM_JUNE), MovePart("sight", 3, written=(SEEN,)), side="safe"), "metric",
            "Last safe day moved to 12 July, 1 day later than told on 1 June: 2 to 23 June were 2.1 °C warmer than usual (2 days earlier), candles firm seen on 20 June (3 days later).",
        ),
        (
            moved(MovePart("weather", 4, Spell(TODAY, TODAY, -1.25, "expected"))), "metric",
            "Opening moved to 12 July, 4 days later than told on 1 June: 24 June was 1.2 °C colder than forecast.",
        ),
        (
            moved(MovePart("weather", 2, replace(WARM_JUNE, warmer_c=0.1))), "metric",
            "Opening moved to 12 July, 2 days later than told on 1 June: the weather of 2 to 23 June.",
        ),
        (
            replace(moved(MovePart("entry", 9, written=(Written("work", "repot", TODAY), Written("void", "", TODAY)))), label="Look at it"),
            "metric",
            "Moved to 12 July, 9 days later than told on 1 June: repot on 24 June and what you took back on 24 June.",
        ),
        (
            moved(MovePart("sight", 2, written=(Written("seen", "not yet bud_break", TODAY),))), "metric",
            "Opening moved to 12 July, 2 days later than told on 1 June: no bud break yet on 24 June.",
        ),
    ],
)  # fmt: skip
def test_a_move_says_by_how_much_since_when_and_why(move: DateMove, units: Units, said: str) -> None:
    assert move_sentence(speaker(units, TODAY), move) == said


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("brief", [True, False])
def test_every_cause_has_plain_words(units: Units, brief: bool) -> None:
    notes = [Written(kind, "repot", TODAY) for kind in (*get_args(EntryKind), "void")]
    spells = [Spell(JUNE, TODAY, warm, than) for warm in (-2.0, 0.0, 2.0) for than in ("usual", "expected")]
    parts = [MovePart(cause, 2) for cause in MOVE_CAUSES if cause not in {"sight", "entry"}]
    parts += [MovePart("weather", 2, spell) for spell in spells]
    parts += [MovePart("entry", 2, written=(note,)) for note in notes]
    parts += [MovePart("sight", 2), MovePart("entry", 2)]
    for part in parts:
        is_plain(move_sentence(speaker(units, TODAY), moved(part), brief=brief))
        is_plain(matters_line(speaker(units, TODAY), [moved(part)], LABELS))
    assert set(BRIEF) == set(MOVE_CAUSES)
    assert set(get_args(EntryKind)) <= set(NOTES)


@pytest.mark.parametrize(
    ("move", "line"),
    [
        (moved(MovePart("weather", -3, WARM_MAY)), "Since 1 June: decandling (Pine 2) 3 days earlier, May 2.1 °C above usual."),
        (moved(MovePart("weather", -3, WARM_MAY), told_on=date(2015, 6, 21)), "Since Sunday: decandling (Pine 2) 3 days earlier, May 2.1 °C above usual."),
        (
            moved(MovePart("weather", 1, WARM_JUNE), MovePart("sight", -4, written=(SEEN,)), side="safe"),
            "Since 1 June: decandling (Pine 2) closes 3 days earlier, by what you saw.",
        ),
    ],
)  # fmt: skip
def test_what_matters_is_one_line_with_its_main_cause(move: DateMove, line: str) -> None:
    assert matters_line(speaker("metric", TODAY), [move], LABELS) == line
    assert len(line) <= ONE_LINE


def test_one_sentence_of_many_trees_names_them_and_shortens_by_steps() -> None:
    labels = {UUID(int=n): f"Japanese black pine {n}" for n in range(1, 30)}
    parts = MovePart("weather", -2, WARM_JUNE), MovePart("sight", -1, written=(SEEN, SEEN))
    moves = [replace(moved(*parts), tree_id=tree, item_id=tree) for tree in labels]
    (together,) = moved_alike(speaker("metric", TODAY), moves)
    texts = change_texts(speaker("metric", TODAY), together, labels)
    assert [len(text) for text in texts] == sorted((len(text) for text in texts), reverse=True)
    assert texts[0].startswith("Decandling, Japanese black pine 1, ")
    assert "and 23 more: opening moved to 12 July, 3 days earlier" in texts[0]
    assert "candles firm seen on 20 June" in texts[0]
    assert texts[-1] == (
        "Decandling, Japanese black pine 1 and 28 more: opening moved to 12 July, "
        "3 days earlier than told on 1 June: the weather (2 days), what you saw (1 day)."
    )
    for text in texts:
        is_plain(text)


def test_moves_of_other_days_or_causes_are_told_apart() -> None:
    weather, sight = MovePart("weather", -3, WARM_MAY), MovePart("sight", -3, written=(SEEN,))
    moves = [
        moved(weather),
        replace(moved(weather), tree_id=MAPLE),
        moved(sight),
        moved(weather, told_on=TODAY),
    ]
    assert [len(some) for some in moved_alike(speaker("metric", TODAY), moves)] == [2, 1, 1]
