"""What is asked at a look at a tree, and its answers as they are typed: read, and checked before anything is made of them."""

from __future__ import annotations

from difflib import get_close_matches
from math import isfinite
from typing import TYPE_CHECKING

from calendar_core.app.log.parts import odd_height, odd_way, refuse_early
from calendar_core.app.review.decisions import after_words, decided
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import shortened
from calendar_core.garden.limits import LARGEST_MM
from calendar_core.garden.parts import Part
from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.review.checklist import HEAVY_JOB, MOST, NO_JOB, WINTER, Question, checklist

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from calendar_core.app.review.visits import Visit
    from calendar_core.app.review.written import Decided, Value
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.words import AnswerKind, LookDepth

WORDS: Mapping[AnswerKind, tuple[str, ...]] = {
    "good or bad": ("good", "bad"),
    "none or found": ("none", "found"),
    "yes or no": ("yes", "no"),
    "vigour": ("1", "2", "3", "4", "5"),
}
"""What is answered, where it is not a number or one of a question's own options."""
MEANT: Mapping[AnswerKind, Mapping[str, str]] = {
    "none or found": {"no": "none", "good": "none", "yes": "found", "bad": "found"},
}
"""What is understood besides those words."""
SWAPPED = 0.8  # of a graft's entry: with a thinner exit more likely the two were exchanged (estimate)
THROUGH = {"entry": "exit", "exit": "entry"}
SLIP = 5  # times the last reading: more likely a point left out than grown (estimate)
MINUTES = "minutes"  # the key of how long a look took
LONGEST_MINUTES = 600.0  # nobody looks at one tree for longer


class Asked:
    """What is asked at a visit: ``questions``, what may be answered besides, ``every``, and what is ``known`` already.

    Whatever stood on a sheet may be answered, be it no question of today's any more: a look that was answered is over.
    """

    def __init__(self, session: Session, visit: Visit) -> None:
        self.session, self.visit, self.knowledge = session, visit, session.knowledge
        self.questions = self._checklist(visit.depth, visit.then)
        self.every = {question.key: question for question in self._all()}
        self.known = _known(visit)
        self._keys = {as_key(key): key for key in self.every}

    @property
    def open(self) -> tuple[Question, ...]:
        """The questions that are not answered yet."""
        return tuple(question for question in self.questions if question.key not in self.known)

    def found(self, typed: str) -> Question | None:
        """Return the question of a key as typed, None where the tree has none."""
        return self.every.get(self._keys.get(as_key(typed), ""))

    def question(self, typed: str) -> Question:
        """Return the question of a key as typed. Raises Refusal where the tree has none, or its part is gone."""
        key = as_key(typed)
        if (known := self.found(typed)) is not None:
            return known
        for part in self.visit.state.parts.values():
            if part.gone is not None and key.startswith(f"{as_key(part.name)} "):
                raise Refusal(f"{part.name} is gone since {part.gone}; right would be to leave it out")
        near = get_close_matches(key, self._keys, n=3) or [question.key for question in self.questions]
        raise Refusal(f"no such question; right would be one such as {', '.join(near[:6])}")

    def value(self, question: Question, typed: str) -> Value:
        """Return an answer as typed: a number, or one of the words that answer, also by its beginning. Raises Refusal."""
        if question.answer == "number":
            return number(typed, LARGEST_MM if _in_mm(question) else question.most, question.unit)
        words = {**{word: word for word in words_of(question)}, **MEANT.get(question.answer, {})}
        if question.key == HEAVY_JOB:
            words |= {self.knowledge.operations[key].label.lower(): key for key in words if key != NO_JOB}
        wanted = as_key(typed)
        begun = {meant for word, meant in words.items() if wanted and word.startswith(wanted)}
        within = {meant for word, meant in words.items() if wanted and f" {wanted}" in f" {word}"}
        meant = begun or within  # "s" is too strong where nothing else begins with it
        if wanted not in words and len(meant) != 1:
            raise Refusal(f"found {shortened(typed)}; right would be one of {', '.join(words_of(question))}")
        word = words[wanted] if wanted in words else meant.pop()
        return float(word) if question.answer == "vigour" else word

    def odd(self, question: Question, value: Value, said: Mapping[str, Value]) -> list[str]:
        """Return what is to be asked about a measurement, beside what else is ``said`` at the look.

        It goes the wrong way, is far from the last one or out of scale, or the tree lost its height.

        Raises
        ------
        Refusal
            Where the part was not followed yet on the day.
        """
        if question.measure is None or self.known.get(question.key) == text_of(value):
            return []
        values, on, tree = {question.measure: float(value)}, self.visit.on, self.visit.tree
        last = question.last
        if last is None and question.most is not None and float(value) > question.most:
            return [
                f"{tree.label}: {question.measure} {value:g} is more than {question.most:g} {question.unit} (cm?)"
            ]
        if last is not None and question.measure != "pairs" and 0 < SLIP * last.value <= float(value):
            return [
                f"{tree.label}: {question.measure} {value:g} is many times the {last.value:g} of {last.on}"
            ]
        if question.part is not None:
            part = self.visit.state.parts.get(question.part.id, question.part)  # with what was measured later
            refuse_early([part], on)
            return [*odd_way(part, values, on), *self._swapped(question, value, said)]
        # The tree as one part more: its girth goes one way, as the diameter of a branch does.
        whole = Part(tree.id, tree.id, tree.id, on, name=tree.label, measures=self.visit.state.measures)
        return [*odd_way(whole, values, on), *odd_height(self.visit.before, tree, values, on)]

    def through(self, question: Question) -> Question | None:
        """Return the question of the other end of a graft, None of what has none."""
        if question.part is None or question.measure not in THROUGH:
            return None
        return self.every.get(f"{question.part.name} {THROUGH[question.measure]}")

    def last(self, question: Question) -> Value | None:
        """Return what was answered last: at this look, else before it; None for nothing."""
        known = self.known.get(question.key)
        if known is not None:
            return float(known) if question.answer in ("number", "vigour") else known
        if question.answer == "vigour":
            return self.visit.then.vigour
        if question.last is not None:
            return question.last.value
        told = [r.answers[question.key] for r in self.visit.then.reviews if question.key in r.answers]
        return told[-1] if told else None

    def words(self, text: str) -> tuple[str, str] | None:
        """Return a question's key, or one of its own, that words begin with, and what follows; None for neither."""
        return after_words(text, [*self._keys, MINUTES])

    def _swapped(self, question: Question, value: Value, said: Mapping[str, Value]) -> list[str]:
        other = self.through(question)
        known = None if other is None else said.get(other.key, self.known.get(other.key))
        if other is None or known is None or question.part is None:
            return []
        ends = {question.measure: float(value), other.measure: float(known)}
        if ends["exit"] >= SWAPPED * ends["entry"]:
            return []
        return [
            f"{question.part.name}: exit {ends['exit']:g} is thin beside entry {ends['entry']:g} (swapped?)"
        ]

    def decision(self, typed: str) -> Decided:
        """Return a decision as typed, such as "sever low left". Raises Refusal, or StoreError for a spot."""
        return decided(self.session, self.visit, as_key(typed))

    def _all(self) -> Iterator[Question]:
        """Yield what may be answered; what comes later under the same key counts."""
        profile, after = (
            self.knowledge.profiles[self.visit.tree.species],
            self.visit.round == "after leaf fall",
        )
        measured = {reading.what: reading for reading in self.visit.then.measures}
        for key, check in self.knowledge.review.check.items():
            if check.measure is not None:  # whoever measures more than is asked is not turned away
                yield Question(
                    key, check.place, key, check.answer, check.label, "mm", measure=check.measure,
                    last=measured.get(check.measure), most=MOST[check.measure],
                )  # fmt: skip
        for key in profile.pests:
            yield Question(key, "branches", "pest", "none or found", self.knowledge.pests[key].label)
        if after:
            yield Question(WINTER, "tree", WINTER, "yes or no")
        full = (*self._checklist("full", self.visit.state), *self._checklist("full", self.visit.then))
        heavy = {key for key, form in self.knowledge.operations.items() if form.weight >= HEAVY}
        wished = [w.operation for w in self.visit.now.wishes if w.operation in heavy]
        jobs = [option for q in full if q.key == HEAVY_JOB for option in q.options if option != NO_JOB]
        options = (*dict.fromkeys([*jobs, *wished]), NO_JOB)
        yield from full
        yield from self.questions
        yield Question(HEAVY_JOB, "tree", HEAVY_JOB, "choice", options=options)

    def _checklist(self, depth: LookDepth, state: TreeState) -> tuple[Question, ...]:
        visit = self.visit
        return checklist(
            visit.tree.id, state, self.knowledge.profiles[visit.tree.species], visit.items, depth, visit.round,
            self.knowledge, visit.on,
        )  # fmt: skip


