"""Moves that warnings ask for: found by their printed name, and written down when they are made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.entries import entry, with_ids, write
from calendar_core.app.plan.line_names import name_of_move
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.warnings.stored_warnings import MOVED, returns_now, timed_events
from calendar_core.app.warnings.voices import voice_of
from calendar_core.wording.garden.answer_text import MOVES, moved

if TYPE_CHECKING:
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import TimedEvent


def move_named(session: Session, text: str) -> TimedEvent | None:
    """Return the move of a printed name; None where no warning that holds asks for one of that name."""
    wanted = text.lower().strip()
    moves = [move for move in timed_events(session, session.clock.now) if move.to is not None]
    found = [move for move in moves if name_of_move(move) == wanted]
    return found[0] if len(found) == 1 else None


def write_moved(session: Session, move: TimedEvent, verb: str, entry_id: UUID | None = None) -> Receipt:
    """Write down that trees were moved as a warning asked. Raises Refusal for any other answer."""
    if verb.lower().strip() not in (MOVED.lower(), "done"):
        raise Refusal(f"'{verb}' does not answer a move; right would be {MOVED}")
    spot = next(spot for spot in session.spots.values() if spot.id == move.to)
    which = [tree for tree in session.trees if tree.id in move.tree_ids]
    (written,) = with_ids([entry(session, which, "state", {"spot": str(spot.id)}, session.today)], entry_id)
    write(session, written)
    voice, now = voice_of(session), session.clock.now
    back = [
        session.style.say(MOVES["back"], summary=step.summary, hour=voice.hour(step.start, now))
        for step in returns_now(session, now)
        if set(step.tree_ids) & set(move.tree_ids)
    ]
    told = moved(session.style, spot.name, [tree.label for tree in which])
    return Receipt((told,), tuple(back), (written.id,))
