"""Questions about a tree in words: what is asked, what may be answered, and what was measured last.

A check of all trees, a look, a pest and what is chosen bring words of config/ along; the others stand here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.sentences import stage_words

if TYPE_CHECKING:
    from calendar_core.planning.review.checklist import Question
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

QUESTIONS: dict[str, str] = {
    "of_part": "{part}: {asked}",
    "keep": "is it kept?",
    "keep_by": "to be decided by {stage}: is it kept?",
    "winter place": "Its place for the winter is chosen and safe",
    "heavy job": "Next year's one heavy job",
}
"""Questions that bring no words along, by their ``what``."""

MEASURED: dict[str, str] = {
    "width": "open width of the wound",
    "entry": "diameter of the graft before it passes through",
    "exit": "diameter of the graft behind it",
    "bite": "bark raised beside the wire",
    "dry": "length or width of the dry part",
    "diameter": "diameter",
    "length": "length",
    "pairs": "leaf pairs grown since the last cut",
    "height": "height",
    "girth": "girth",
    "leaf": "width of a leaf",
}
"""What is measured of a part, as a prompt."""

ANSWERS: dict[str, tuple[str, ...]] = {
    "number": (),
    "good or bad": ("good", "bad"),
    "none or found": ("none", "found"),
    "yes or no": ("yes", "no"),
    "vigour": ("1", "2", "3", "4", "5"),
    "choice": (),
}
"""What may be answered, by the kind of answer; a choice has options of its own, a number has none."""

LAST: dict[str, str] = {"last": "{value} on {day}"}
"""What was measured last."""


def question_words(style: Style, question: Question) -> str:
    """Return what a question asks, as a prompt: "low left: open width of the wound"."""
    part = question.part
    if part is None:
        return style.text(QUESTIONS.get(question.what, question.text))
    if question.what == "measure" and question.measure is not None:
        asked = style.say(MEASURED[question.measure])
    elif question.what == "keep":
        asked = style.say(
            QUESTIONS["keep_by" if part.decide_by else "keep"], stage=stage_words(part.decide_by)
        )
    else:
        asked = style.text(question.text)
    return style.say(QUESTIONS["of_part"], part=part.name or style.say(part.kind), asked=asked)


def answer_words(style: Style, speaker: Speaker, question: Question) -> tuple[str, ...]:
    """Return the answers to choose from, in the order of ``question.options`` where it has such; none of a number."""
    if question.options:
        return tuple(_option(style, speaker, option) for option in question.options)
    return tuple(style.say(word) for word in ANSWERS[question.answer])


def _option(style: Style, speaker: Speaker, option: str) -> str:
    operation = speaker.operations.get(option)  # a heavy job; other options are words already
    return style.say(option) if operation is None else style.say(operation.label).lower()


def unit_words(style: Style, question: Question) -> str:
    """Return the unit in which a number is answered: "mm"; empty where things are counted."""
    return style.say("pairs") if question.measure == "pairs" else style.say(question.unit)


def last_words(style: Style, question: Question) -> str:
    """Return what was measured last, in the unit of the answer: "12 mm on 19 September 2014"; empty if nothing was."""
    last = question.last
    if last is None:
        return ""
    value = f"{last.value:g} {unit_words(style, question)}".strip()
    return style.say(LAST["last"], value=value, day=style.day(last.on))