def _known(visit: Visit) -> dict[str, str]:
    """Return what was answered and decided at a visit before, by key."""
    review = visit.reviewed
    out = {} if review is None else {key: text_of(value) for key, value in review.answers.items()}
    for logged in visit.marked:
        out |= {key: text_of(value) for key, value in logged.data["asked"]["answers"].items()}
    return out


def _in_mm(question: Question) -> bool:
    """Tell whether a tree or part is measured: then what is usual is no limit."""
    return question.measure is not None and question.unit == "mm"


def words_of(question: Question) -> tuple[str, ...]:
    """Return the words that answer a question; none of a number."""
    return question.options or WORDS.get(question.answer, ())


def minutes_of_look(typed: str) -> float:
    """Return how long a look took as typed [min]. Raises Refusal."""
    found = number(typed, LONGEST_MINUTES, "min")
    if found == 0:
        raise Refusal("found 0; right would be the minutes the look took, or nothing")
    return found


def number(typed: str, most: float | None, unit: str) -> float:
    """Return a number from 0 to ``most`` as typed, its unit behind it or not. Raises Refusal."""
    limits = f"a number from 0 to {most:g} {unit}" if most is not None else f"a number {unit}"
    right = f"found {shortened(typed)}; right would be {limits.rstrip()}"
    try:
        found = float(typed.strip().lower().removesuffix(unit.lower()).strip().replace(",", "."))
    except ValueError:
        raise Refusal(right) from None
    if not isfinite(found) or found < 0 or (most is not None and found > most):
        raise Refusal(right)
    return found


def as_key(text: str) -> str:
    """Return a key, or a word, as it is compared: case and spaces forgiven.

    >>> as_key("  Low Left  width ")
    'low left width'
    """
    return " ".join(text.replace("_", " ").casefold().split())


def text_of(value: Value) -> str:
    """Return an answer as it is compared: 12 and 12.0 are the same."""
    return f"{value:g}" if isinstance(value, int | float) else value
