"""Work that was done and work that is wished for, written down and told."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.app.log.entries import entry, is_written, with_ids, write
from calendar_core.app.log.history import log_speaker
from calendar_core.app.log.lines import entries_of_lines
from calendar_core.app.log.parts import entries_of_work, warned_of_parts
from calendar_core.app.plan.explained import why_not
from calendar_core.app.plan.load import warned, warning_lines
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.planning.items import OF_PART
from calendar_core.wording.garden.log_text import WRITTEN
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree


def write_work(
    session: Session,
    trees: Sequence[Tree],
    operation: str,
    on: date,
    *,
    details: Mapping[str, Any],
    parts: Sequence[str] = (),
    values: Sequence[str] = (),
    place: Mapping[str, Any],
    yes: bool = False,
    entry_id: UUID | None = None,
) -> Receipt:
    """Write down work on trees, or on ``parts`` of one, some of which it may make, with what was measured of them.

    ``details`` are note, regret and share, ``place`` is height_mm and side of a part that is new; ``entry_id`` is one
    that whoever sends this chose: sent again, nothing is written.

    Raises
    ------
    Refusal
        Where something is not known or cannot be; a DoubtRefusal where it may be an error, unless ``yes``.
    """
    if is_written(session, entry_id):
        return written_before(session)
    made = entries_of_work(session, trees, operation, on, details, parts, values, place, yes=yes)
    made = list(with_ids(made, entry_id))
    work = next(logged for logged in made if logged.kind == "work")
    against = warned(session, trees, operation, on, work.data.get("share"))
    write(session, *made)
    told = session.style.say(
        WRITTEN["work"],
        done=session.knowledge.operations[operation].done,
        trees=tree_list([tree.label for tree in trees]),
        parts=f" ({', '.join(parts)})" if parts else "",
        day=session.style.day(on, session.today),
        entry=work.id.hex[:8],
    )
    spared = warned_of_parts(session, trees, operation, parts, on)
    notes = (*warning_lines(session, against), *warning_lines(session, spared))
    return Receipt((told,), notes, tuple(entry.id for entry in made))


def written_before(session: Session) -> Receipt:
    """Return what is told of what was sent again."""
    return Receipt((session.style.say(WRITTEN["before"]),))


def write_lines(session: Session, lines: Sequence[str], *, yes: bool) -> Receipt:
    """Write down many entries at once, a line each, all or none. Raises Refusal with the faults of all lines."""
    written = entries_of_lines(session, lines, session.today, yes=yes)
    write(session, *written)
    style, speaker = session.style, log_speaker(session)
    told = [style.say(WRITTEN["lines"], entries=style.number_of(len(written), "entry", "entries"))]
    against = [logged for logged in written if "against" in logged.data]
    for logged in against:
        trees = tree_list([session.labels[tree] for tree in logged.tree_ids])
        told.append(style.say(WRITTEN["against"], trees=trees, told=speaker.told(logged)))
    if against:
        told.append(style.say(WRITTEN["ask_before"]))
    return Receipt(tuple(told), entries=tuple(logged.id for logged in written))


def write_wish(
    session: Session,
    trees: Sequence[Tree],
    operation: str,
    *,
    anyway: bool = False,
    entry_id: UUID | None = None,
) -> Receipt:
    """Ask for work that is possible but not due; note why a tree cannot have it yet. Raises Refusal."""
    if is_written(session, entry_id):
        return written_before(session)
    written = with_ids([_wish(session, tree, operation, anyway=anyway) for tree in trees], entry_id)
    write(session, *written)
    style, work = session.style, session.knowledge.operations[operation].label.lower()
    told = style.say(WRITTEN["wished"], work=work, trees=tree_list([tree.label for tree in trees]))
    notes = [
        style.say(WRITTEN["not_now"], tree=tree.label, reason=reason)
        for tree in trees
        for reason in why_not(session, tree.id, operation)
    ]
    return Receipt((told,), tuple(notes), tuple(wish.id for wish in written))


def _wish(session: Session, tree: Tree, key: str, *, anyway: bool) -> Entry:
    profile = session.knowledge.profiles[tree.species]
    if key in profile.never:
        label = session.knowledge.operations[key].label.lower()
        raise Refusal(f"{tree.label}: {label} is never done to a {profile.common}: {profile.never[key].why}")
    if key not in {work.operation for work in profile.work}:
        raise Refusal(
            f"{tree.label}: {key} is not known for {profile.common}; right would be one listed by: leafclock species show '{profile.common}'"
        )
    data = {"operation": key, "cycle": _next_cycle(session, tree, key), "anyway": anyway}
    return entry(session, [tree], "wish", data, session.today)


def _next_cycle(session: Session, tree: Tree, operation: str) -> int | None:
    """Return the first cycle in which an operation could be wished: also after its like was done, or not wanted."""
    plan, asked_again = session.plan, {"done", "dropped"}
    known = [i.cycle for i in plan.items if (i.tree_id, i.operation) == (tree.id, operation)]
    known += [
        absent.cycle
        for absent in plan.not_planned
        if (absent.tree_id, absent.operation) == (tree.id, operation)
        and OF_PART not in absent.rule
        and {reason.code for reason in absent.reasons} <= asked_again
    ]
    return min(known, default=None)
