"""A filled form, a line a tree: ``Maple 2: vigour=4; low left width=12; decide=repot; minutes=9; note=dry moss``.

Before the lines of trees may stand ``sheet: GARDEN DAY``, the first eight signs of the garden's id and the day of the
walk, and ``minutes: 75``, how long the whole walk took. Empty answers are questions left open; words without = are the
note, where they do not begin as an answer or a decision does. Good answers are kept though others are not.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeVar

from calendar_core.app.review.answers import Answers, outcome
from calendar_core.app.review.asked import MINUTES, Asked, as_key, minutes_of_look, number
from calendar_core.app.review.decisions import after_words, decision_words
from calendar_core.app.review.sheet import garden_code
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.days import day_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import Remark, as_option, checked, shortened
from calendar_core.app.shell.named import named_trees
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from datetime import date

    from calendar_core.app.review.answers import Outcome
    from calendar_core.app.review.written import Decided, Value
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree

Said = TypeVar("Said")
HEAD = re.compile(r"\s*(sheet|minutes)\s*:\s*(.*?)\s*", re.IGNORECASE)
DECIDE, NOTE = "decide", "note"
LONGEST_WALK = 24 * 60.0  # minutes of a day
HOW_LONG = "right would be, above the trees: minutes: 70"
OR_NOTE = "or note= before it where it is only told"
SURE = "if that is what you measured, say so with --yes"


@dataclass(frozen=True)
class FormHead:
    """What stands above the trees: the day of the walk, and the minutes it took."""

    walked: date | None = None
    minutes: float | None = None


@dataclass
class FormLine:
    """The line of one tree taken apart: its fields by the key as it was typed, empty for words without one."""

    tree: Tree
    fields: list[tuple[str, str]] = field(default_factory=list)


class Form:
    """A form that is read line by line; what cannot be taken of it is told in ``faults``, by tree and question.

    It was filled in on a day that is named, else on that of its sheet, today if neither is known or the walk lies ahead.
    """

    def __init__(self, session: Session, lines: Sequence[str], on: date | None, *, yes: bool) -> None:
        self.session, self.yes = session, yes
        self.faults: list[str] = []
        self.head, texts = self._head(lines)
        self.visits = Visits(session, on or min(self.head.walked or session.today, session.today))
        self._lines = self._by_tree(texts)

    def outcomes(self) -> list[Outcome]:
        """Return what the answers of each tree make of the log. Raises Refusal where the form says nothing."""
        taken = [
            (asked, answers)
            for line in self._lines
            if (asked := self._asked(line)) is not None
            and (answers := self._answers(asked, line)) is not None
        ]
        if not taken and not self.faults:
            raise Refusal("nothing to write; right would be lines such as: Maple 2: vigour=4; drainage=25")
        if self.head.minutes is not None:
            taken = self._shared(taken, self.head.minutes)
        found = [outcome(self.visits, asked, answers) for asked, answers in taken]
        self.faults += [
            f"{half.visit.tree.label}: half-filled, {half.answered} of {half.asked} questions are answered; "
            f"right would be half of them{', or its vigour' if half.visit.depth == 'glance' else ', or its vigour for a glance'}"
            for half in found
            if half.taken is None
        ]
        return found

    def _head(self, lines: Sequence[str]) -> tuple[FormHead, list[str]]:
        """Return the head of a form and the lines of its trees. Raises Refusal for another garden's."""
        texts = [line.strip() for line in lines if line.strip() and not line.lstrip().startswith("#")]
        head, labels = FormHead(), {tree.label.casefold() for tree in self.session.every_tree}
        while texts and (found := HEAD.fullmatch(texts[0])) and found[1].casefold() not in labels:
            texts = texts[1:]
            if found[1].lower() != MINUTES:
                head = replace(head, walked=_walked(self.session, found[2]))
                continue
            try:
                head = replace(head, minutes=number(found[2], LONGEST_WALK, "min"))
            except Refusal:
                self.faults.append(f"minutes: found {shortened(found[2])}; {HOW_LONG}")
        return head, texts

    def _by_tree(self, texts: Sequence[str]) -> list[FormLine]:
        """Return the lines taken apart; those of one tree together."""
        lines: dict[Tree, FormLine] = {}
        for text in texts:
            try:
                tree, rest = _tree(self.session, text)
            except (Refusal, StoreError) as fault:
                lost = after_words(text.replace("=", ": "), [MINUTES]) is not None
                self._tell("", Refusal(f"{shortened(text)}: {HOW_LONG}") if lost else fault)
                continue
            line = lines.setdefault(tree, FormLine(tree))
            for one in (part.strip() for part in rest.split(";")):
                key, sign, value = (word.strip() for word in one.partition("="))
                if sign and not value and decision_words(self.session, key):
                    sign, value = "", one
                if sign and value:
                    line.fields.append((key, value))
                elif not sign and one:
                    line.fields.append(("", one))
        return [line for line in lines.values() if line.fields]

    def _asked(self, line: FormLine) -> Asked | None:
        try:
            return Asked(self.session, self.visits.visit(line.tree))
        except Refusal as fault:
            self._tell("", fault)
            return None

    def _answers(self, asked: Asked, line: FormLine) -> Answers | None:
        """Return what can be taken of a line, None where that is nothing."""
        values: dict[str, Value] = {}
        decisions: dict[str, Decided] = {}
        notes: list[str] = []
        refused: set[str] = set()
        minutes, note = None, ""
        for key, typed in line.fields:
            try:
                if not key:
                    self._refuse_words(asked, typed)
                if not key or as_key(key) == NOTE:
                    notes.append(typed)
                elif as_key(key) == DECIDE:
                    decision = asked.decision(typed)
                    decisions[decision.key] = _once(decisions.get(decision.key), decision)
                elif as_key(key) == MINUTES:
                    minutes = minutes_of_look(typed)
                else:
                    question = asked.question(key)
                    value = asked.value(question, typed)
                    values[question.key] = _once(values.get(question.key), value)
            except (Refusal, StoreError) as fault:
                self._tell(f"{line.tree.label}, {as_key(key) or shortened(typed)}: ", fault)
                refused.add(key)
        values = self._measured(asked, values, refused)
        try:
            note = checked(Remark, {"note": "; ".join(notes)}, as_option).note
        except Refusal as fault:
            self._tell(f"{line.tree.label}, ", fault)
        if not (values or decisions or minutes or note):
            return None
        return Answers(values, tuple(decisions.values()), minutes, note)

    def _refuse_words(self, asked: Asked, typed: str) -> None:
        """Refuse words that begin as a decision or an answer does: as a note they would be lost. Raises Refusal."""
        if found := asked.words(typed):
            key, value = found
            raise Refusal(f"not an answer yet; right would be {key}={value or 'ANSWER'}, {OR_NOTE}")
        if found := decision_words(self.session, typed):
            decision = found[1] if found[0] == DECIDE else " ".join(typed.rstrip("=").split())
            raise Refusal(f"not a decision yet; right would be {DECIDE}={decision or 'DECISION'}, {OR_NOTE}")

    def _measured(
        self, asked: Asked, values: Mapping[str, Value], refused: Collection[str]
    ) -> dict[str, Value]:
        """Return answers without the measures that are odd, nor the look at a part of which a measure was refused."""
        kept = dict(values)
        for key, value in values.items():
            try:
                self._refuse_odd(asked.odd(asked.every[key], value, values))
            except Refusal as fault:
                self._tell(f"{asked.visit.tree.label}, {key.casefold()}: ", fault)
                refused = {*refused, key}
                del kept[key]
        unsure = {question.part.id for key in refused if (question := asked.found(key)) and question.part}
        for key in list(kept):
            question = asked.every[key]
            if question.what == "look" and question.part is not None and question.part.id in unsure:
                waits = Refusal("waits for what was measured there; right would be both together")
                self._tell(f"{asked.visit.tree.label}, {key.casefold()}: ", waits)
                del kept[key]
        return kept

    def _refuse_odd(self, lines: Sequence[str]) -> None:
        if lines and not self.yes:
            raise Refusal(*(f"{line.partition(': ')[2]}; {SURE}" for line in lines))

    def _shared(self, taken: list[tuple[Asked, Answers]], minutes: float) -> list[tuple[Asked, Answers]]:
        """Return answers with their share of the minutes of the walk, where they have none of their own."""
        own = sum(answers.minutes or 0.0 for _, answers in taken)
        others = [asked.visit for asked, answers in taken if answers.minutes is None]
        shares = self.visits.shares(others, minutes - own) if minutes > own else {}
        return [
            (asked, answers if answers.minutes else replace(answers, minutes=shares.get(asked.visit.tree.id)))
            for asked, answers in taken
        ]

    def _tell(self, where: str, fault: Refusal | StoreError) -> None:
        lines = fault.lines if isinstance(fault, Refusal) else [str(fault)]
        self.faults += [f"{where}{line}" for line in lines]


