"""Sentences of the page of the round: where a walk stands, what is left of it, and how it ended."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.wording.review.question_text import last_words, unit_words
from calendar_core.wording.review.sheet_text import rounds_words
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.planning.review.checklist import Question
    from calendar_core.wording.review.sheet_text import RoundNamed
    from calendar_core.wording.sentences import Speaker

ROUND: dict[str, str] = {
    "tree": "Tree {n} of {all}",
    "one": "{round}: {here}, about {time} left.",
    "done": "The walk is done: {trees} looked at today.",
    "passed": "Passed over: {trees}.",
    "later": "{trees} of the round have their turn on a later day.",
    "nothing": "No tree is to be looked at now.",
    "opens": "The next round opens about {day}.",
    "last": "last {last}",
    "in": "{asked}, {unit}",
    "beside": "{round}, beside the walk.",
    "looked_already": "{round}: looked at today; what you change here takes the place of what was written.",
    "looked": "looked at",
    "passed_mark": "passed over",
    "open": "open",
    "another_day": "another day",
}
MOST_NAMED = 8  # trees that a sentence names (estimate: three lines of a phone)


@dataclass(frozen=True)
class RoundSpeaker:
    """Makes the sentences of the page for one reader."""

    speaker: Speaker

    def say(self, key: str, **values: object) -> str:
        """Return a sentence of the page."""
        return self.speaker.style.say(ROUND[key], **values)

    def standing(self, window: RoundNamed, place: int, count: int, minutes: float) -> str:
        """Return of which round a walk is, the place of its next tree, and how long the rest takes."""
        style = self.speaker.style
        here = self.say("tree", n=place, all=count)
        return self.say(
            "one",
            round=rounds_words(style, [window]),
            here=here[:1].lower() + here[1:],
            time=style.minutes(max(1, round(minutes))),
        )

    def beside(self, window: RoundNamed, *, looked: bool) -> str:
        """Return of which round a tree is that is not the next one of the walk."""
        name = rounds_words(self.speaker.style, [window])
        return self.say("looked_already" if looked else "beside", round=name)

    def found(self, told: Sequence[str]) -> str:
        """Return what was written down at a look as one sentence."""
        text = "; ".join(told)
        return f"{text[:1].upper()}{text[1:]}."

    def done(self, count: int) -> str:
        """Return that a walk is done."""
        return self.say("done", trees=self.speaker.style.number_of(count, "tree", "trees"))

    def passed(self, labels: Sequence[str]) -> str:
        """Return the trees that were passed over."""
        return self.say("passed", trees=tree_list(labels, most=MOST_NAMED))

    def later(self, count: int) -> str:
        """Return how many trees are looked at on later days."""
        return self.say("later", trees=self.speaker.style.number_of(count, "tree", "trees"))

    def nothing(self, opens: date | None) -> str:
        """Return that nothing is to be looked at, and when that comes."""
        if opens is None:
            return self.say("nothing")
        day = self.speaker.style.day(opens, self.speaker.today)
        return f"{self.say('nothing')} {self.say('opens', day=day)}"

    def asked(self, words: str, question: Question) -> str:
        """Return a question with the unit of its answer."""
        unit = unit_words(self.speaker.style, question)
        return self.say("in", asked=words, unit=unit) if unit else words

    def hint(self, question: Question, last: str) -> str:
        """Return what was measured or answered last, "" where nothing was."""
        told = last_words(self.speaker.style, question) or last
        return self.say("last", last=told) if told else ""
