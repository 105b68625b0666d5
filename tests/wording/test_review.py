"""The review in words: each kind of question, what may be answered, what was last, and what a code tells."""

from __future__ import annotations

from datetime import date
from typing import get_args
from uuid import UUID

import pytest

from calendar_core.garden.model import Tree
from calendar_core.garden.parts import MEASURES, Measure, Part
from calendar_core.knowledge.words import AnswerKind
from calendar_core.planning.review.checklist import HEAVY_JOB, NO_JOB, WINTER, Question
from calendar_core.planning.review.rounds import RoundWindow
from calendar_core.planning.review.walks import Stop
from calendar_core.wording.review.question_text import (
    ANSWERS,
    MEASURED,
    answer_words,
    last_words,
    question_words,
    unit_words,
)
from calendar_core.wording.review.sheet_text import code_text, tree_facts, why_words
from calendar_core.wording.style import Style
from tests.wording.plain import speaker

ID, DAY = UUID(int=0xABC), date(2014, 9, 19)
STYLE = Style()
WOUND = Part(ID, ID, ID, DAY, "wound", "low left")
LATER = Part(ID, ID, ID, DAY, "branch", "", directive="undecided", decide_by="dormant")


@pytest.mark.parametrize(
    ("question", "asked"),
    [
        (
            Question(
                "low left width", "trunk", "measure", "number", "of a wound", "mm", part=WOUND, measure="width"
            ),
            "low left: open width of the wound",
        ),
        (
            Question("low left look", "trunk", "look", "good or bad", "Is the paste whole?", part=WOUND),
            "low left: Is the paste whole?",
        ),
        (
            Question("low left keep", "branches", "keep", "yes or no", part=WOUND),
            "low left: is it kept?",
        ),
        (
            Question(" keep", "branches", "keep", "yes or no", part=LATER),
            "branch: to be decided by leaf fall: is it kept?",
        ),
        (Question("pot", "soil", "pot", "good or bad", "Pot whole"), "Pot whole"),
        (Question("mites", "branches", "pest", "good or bad", "Mites: above 30 degC"), "Mites: above 30 °C"),
        (Question(WINTER, "tree", WINTER, "yes or no"), "Its place for the winter is chosen and safe"),
        (Question(HEAVY_JOB, "tree", HEAVY_JOB, "choice"), "Next year's one heavy job"),
    ],
)  # fmt: skip
def test_a_question_is_a_prompt(question: Question, asked: str) -> None:
    assert question_words(STYLE, question) == asked


def test_all_that_can_be_measured_or_answered_has_words() -> None:
    assert MEASURED.keys() == MEASURES.keys()
    assert set(ANSWERS) == set(get_args(AnswerKind))


def test_answers_are_operations_by_their_label_and_options_as_they_are() -> None:
    job = Question(HEAVY_JOB, "tree", HEAVY_JOB, "choice", options=("structural prune", NO_JOB))
    assert answer_words(STYLE, speaker(), job) == ("structural pruning", "none")
    top = Question("top", "top", "top", "choice", options=("too strong", "even"))
    assert answer_words(STYLE, speaker(), top) == ("too strong", "even")
    assert answer_words(STYLE, speaker(), Question("v", "tree", "v", "vigour")) == ("1", "2", "3", "4", "5")
    assert answer_words(STYLE, speaker(), Question("n", "tree", "n", "number")) == ()


def test_what_was_last_has_the_unit_of_the_answer_and_its_day() -> None:
    width = Question(
        "w", "trunk", "measure", "number", unit="mm", part=WOUND, measure="width", last=Measure("width", 12.0, DAY)
    )  # fmt: skip
    assert last_words(STYLE, width) == "12 mm on 19 September 2014"
    assert last_words(Style("us"), width) == "12 mm on September 19, 2014"
    pairs = Question(
        "p", "branches", "measure", "number", part=WOUND, measure="pairs", last=Measure("pairs", 3, DAY)
    )
    assert (unit_words(STYLE, pairs), last_words(STYLE, pairs)) == ("pairs", "3 pairs on 19 September 2014")
    assert last_words(STYLE, Question("n", "tree", "n", "number")) == ""


TREE = Tree(ID, ID, "Rosa's maple", "acer-palmatum", "Dissectum")
WINDOW = RoundWindow(ID, "late summer", 2015, DAY, DAY, 1.0, ())
STOP = Stop(ID, WINDOW, "glance", 0.4, "quarantine", date(2015, 10, 1), "back bench", TREE.label)


def test_a_code_tells_how_to_enter_answers_or_where() -> None:
    told = code_text(STYLE, TREE, STOP, "")
    assert (
        told
        == """Rosa's maple\nLate summer review 2015\nleafclock review enter 'Rosa'"'"'s maple'"""  # as a shell reads it
    )
    assert code_text(STYLE, TREE, STOP, "https://bench.example/") == f"https://bench.example/tree/{ID}"


def test_a_tree_says_what_it_is_and_when_its_turn_is() -> None:
    assert tree_facts(STYLE, TREE, "Japanese maple", STOP) == (
        "Japanese maple ‘Dissectum’", "back bench", "Glance, about 1 min",
    )  # fmt: skip
    assert why_words(speaker(today=date(2015, 9, 18)), STOP) == (
        "Under cover by 1 October.", "Quarantine: wipe the tools before and after it.",
    )  # fmt: skip