def _once(before: Said | None, said: Said) -> Said:
    """Return what is said of something once, or twice alike. Raises Refusal."""
    if before is not None and before != said:
        raise Refusal("is answered twice; right would be one answer")
    return said


def _walked(session: Session, text: str) -> date:
    garden, _, day = text.partition(" ")
    own = garden_code(session)
    if garden.lower() != own:
        raise Refusal(
            f"sheet {shortened(garden)} is another garden's; right would be {own}, {session.garden.name}'s"
        )
    try:
        return day_of(day.strip())
    except ValueError as error:
        raise Refusal(f"sheet: {error}") from None


def _tree(session: Session, text: str) -> tuple[Tree, str]:
    """Return the tree of a line and what is said of it; a label may have a colon in it."""
    labels = {tree.label.casefold(): tree for tree in session.trees}
    for sign in re.finditer(":", text):
        tree = labels.get(" ".join(text[: sign.start()].casefold().split()))
        if tree is not None:
            return tree, text[sign.end() :]
    label, colon, rest = text.partition(":")
    if not colon:
        raise Refusal(f"{shortened(text)}: right would be TREE: KEY=ANSWER, such as Maple 2: vigour=4")
    found = named_trees(session, label)
    if len(found) > 1:
        raise Refusal(f"{shortened(label)} names {len(found)} trees; right would be the label of one")
    return found[0], rest
