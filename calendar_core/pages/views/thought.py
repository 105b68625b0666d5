"""Work on a tree thought through before it is done: what is planned of it and why, the card before a cut, what would follow."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.app.log.parts import share_named
from calendar_core.app.plan.card import card_of
from calendar_core.app.plan.explained import explained
from calendar_core.app.plan.load import warned
from calendar_core.app.plan.objections import objections
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.named import operation_named
from calendar_core.app.work.what_if import imagined
from calendar_core.planning.items import Item, NotPlanned
from calendar_core.planning.seasons.axis import HORIZON_DAYS
from calendar_core.wording.pages.tree_text import TREE
from calendar_core.wording.plan.plan_text import CARDS, bases, why_title
from calendar_core.wording.plan.what_if_text import (
    WHAT_IF,
    gone_line,
    leaves_hard,
    look_row,
    moved_row,
    new_row,
    title,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.what_if import Consequences


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked for, as it was entered."""

    work: str = ""
    on: str = ""
    share: str = ""


Told = tuple[str, "Sequence[str]"]
"""A title and the lines under it."""


@dataclass(frozen=True)
class Thought:
    """What is told of work on a day; ``refused`` are the lines of what could not be understood."""

    title: str = ""
    told: Sequence[Told] = ()
    refused: Sequence[str] = ()


def thought(session: Session, tree: Tree, asked: Asked) -> Thought:
    """Return what is to be known before work on a tree; nothing where no work is asked for."""
    if not asked.work:
        return Thought()
    try:
        operation = operation_named(session, asked.work)
        day = _day(session, asked.on)
        share = share_named(asked.share.strip() or None)
    except Refusal as refusal:
        return Thought(refused=refusal.lines)
    found = imagined(session, [tree], operation, day, share)
    against = list(objections(session, found.plan, tree, operation, day))
    load = warned(session, [tree], operation, day, share).get(tree.id, ())
    against += [text for text in map(session.speaker.reason, load) if text not in against]
    say, label = session.style.say, session.knowledge.operations[operation].label
    return Thought(
        title(session.speaker, label, [tree.label], day),
        [
            (say(TREE["against"]), against or [say(TREE["nothing_against"])]),
            *session.speaker.card(card_of(session, tree, operation)),
            *_last(session, tree, operation),
            (say(TREE["follows"]), _following(session, found) or [say(WHAT_IF["nothing"])]),
            *_why(session, tree, operation),
        ],
    )


def _day(session: Session, text: str) -> date:
    """Return the day asked about, today where none is. Raises Refusal."""
    if not text.strip():
        return session.today
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        day = date.min
    if not session.today <= day <= session.today + timedelta(days=HORIZON_DAYS):
        raise Refusal(session.style.say(TREE["day_between"], day=text.strip()))
    return day


def _last(session: Session, tree: Tree, operation: str) -> Iterator[Told]:
    last = session.states[tree.id].last(operation)
    if last is not None:
        day = session.style.day(last.on, session.today)
        yield session.style.say(TREE["before"]), [session.style.say(CARDS["last"], day=day)]


def _following(session: Session, found: Consequences) -> list[str]:
    """Return what would follow, a line each."""
    speaker, labels = session.speaker, session.labels
    lines = (
        [leaves_hard(speaker, found.hard_by, found.chance)]
        if found.hard_by and found.chance is not None
        else []
    )
    for rows, phrase in (
        ([look_row(speaker, item, labels) for item in found.looks], WHAT_IF["looks"]),
        ([moved_row(speaker, moved, labels) for moved in found.moved], WHAT_IF["moved"]),
        ([new_row(speaker, item, labels) for item in found.new], WHAT_IF["new"]),
    ):
        lines += [f"{session.style.say(phrase)}: {', '.join(row)}." for row in rows]
    lines += [
        f"{session.style.say(WHAT_IF['gone'])}: {gone_line(speaker, item, absent, labels)}"
        for item, absent in found.gone
    ]
    return lines


def _why(session: Session, tree: Tree, operation: str) -> Iterator[Told]:
    """Give what is planned of the work, or why it is not, with each reason."""
    known: list[Item | NotPlanned] = [*session.plan.items, *session.plan.not_planned]
    lines = [line for line in known if line.tree_id == tree.id and line.operation == operation]
    if not lines:
        yield session.style.say(TREE["why"]), [_not_known(session, tree, operation)]
    for line in sorted(lines, key=lambda line: (line.cycle, isinstance(line, NotPlanned))):
        yield why_title(session.speaker, line, tree.label), why_of(session, line)


def why_of(session: Session, line: Item | NotPlanned) -> list[str]:
    """Return why something is planned, or is not, and what that rests on."""
    return [text.removeprefix("- ") for text in (*explained(session, line), *bases(session.speaker, line))]


def _not_known(session: Session, tree: Tree, operation: str) -> str:
    """Return why there is nothing to say of an operation for a tree."""
    profile, label = session.knowledge.profiles[tree.species], session.knowledge.operations[operation].label
    if operation in profile.never:
        return session.style.say(TREE["never"], work=label, why=profile.never[operation].why)
    return session.style.say(TREE["not_known"], work=label)
