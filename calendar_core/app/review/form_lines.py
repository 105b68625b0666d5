"""A filled form, a line a tree: ``Maple 2: vigour=4; low left width=12; decide=repot; minutes=9; note=dry moss``.

Before the lines of trees may stand ``sheet: GARDEN DAY``, the first eight signs of the garden's id and the day the sheet
was printed, and ``minutes: 75``, how long the whole walk took. Empty answers are questions left open; words without = are
the note. Good answers are kept though others are not.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeVar

from calendar_core.app.review.answers import Answers, outcome
from calendar_core.app.review.asked import Asked, as_key, minutes_of_look, number
from calendar_core.app.review.sheet import garden_code
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.days import ahead, day_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import Remark, as_option, checked, shortened
from calendar_core.app.shell.named import named_trees
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.app.review.answers import Outcome
    from calendar_core.app.review.written import Decided, Value
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree

Said = TypeVar("Said")
HEAD = re.compile(r"\s*(sheet|minutes)\s*:\s*(.*?)\s*", re.IGNORECASE)
DECIDE, MINUTES, NOTE = "decide", "minutes", "note"
LONGEST_WALK = 24 * 60.0  # minutes of a day
SURE = "if that is what you measured, say so with --yes"


@dataclass(frozen=True)
class FormHead:
    """What stands above the trees: the day on which the sheet was printed, and the minutes of the whole walk."""

    printed: date | None = None
    minutes: float | None = None


@dataclass
class FormLine:
    """The line of one tree taken apart: its fields by the key as it was typed, and its note."""

    tree: Tree
    fields: list[tuple[str, str]] = field(default_factory=list)
    note: str = ""


class Form:
    """A form that is read line by line; what cannot be taken of it is told in ``faults``, by tree and question."""

    def __init__(self, session: Session, lines: Sequence[str], on: date, *, yes: bool) -> None:
        self.session, self.on, self.yes = session, on, yes
        self.faults: list[str] = []
        self.head, texts = _head(session, lines)
        self.visits = Visits(session, on, self.head.printed)
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
            f"right would be its vigour, or half of them, for the look to count"
            for half in found
            if not half.taken
        ]
        return found

    def _by_tree(self, texts: Sequence[str]) -> list[FormLine]:
        """Return the lines taken apart; those of one tree together."""
        lines: dict[Tree, FormLine] = {}
        for text in texts:
            try:
                tree, rest = _tree(self.session, text)
            except (Refusal, StoreError) as fault:
                self._tell("", fault)
                continue
            line = lines.setdefault(tree, FormLine(tree))
            for one in (part.strip() for part in rest.split(";")):
                key, sign, value = (word.strip() for word in one.partition("="))
                if (sign and as_key(key) == NOTE) or not sign:
                    line.note = "; ".join(filter(None, [line.note, value if sign else key]))
                elif value:
                    line.fields.append((key, value))
        return [line for line in lines.values() if line.fields or line.note]

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
        minutes, note = None, ""
        for key, typed in line.fields:
            try:
                if as_key(key) == DECIDE:
                    decision = asked.decision(typed)
                    decisions[decision.key] = _once(decisions.get(decision.key), decision)
                elif as_key(key) == MINUTES:
                    minutes = minutes_of_look(typed)
                else:
                    question = asked.question(key)
                    value = asked.value(question, typed)
                    self._refuse_odd(asked.odd(question, value))
                    values[question.key] = _once(values.get(question.key), value)
            except (Refusal, StoreError) as fault:
                self._tell(f"{line.tree.label}, {as_key(key)}: ", fault)
        try:
            note = checked(Remark, {"note": line.note}, as_option).note
        except Refusal as fault:
            self._tell(f"{line.tree.label}, ", fault)
        if not (values or decisions or minutes or note):
            return None
        return Answers(values, tuple(decisions.values()), minutes, note)

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


def _head(session: Session, lines: Sequence[str]) -> tuple[FormHead, list[str]]:
    """Return the head of a form and the lines of its trees. Raises Refusal for another garden's."""
    texts = [line.strip() for line in lines if line.strip() and not line.lstrip().startswith("#")]
    head, labels = FormHead(), {tree.label.casefold() for tree in session.every_tree}
    while texts and (found := HEAD.fullmatch(texts[0])) and found[1].casefold() not in labels:
        texts = texts[1:]
        if found[1].lower() == "minutes":
            head = replace(head, minutes=number(found[2], LONGEST_WALK, "min"))
        else:
            head = replace(head, printed=_printed(session, found[2]))
    return head, texts


def _printed(session: Session, text: str) -> date:
    garden, _, day = text.partition(" ")
    own = garden_code(session)
    if garden.lower() != own:
        raise Refusal(
            f"sheet {shortened(garden)} is another garden's; right would be {own}, {session.garden.name}'s"
        )
    try:
        printed = day_of(day.strip())
    except ValueError as error:
        raise Refusal(f"sheet: {error}") from None
    if printed > session.today:
        raise Refusal(f"sheet: {ahead(printed, session.today)}")
    return printed


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
