"""The questions of a look as fields of a form, with what was entered and what is wrong of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from calendar_core.app.review.asked import text_of, words_of
from calendar_core.knowledge.words import CHECK_PLACES
from calendar_core.wording.review.question_text import answer_words, question_words
from calendar_core.wording.review.sheet_text import PLACES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.app.review.asked import Asked
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.review.checklist import Question
    from calendar_core.wording.pages.round_text import RoundSpeaker

ANSWER = "answer "  # before the key of a question in the name of its field


@dataclass(frozen=True)
class Filled:
    """What a form says of a look: answers by key of question, decisions, minutes, a note, and that odd numbers are so.

    ``faults`` tell by key what cannot be taken, ``doubts`` what may be an error.
    """

    values: Mapping[str, str] = field(default_factory=dict)
    decisions: Sequence[str] = ()
    minutes: str = ""
    note: str = ""
    yes: bool = False
    faults: Mapping[str, str] = field(default_factory=dict)
    doubts: Sequence[str] = ()

    def with_faults(self, faults: Mapping[str, str]) -> Filled:
        """Return the same with what cannot be taken."""
        return replace(self, faults=faults)

    def with_doubts(self, doubts: Sequence[str]) -> Filled:
        """Return the same with what may be an error."""
        return replace(self, doubts=doubts)


@dataclass(frozen=True)
class Field:
    """A question as a field: ``choices`` are answers with their words, none of a number; ``hint`` tells the last answer."""

    name: str
    asked: str
    hint: str
    choices: Sequence[tuple[str, str]]
    value: str
    fault: str


def entered_before(asked: Asked) -> Filled:
    """Return what was written down at this look already, as it would be entered."""
    return Filled(asked.known)


def places_of(
    session: Session, asked: Asked, entered: Filled, tells: RoundSpeaker
) -> list[tuple[str, list[Field]]]:
    """Return the questions of a look by place on the tree, as a hand moves up."""
    fields = [
        (question.place, _field(session, asked, question, entered, tells)) for question in asked.questions
    ]
    return [
        (session.style.say(PLACES[place]), some)
        for place in CHECK_PLACES
        if (some := [each for at, each in fields if at == place])
    ]


def _field(session: Session, asked: Asked, question: Question, entered: Filled, tells: RoundSpeaker) -> Field:
    words = words_of(question)
    told = answer_words(session.style, session.speaker, question)
    choices = list(zip(words, told, strict=True))
    last = asked.last(question)
    known = (
        "" if last is None or question.key in asked.known else dict(choices).get(text_of(last), text_of(last))
    )
    return Field(
        ANSWER + question.key,
        tells.asked(question_words(session.style, question), question),
        tells.hint(question, known),
        choices,
        entered.values.get(question.key, ""),
        entered.faults.get(question.key, ""),
    )
