"""Asking at a terminal, or of what is piped in: one key answers a choice, a line everything else."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

import typer

from calendar_core.app.review.answers import Answers
from calendar_core.app.review.asked import Asked, minutes_of_look, text_of, words_of
from calendar_core.app.review.decisions import instead_of
from calendar_core.app.review.written import Decided, Value
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import Remark, as_option, checked
from calendar_core.app.shell.output import say
from calendar_core.app.shell.program import program
from calendar_core.app.shell.session import Session
from calendar_core.planning.review.checklist import Question
from calendar_core.storage.errors import StoreError
from calendar_core.wording.review.enter_text import ASKING, note_words, prompt

T = TypeVar("T")
BREAK_OFF, KEEP = "q", "="
SIGNS = (
    "abcdefghijklmnoprstuvwxyz0123456789"  # keys for a word that has none of its own: all but the one above
)


class BrokenOff(Exception):  # noqa: N818 - nothing went wrong: the grower stops here
    """The grower breaks off."""


class Terminal:
    """Asks about one tree after the other; a wrong answer is told, and the question asked again."""

    def __init__(self, session: Session, *, yes: bool) -> None:
        self.session, self.style, self.yes = session, session.style, yes
        self.by_key = sys.stdin.isatty()

    def look(self, asked: Asked, questions: Sequence[Question]) -> tuple[Answers, bool]:
        """Return what is answered of a tree, and whether the grower broke off at it."""
        style, visit = self.style, asked.visit
        number = style.number_of(len(questions), "question", "questions")
        say()
        say(
            style.say(
                ASKING["tree"], tree=visit.tree.label, questions=number, depth=style.say(ASKING[visit.depth])
            )
        )
        values: dict[str, Value] = {}
        decisions: dict[str, Decided] = {}
        minutes, note, broken_off = None, "", False
        try:
            for question in questions:
                if (value := self._answer(asked, question, values)) is not None:
                    values[question.key] = value
            while (decision := self._typed("decide", asked.decision)) is not None:
                before = decisions.get(decision.key)
                decisions[decision.key] = decision
                if before is not None and (told := instead_of(visit, decision, before.value)) is not None:
                    self._tell([note_words(style, told.code, told.values, program())])
            minutes = self._typed("minutes", minutes_of_look)
            note = self._typed("note", _note) or ""
        except (BrokenOff, EOFError, KeyboardInterrupt):
            say()
            broken_off = True
        return Answers(values, tuple(decisions.values()), minutes, note), broken_off

    def _answer(self, asked: Asked, question: Question, values: dict[str, Value]) -> Value | None:
        """Return the answer to one question, None where it is left open; of a graft's ends the other may change in ``values``."""
        keys, last = keys_of(words_of(question)), asked.last(question)
        kept = {} if last is None else {KEEP: text_of(last)}
        known = question.last is not None and question.key not in asked.known
        text = prompt(self.style, self.session.speaker, question, keys, "" if known else kept.get(KEEP, ""))
        while True:
            typed = self._line(text) if not keys or not self.by_key else self._key(text, {**keys, **kept})
            if not typed:
                return None
            try:
                value = asked.value(question, {**keys, **kept}.get(typed.lower(), typed))
                odd = asked.odd(question, value, values)
            except Refusal as refusal:
                self._tell(refusal.lines)
                continue
            if self.yes or all(self._sure(line) for line in odd):
                return value
            other = asked.through(question)
            if other is not None and other.key in values:  # which of the two ends is wrong the grower knows
                del values[other.key]
                if (again := self._answer(asked, other, values)) is not None:
                    values[other.key] = again

    def _sure(self, odd: str) -> bool:
        text, keys = self.style.say(ASKING["sure"], odd=odd), {"y": "yes", "n": "no"}
        while True:
            typed = self._key(text, keys) if self.by_key else self._line(text)
            if typed[:1].lower() in keys:
                return typed[0].lower() == "y"

    def _typed(self, what: str, read: Callable[[str], T]) -> T | None:
        """Return what is typed as a line, None for nothing."""
        while typed := self._line(self.style.say(ASKING[what])):
            try:
                return read(typed)
            except Refusal as refusal:
                self._tell(refusal.lines)
            except StoreError as error:
                self._tell([str(error)])
        return None

    def _line(self, text: str) -> str:
        typed = input(text).strip()
        if not self.by_key:
            say(typed)  # what is piped in is echoed by no terminal
        if typed.lower() == BREAK_OFF:
            raise BrokenOff
        return typed

    def _key(self, text: str, keys: Mapping[str, str]) -> str:
        """Return the one key that is pressed; empty for Enter."""
        while True:
            sys.stdout.write(text)
            sys.stdout.flush()
            key = typer.getchar().lower()
            word = keys.get(key, self.style.say(ASKING["skipped"]) if key in ("\r", "\n") else "")
            sys.stdout.write(f"{word}\n")
            if key == BREAK_OFF:
                raise BrokenOff
            if word:
                return key.strip()
            self._tell([self.style.say(ASKING["wrong_key"], keys=", ".join(keys))])

    @staticmethod
    def _tell(lines: Sequence[str]) -> None:
        for line in lines:
            say(line, indent=2)


def keys_of(words: Sequence[str]) -> dict[str, str]:
    """Return a key for each word: the first initial that no other word has, else any sign left.

    >>> keys_of(["too strong", "even", "too weak"])
    {'s': 'too strong', 'e': 'even', 'w': 'too weak'}
    >>> keys_of(["good", "bad"]), keys_of(["repot", "root graft"])
    ({'g': 'good', 'b': 'bad'}, {'r': 'repot', 'g': 'root graft'})
    """
    shared = Counter(initial for word in words for initial in {part[0].lower() for part in word.split()})
    out: dict[str, str] = {}
    for word in words:
        initials = [part[0].lower() for part in word.split()]
        own = [initial for initial in initials if shared[initial] == 1]
        wanted = (*own, *initials, *word.lower(), *SIGNS)
        out[next(sign for sign in wanted if sign in SIGNS and sign not in out)] = word
    return out


def _note(typed: str) -> str:
    return checked(Remark, {"note": typed}, as_option).note
