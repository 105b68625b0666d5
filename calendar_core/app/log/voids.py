"""Entries taken back: what was written in error counts no more, and the log still tells that it was."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.entries import entry, write
from calendar_core.app.log.history import joinings, log_speaker
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.garden.state import valid_entries
from calendar_core.wording.garden.log_text import WRITTEN
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree


def void_named(session: Session, text: str) -> Receipt:
    """Take back the entry of a name as ``log`` lists it. Raises Refusal where there is none, or more than one."""
    wanted = text.lower().replace("-", "")
    known = [logged for logged in _standing(session) if wanted and logged.id.hex.startswith(wanted)]
    if len(known) != 1:
        found = "no entry" if not known else f"{len(known)} entries"
        raise Refusal(f"{found} '{text}'; right would be the name of one entry as listed by: leafclock log")
    return _void(session, known)


def void(session: Session, ids: Collection[UUID]) -> Receipt:
    """Take back entries written together, those that stand, all or none. Raises Refusal where none does."""
    known = [logged for logged in _standing(session) if logged.id in ids]
    if not known:
        raise Refusal("nothing of this stands any more; right would be an entry of the log that holds")
    return _void(session, known)


def _standing(session: Session) -> tuple[Entry, ...]:
    """Return the entries that count, and those that cannot be read."""
    return (*session.set_aside, *valid_entries(session.entries, session.today))


def _void(session: Session, wrong: Sequence[Entry]) -> Receipt:
    _refuse_joinings(session, wrong)
    odd = {logged.id for logged in session.set_aside}
    write(session, *(_void_of(session, logged, place) for place, logged in enumerate(wrong)))
    told = []
    for logged in wrong:
        day = session.style.day(logged.happened, session.today)
        unread = logged.id in odd
        text = session.style.say(WRITTEN["unread"]) if unread else log_speaker(session).told(logged)
        if len(logged.tree_ids) > 1:
            labels = [tree.label for tree in _named(session, logged)]
            told.append(
                session.style.say(
                    WRITTEN["void_of"], told=text, trees=tree_list(labels, len(labels)), day=day
                )
            )
        else:
            told.append(session.style.say(WRITTEN["void"], told=text, day=day))
        if not unread and logged.kind == "part" and "kind" in logged.data:
            told.append(session.style.say(WRITTEN["void_part"]))
    return Receipt(tuple(told))


def _void_of(session: Session, wrong: Entry, place: int) -> Entry:
    return entry(session, _named(session, wrong), wrong.kind, {}, session.today, voids=wrong.id, place=place)


def _named(session: Session, logged: Entry) -> list[Tree]:
    return [tree for tree in session.every_tree if tree.id in logged.tree_ids]


def _refuse_joinings(session: Session, wrong: Sequence[Entry]) -> None:
    """Raise Refusal for an entry with which a tree joined: without it, it would have no aim and stand nowhere."""
    first = joinings(session, {tree for logged in wrong for tree in logged.tree_ids})
    for logged in wrong:
        if logged.id in first:
            labels = [tree.label for tree in _named(session, logged)]
            raise Refusal(
                f"with this entry {tree_list(labels, len(labels))} joined the garden; right would be to write down "
                "what is otherwise, or that it is gone"
            )
