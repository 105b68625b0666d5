"""Writing to the log: entries made from what was typed, checked before anything is stored."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

from calendar_core.app.errors import Refusal
from calendar_core.app.founding import OWNER
from calendar_core.garden.model import Entry
from calendar_core.storage import gardens, log

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.app.session import Session
    from calendar_core.garden.model import EntryKind, Tree


def write(
    session: Session,
    trees: Sequence[Tree],
    kind: EntryKind,
    data: dict[str, Any],
    on: date,
    *,
    voids: UUID | None = None,
) -> Entry:
    """Store one entry and return it."""
    if on > session.today:
        raise Refusal(f"{on} lies ahead; right would be a day up to today, {session.today}")
    entry = Entry(
        uuid4(),
        session.garden.id,
        tuple(tree.id for tree in trees),
        on,
        session.clock.now,
        OWNER,
        kind,
        data,
        voids=voids,
    )
    with session.store.begin() as connection:
        log.append(connection, [entry])
    return entry


def named_trees(session: Session, text: str) -> list[Tree]:
    """Return the trees named by label, several parted by commas; ``all`` or a species stands for all of them."""
    found: list[Tree] = []
    for name in (part.strip() for part in text.split(",")):
        if not name:
            continue
        if name.lower() == "all":
            found += session.trees
            continue
        kind = [
            t for t in session.trees if session.knowledge.profiles[t.species].common.lower() == name.lower()
        ]
        if kind:
            found += kind
            continue
        with session.store.read() as connection:
            found.append(gardens.find_tree(connection, session.garden.id, name))
    if not found:
        raise Refusal(f"'{text}' names no tree; right would be labels parted by commas, a species, or all")
    return list(dict.fromkeys(found))


def operation_named(session: Session, text: str) -> str:
    """Return the operation's key for a label or key as typed."""
    operations = session.knowledge.operations
    names = {
        label.lower(): key
        for key, operation in operations.items()
        for label in (key, operation.label, operation.done)
    }
    return names[_one_of(text, "operation", names)]


def stage_named(session: Session, trees: Sequence[Tree], text: str) -> str:
    """Return the stage's key as typed, if all the trees have it."""
    wanted = text.lower().strip().replace(" ", "_")
    for tree in trees:
        stages = session.knowledge.profiles[tree.species].stages
        if wanted not in stages:
            known = ", ".join(name.replace("_", " ") for name in stages)
            raise Refusal(f"{tree.label} has no stage '{text}'; right would be one of: {known}")
    return wanted


def _one_of(text: str, what: str, names: dict[str, str]) -> str:
    wanted = text.lower().strip().replace("_", " ")
    if wanted in names:
        return wanted
    close = get_close_matches(wanted, names, n=3, cutoff=0.4)
    near = ", ".join(close) if close else ", ".join(sorted(set(names.values())))
    raise Refusal(f"no {what} '{text}'; near ones: {near}")
