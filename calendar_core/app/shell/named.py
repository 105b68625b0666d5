"""Names as they are typed: of trees, operations and stages, found or refused with those that could be meant."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from difflib import get_close_matches
from typing import TYPE_CHECKING

from calendar_core.app.shell.errors import Refusal
from calendar_core.knowledge.profiles.names import UnknownSpeciesError, find_species
from calendar_core.storage import gardens

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree

EVER = date.min  # a day on which every tree was there: what is only read may be of one that is gone


def named_trees(session: Session, text: str, on: date | None = None) -> list[Tree]:
    """Return the trees named by label, several parted by commas; ``all`` or a species stands for all of them.

    A label goes first: a tree may be called as its species is, or have a comma in its name. One that is gone is
    refused, but where something is asked or told ``on`` a day on which it was there.
    """
    labels = {tree.label.lower(): tree for tree in session.every_tree}
    whole = labels.get(text.strip().lower())
    if whole is not None:
        return [_here(session, whole, on)]
    found: list[Tree] = []
    for name in filter(None, (part.strip() for part in text.split(","))):
        known = labels.get(name.lower())
        found += _kind(session, name) if known is None else [_here(session, known, on)]
    if not found:
        raise Refusal(f"'{text}' names no tree; right would be labels parted by commas, a species, or all")
    return list(dict.fromkeys(found))


def _here(session: Session, tree: Tree, on: date | None) -> Tree:
    """Return a tree that is in the garden, or was on a day. Raises Refusal."""
    gone = session.gone.get(tree.id)
    if gone is None or (on is not None and on <= gone.on):
        return tree
    right = "a tree that is here" if on is None else f"a day up to {gone.on}"
    raise Refusal(
        f"{tree.label} is gone since {gone.on}: {gone.why}; right would be {right}, "
        f"or, if that was written in error, first: leafclock log --void {gone.entry.hex[:8]}"
    )


def _kind(session: Session, name: str) -> list[Tree]:
    """Return the trees of a species, or the one of a label; an unknown name offers the nearest labels."""
    if name.lower() == "all" and session.trees:
        return list(session.trees)
    with suppress(UnknownSpeciesError):
        species = find_species(name, session.knowledge.profiles)
        kind = [tree for tree in session.trees if tree.species == species]
        if kind:
            return kind
    with session.store.read() as connection:
        return [gardens.find_tree(connection, session.garden.id, name)]


def one_tree(session: Session, text: str, on: date | None = None) -> Tree:
    """Return the one tree of a name, as `named_trees`. Raises Refusal where it names several."""
    found = named_trees(session, text, on)
    if len(found) > 1:
        raise Refusal(f"'{text}' names {len(found)} trees; right would be the label of one")
    return found[0]


def operation_named(session: Session, text: str) -> str:
    """Return the operation's key for a label or key as typed."""
    operations = session.knowledge.operations
    names = {
        label.lower(): key
        for key, operation in operations.items()
        for label in (key, operation.label, operation.done)
    }
    wanted = text.lower().strip().replace("_", " ")
    if wanted not in names:
        close = get_close_matches(wanted, names, n=3) or sorted(operations)
        raise Refusal(f"no operation '{text}'; right would be one such as {', '.join(close)}")
    return names[wanted]


def stage_named(session: Session, trees: Sequence[Tree], text: str) -> str:
    """Return the stage's key as typed, if all the trees have it."""
    wanted = text.lower().strip().replace(" ", "_")
    for tree in trees:
        stages = session.knowledge.profiles[tree.species].stages
        if wanted not in stages:
            known = ", ".join(name.replace("_", " ") for name in stages)
            raise Refusal(f"{tree.label} has no stage '{text}'; right would be one of: {known}")
    return wanted
