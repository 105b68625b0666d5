"""Moves that warnings ask for: found by their printed name, and written down when they are made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.editing import entry, write
from calendar_core.app.errors import Refusal
from calendar_core.app.names_of_items import LENGTH
from calendar_core.app.output import say
from calendar_core.app.stored_warnings import timed_events
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from calendar_core.app.session import Session
    from calendar_core.planning.events import TimedEvent

MOVED = "Moved"


def move_named(session: Session, text: str) -> TimedEvent | None:
    """Return the move of a printed name; None where no warning that holds asks for one of that name."""
    wanted = text.lower().strip()
    moves = [one for one in timed_events(session, session.clock.now) if one.to is not None]
    found = [one for one in moves if len(wanted) >= LENGTH and one.uid.hex.startswith(wanted)]
    return found[0] if len(found) == 1 else None


def write_moved(session: Session, move: TimedEvent, verb: str) -> None:
    """Write down that trees were moved as a warning asked. Raises Refusal for any other answer."""
    if verb.lower().strip() not in (MOVED.lower(), "done"):
        raise Refusal(f"'{verb}' does not answer a move; right would be {MOVED}")
    which = [tree for tree in session.trees if tree.id in move.tree_ids]
    write(session, entry(session, which, "state", {"spot": str(move.to)}, session.today))
    spots = {spot.id: spot.name for spot in session.spots.values()}
    where = spots[move.to] if move.to is not None else ""
    say(f"{MOVED} to “{where}”: {tree_list([tree.label for tree in which], len(which))}.")
