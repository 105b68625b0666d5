"""Looks of a review round written down: the answers about a tree, or a filled form of many, and what follows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.app.log.entries import write
from calendar_core.app.log.history import log_speaker
from calendar_core.app.review.answers import Answers, outcome
from calendar_core.app.review.asked import minutes_of_look
from calendar_core.app.review.follow_up import planned_anew
from calendar_core.app.review.form_lines import Form
from calendar_core.app.shell.errors import DoubtRefusal, Refusal
from calendar_core.app.shell.forms import Remark, as_option, checked
from calendar_core.app.shell.program import program
from calendar_core.app.shell.receipt import Receipt
from calendar_core.storage.errors import StoreError
from calendar_core.wording.review.enter_text import ENTERED, anew, note_words, told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from calendar_core.app.review.answers import Outcome
    from calendar_core.app.review.asked import Asked
    from calendar_core.app.review.visits import Visits
    from calendar_core.app.review.written import Value
    from calendar_core.app.shell.session import Session


@dataclass(frozen=True)
class Typed:
    """What is typed of a look: by key of question, decisions such as "sever low left", minutes and a note."""

    values: Mapping[str, str]
    decisions: Sequence[str] = ()
    minutes: str = ""
    note: str = ""


class LookRefusal(Refusal):
    """Answers that cannot be taken: ``faults`` by key of question, "decide" or "minutes"; nothing was written."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        super().__init__(*(f"{key}: {fault}" for key, fault in faults.items()))
        self.faults = dict(faults)


class LookDoubt(DoubtRefusal):
    """Measurements that may be errors: ``odd`` says why by key of question; nothing was written."""

    def __init__(self, odd: Mapping[str, Sequence[str]]) -> None:
        doubts = [line for lines in odd.values() for line in lines]
        super().__init__(doubts, "; if that is what you measured, say so with --yes")
        self.odd = {key: tuple(lines) for key, lines in odd.items()}


def answers_of(asked: Asked, typed: Typed, *, yes: bool) -> Answers:
    """Return what is typed of a look, checked; what is empty is left open.

    Raises
    ------
    LookRefusal
        With what is wrong of each answer.
    LookDoubt
        Where measurements may be errors, unless ``yes``.
    """
    values: dict[str, Value] = {}
    faults: dict[str, str] = {}
    for key, text in typed.values.items():
        if not text.strip():
            continue
        try:
            question = asked.question(key)
            values[question.key] = asked.value(question, text)
        except Refusal as fault:
            faults[key] = str(fault)
    decisions = {}
    for text in filter(None, (text.strip() for text in typed.decisions)):
        try:
            decision = asked.decision(text)
            decisions[decision.key] = decision
        except (Refusal, StoreError) as fault:
            faults["decide"] = str(fault)
    minutes, note = None, ""
    try:
        minutes = minutes_of_look(typed.minutes) if typed.minutes.strip() else None
    except Refusal as fault:
        faults["minutes"] = str(fault)
    try:
        note = checked(Remark, {"note": typed.note}, as_option).note
    except Refusal as fault:
        faults["note"] = str(fault)
    odd = _odd(asked, values, faults)
    if faults:
        raise LookRefusal(faults)
    if odd and not yes:
        raise LookDoubt(odd)
    return Answers(values, tuple(decisions.values()), minutes, note)


def _odd(asked: Asked, values: Mapping[str, Value], faults: dict[str, str]) -> dict[str, list[str]]:
    """Return what is to be asked about measurements; of a part that was not followed yet ``faults`` tell."""
    odd: dict[str, list[str]] = {}
    for key, value in values.items():
        try:
            if lines := asked.odd(asked.every[key], value, values):
                odd[key] = lines
        except Refusal as fault:
            faults[key] = str(fault)
    return odd


def write_look(session: Session, visits: Visits, asked: Asked, answers: Answers) -> Outcome:
    """Write down the answers about a tree; what they say already is not written again."""
    found = outcome(visits, asked, answers)
    write(session, *found.entries)
    visits.add(found.entries)
    return found


def receipt_of(session: Session, outcomes: Sequence[Outcome], *, as_faults: bool = False) -> Receipt:
    """Return what was written down of trees, a paragraph each; ``as_faults`` where half a look is told as one.

    What corrects earlier answers names no entries: taken back, it would leave neither these nor those.
    """
    written = [logged for found in outcomes for logged in found.entries]
    entries = [] if any(logged.voids for logged in written) else [logged.id for logged in written]
    return Receipt(tuple(outcome_words(session, outcomes, as_faults=as_faults)), entries=tuple(entries))


def outcome_words(session: Session, outcomes: Sequence[Outcome], *, as_faults: bool = False) -> list[str]:
    """Return for each tree what was written down, and what follows."""
    style, log = session.style, log_speaker(session)
    plans, out = planned_anew(session, outcomes), []
    for found in outcomes:
        new = [logged for logged in found.entries if logged.voids is None]
        said = list(dict.fromkeys(log.told(logged) for logged in new))
        sentences = [told(style, found.visit.tree.label, said, len(found.entries) - len(new))]
        sentences += [note_words(style, note.code, note.values, program()) for note in found.notes]
        sentences += anew(session.speaker, plans.get(found.visit.tree.id, ()))
        if found.entries and found.taken == "glance" and found.visit.depth == "full":
            sentences.append(style.say(ENTERED["as_glance"], answered=found.answered, asked=found.asked))
        if found.taken is None and not as_faults:
            sentences.append(style.say(ENTERED["not_taken"], answered=found.answered, asked=found.asked))
        out.append(" ".join(sentences))
    return out


@dataclass(frozen=True)
class FormTaken:
    """What of a filled form was written, and its ``faults``: what was not, by tree and question."""

    receipt: Receipt
    faults: tuple[str, ...]


def write_form(session: Session, lines: Sequence[str], on: date | None, *, yes: bool) -> FormTaken:
    """Write down a filled form: what is right of it is kept. Raises Refusal where it says nothing."""
    form = Form(session, lines, on, yes=yes)
    outcomes = form.outcomes()
    for found in outcomes:
        write(session, *found.entries)
    made = receipt_of(session, outcomes, as_faults=True)
    style, written = session.style, sum(len(found.entries) for found in outcomes)
    trees = style.number_of(len(outcomes), "tree", "trees")
    total = style.say(ENTERED["sum"], trees=trees, entries=style.number_of(written, "entry", "entries"))
    return FormTaken(Receipt((*made.told, total), entries=made.entries), tuple(form.faults))
