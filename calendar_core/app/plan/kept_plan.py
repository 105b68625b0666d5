"""What is due, from what was worked out before; only trees of which something new is known are planned anew."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import calendar_core
from calendar_core.app.shell.progress import progress
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.planning.items import PUBLISH_FROM
from calendar_core.storage import gardens, kept

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import Connection

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item, Plan

BLOCK = 200  # trees planned and kept at a time: few enough to see how it goes on, many enough to share their weather


def due_items(session: Session, days: int) -> list[Item]:
    """Return what is due or wished and likely enough, in the order of a plan.

    Left out may be what opens later than in so many days, unless it may share an event with what does not.
    """
    plan_missing(session)
    with session.store.read() as connection:
        found = kept.kept_items(connection, session.garden.id, session.today + timedelta(days=days))
    # Of a tree that is gone by today something may be kept for a day on which it was there.
    return [item for item in found if item.tree_id not in session.gone]


def coming_items(session: Session, days: int) -> list[Item]:
    """Return the same of the session's plan if that was made: a job that has it need not make it again."""
    made: Plan | None = session.__dict__.get("plan")
    return due_items(session, days) if made is None else list(made.items)


def plan_missing(session: Session, *, quiet: bool = False) -> None:
    """Plan the trees of which nothing is kept that holds today; what is kept stays if this is broken off."""
    with session.store.read() as connection:
        rests_on = made_for(session, connection)
        have = kept.kept_trees(connection, session.garden.id, rests_on)
    missing = sorted((tree for tree in session.trees if tree.id not in have), key=lambda tree: tree.species)
    blocks = [missing[first : first + BLOCK] for first in range(0, len(missing), BLOCK)]
    for block in progress(blocks, "Planning", quiet=quiet or len(blocks) < 2):
        _plan(session, block, rests_on)


def _plan(session: Session, trees: Sequence[Tree], rests_on: str) -> None:
    garden_id = session.garden.id
    with session.store.read() as connection:
        length = kept.log_length(connection, garden_id)
    plan = session.part(trees).plan
    due = [item for item in plan.items if item.status != "possible" and item.chance >= PUBLISH_FROM]
    with session.store.begin() as connection:
        # What was written in the meantime is not in the plan: it is not kept as if it were.
        if (kept.log_length(connection, garden_id), made_for(session, connection)) == (length, rests_on):
            kept.keep(connection, garden_id, rests_on, [tree.id for tree in trees], due)


def made_for(session: Session, connection: Connection) -> str:
    """Return a mark of all that a tree's items rest on but its log, which forgets them."""
    garden = gardens.get_garden(connection, session.garden.name)
    spots = gardens.list_spots(connection, garden.id)
    weather = kept.weather_known(connection, garden)
    return _mark((session.today, garden, spots, weather, program_mark()))


@cache
def program_mark() -> str:
    """Return a mark of this program and its knowledge: any file that is changed makes another."""
    files = [*Path(calendar_core.__file__).parent.rglob("*.py"), *folder("config").rglob("*.toml")]
    return _mark([(path.name, path.stat().st_size, path.stat().st_mtime_ns) for path in sorted(files)])


def _mark(things: object) -> str:
    return hashlib.sha256(repr(things).encode()).hexdigest()
