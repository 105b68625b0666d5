"""Trees that were moved: where to, the entry that says so, and what that changes about the warnings that hold."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import uuid4

from alerts.outbox.standing import remember, warnings_since
from calendar_core.app.editing import entry
from calendar_core.app.errors import Refusal
from calendar_core.app.forms import as_option, checked
from calendar_core.app.garden_file import SpotPart
from calendar_core.app.output import say
from calendar_core.app.stored_warnings import RETURNS_KEPT, lifted
from calendar_core.app.voices import voice_of
from calendar_core.garden.model import PROFILES, Spot
from calendar_core.storage import gardens, log
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.app.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item


def relocate(session: Session, items: Sequence[Item], to: str | None, profile: str | None, note: str) -> None:
    """Write down that the trees of a move were moved, and say where to.

    ``to`` names a spot; with ``profile`` one that is not there yet is made. Without it the spot that
    the move names is taken, and one asked for where it names none.

    Raises
    ------
    Refusal
        Where it is not clear which spot is meant, and nobody can be asked.
    """
    made, goals = _goals(session, items, to, profile)
    trees = {tree.id: tree for tree in session.trees}
    by_spot: dict[UUID, list[Tree]] = {}
    order = list(trees)
    for item in sorted(items, key=lambda one: order.index(one.tree_id)):
        by_spot.setdefault(goals[item.tree_id].id, []).append(trees[item.tree_id])
    spots = {spot.id: spot for spot in (*session.spots.values(), *goals.values())}
    with session.store.begin() as connection:
        if made is not None:
            gardens.add_spot(connection, made)
        for place, (spot, which) in enumerate(by_spot.items()):
            data = {"spot": str(spot), **({"note": note} if note else {})}
            log.append(connection, [entry(session, which, "state", data, session.today, place=place)])
        lift_warnings(session, connection, {tree: spot.id for tree, spot in goals.items()})
    if made is not None:
        say(f"Spot added: {made.name}, {made.profile}.")
    for spot, which in by_spot.items():
        say(f"Moved to “{spots[spot].name}”: {tree_list([tree.label for tree in which], len(which))}.")


def lift_warnings(session: Session, connection: Connection, spots: Mapping[UUID, UUID]) -> None:
    """Take trees that stand elsewhere now out of the warnings that named them."""
    voice, now = voice_of(session), session.clock.now
    for warning in warnings_since(connection, session.garden.id, now - RETURNS_KEPT):
        remember(connection, lifted(voice, warning, spots, now))


def _goals(
    session: Session, items: Sequence[Item], to: str | None, profile: str | None
) -> tuple[Spot | None, dict[UUID, Spot]]:
    """Return a spot that has to be made, and by tree the spot that it went to."""
    if to is None and profile is not None:
        raise Refusal("--profile makes a spot; right would be its name as well: --to NAME --profile PROFILE")
    if to is None:
        if all(item.to is not None for item in items):
            return None, {item.tree_id: session.spots[item.to] for item in items if item.to is not None}
        to, profile = _asked(session, items)
    spot = next((one for one in session.spots.values() if one.name.lower() == to.strip().lower()), None)
    if spot is not None and profile not in (None, spot.profile):
        raise Refusal(f"'{spot.name}' is there already, as {spot.profile}; right would be no --profile")
    made = None if spot is not None else _new_spot(session, to, profile)
    goal = spot or made
    assert goal is not None  # noqa: S101 - one of them is
    return made, {item.tree_id: goal for item in items}


def _new_spot(session: Session, name: str, profile: str | None) -> Spot:
    if profile is None:
        known = ", ".join(f"'{spot.name}'" for spot in session.spots.values())
        raise Refusal(
            f"no spot '{name}'; right would be one of {known}, or, for a new one, --profile as well: "
            f"one of {', '.join(PROFILES)}"
        )
    part = checked(SpotPart, {"name": name, "profile": profile}, as_option)
    return Spot(uuid4(), session.garden.id, part.name, profile=part.profile)


def _asked(session: Session, items: Sequence[Item]) -> tuple[str, str | None]:
    """Ask which spot it was; who cannot be asked is told what to type."""
    serve = dict.fromkeys(spot for item in items for spot in (item.to, *item.also) if spot is not None)
    names = ", ".join(session.spots[spot].name for spot in serve)
    try:
        if names:
            say(f"Where to? One of: {names}.")
            return input("Spot: ").strip(), None
        say(f"No spot of the garden serves. Name one and say what it is: {', '.join(PROFILES[1:])}.")
        name, _, kind = input("Spot, such as garage, frost-free: ").partition(",")
    except EOFError:
        say()
        made = f"--to NAME --profile PROFILE, which makes one: one of {', '.join(PROFILES[1:])}"
        raise Refusal(f"where to? Right would be {f'--to and one of: {names}' if names else made}") from None
    return name.strip(), kind.strip() or None
