"""Trees that were moved: where to, the entry that says so, and what that changes about the warnings that hold."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import uuid4

from alerts.outbox.standing import remember, warnings_since
from calendar_core.app.garden.garden_file import SpotPart
from calendar_core.app.log.entries import entry
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import as_option, checked
from calendar_core.app.shell.output import say
from calendar_core.app.warnings.stored_warnings import RETURNS_KEPT, lifted, without_way_back
from calendar_core.app.warnings.voices import voice_of
from calendar_core.garden.model import Spot
from calendar_core.knowledge.words import THERMAL_PROFILES
from calendar_core.planning.places.operations import INTO
from calendar_core.storage import gardens, log
from calendar_core.wording.garden.answer_text import MOVES, moved
from calendar_core.wording.garden.garden_text import SPOTS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.app.shell.session import Session
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
    _refuse_idle(session, items, goals)
    trees = {tree.id: tree for tree in session.trees}
    by_spot: dict[UUID, list[Tree]] = {}
    order = list(trees)
    for item in sorted(items, key=lambda item: order.index(item.tree_id)):
        by_spot.setdefault(goals[item.tree_id].id, []).append(trees[item.tree_id])
    spots = {spot.id: spot for spot in (*session.spots.values(), *goals.values())}
    with session.store.begin() as connection:
        if made is not None:
            gardens.add_spot(connection, made)
        for place, (spot, which) in enumerate(by_spot.items()):
            data = {"spot": str(spot), **({"note": note} if note else {})}
            log.append(connection, [entry(session, which, "state", data, session.today, place=place)])
        lift_warnings(session, connection, {tree: spot.id for tree, spot in goals.items()}, back=False)
    if made is not None:
        say(session.style.say(SPOTS["made"], name=made.name, profile=made.profile))
    for spot, which in by_spot.items():
        say(moved(session.style, spots[spot].name, [tree.label for tree in which]))


def _refuse_idle(session: Session, items: Sequence[Item], goals: Mapping[UUID, Spot]) -> None:
    """Refuse a move under cover that ends in the open, and one to where a tree stands; tell of a spot that is no answer."""
    for item in items:
        goal = goals[item.tree_id]
        if item.operation == INTO and goal.profile == "open":
            raise Refusal(f"'{goal.name}' lies in the open; right would be a spot under cover")
        if session.grove.states[item.tree_id].spot == goal.id:
            raise Refusal(
                f"{session.labels[item.tree_id]} stands in '{goal.name}'; right would be another spot"
            )
    known = {spot for item in items for spot in (item.to, *item.also)}
    for spot in {goal.id: goal for goal in goals.values()}.values():
        if spot.id in session.spots and spot.id not in known and items[0].operation == INTO:
            say(session.style.say(MOVES["no_answer"], spot=spot.name))


def make_place(session: Session, to: str | None, profile: str | None) -> None:
    """Write down a place for the winter that was made; its trees are asked to it in time.

    Raises
    ------
    Refusal
        Where it is not clear what was made, and nobody can be asked.
    """
    if to is None or profile is None:
        to, profile = _named(session)
    if any(spot.name.lower() == to.lower() for spot in session.spots.values()):
        raise Refusal(f"'{to}' is there already; right would be the name of the place that was made")
    made = _new_spot(session, to, profile)
    with session.store.begin() as connection:
        gardens.add_spot(connection, made)
    say(session.style.say(SPOTS["made_for_winter"], name=made.name, profile=made.profile))


def lift_warnings(
    session: Session, connection: Connection, spots: Mapping[UUID, UUID], *, back: bool = True
) -> None:
    """Take trees that stand elsewhere now out of the warnings that named them; those that stay are not asked ``back``."""
    voice, now = voice_of(session), session.clock.now
    for warning in warnings_since(connection, session.garden.id, now - RETURNS_KEPT):
        left = lifted(voice, warning, spots, now, session.gone)
        remember(connection, left if back else without_way_back(voice, left, spots))


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
    spot = next((spot for spot in session.spots.values() if spot.name.lower() == to.strip().lower()), None)
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
            f"one of {', '.join(THERMAL_PROFILES)}"
        )
    part = checked(SpotPart, {"name": name, "profile": profile}, as_option)
    return Spot(uuid4(), session.garden.id, part.name, profile=part.profile)


def _asked(session: Session, items: Sequence[Item]) -> tuple[str, str | None]:
    """Ask which spot it was; who cannot be asked is told what to type."""
    serve = dict.fromkeys(spot for item in items for spot in (item.to, *item.also) if spot is not None)
    names = ", ".join(session.spots[spot].name for spot in serve)
    if not names:
        say(session.style.say(MOVES["none_serves"]))
        return _named(session)
    say(session.style.say(MOVES["where"], spots=names))
    return _typed(session.style.say(MOVES["spot_prompt"]), f"--to and one of: {names}"), None


def _named(session: Session) -> tuple[str, str | None]:
    """Ask for the name and the profile of a spot that is to be made."""
    kinds = ", ".join(THERMAL_PROFILES[1:])
    say(session.style.say(MOVES["name_it"], kinds=kinds))
    right = f"--to NAME --profile PROFILE, which makes one: one of {kinds}"
    name, _, kind = _typed(session.style.say(MOVES["new_prompt"]), right).partition(",")
    return name.strip(), kind.strip() or None


def _typed(prompt: str, right: str) -> str:
    """Return what the grower types; who cannot be asked is told what would be right."""
    try:
        return input(prompt).strip()
    except EOFError:
        say()
        raise Refusal(f"where to? Right would be {right}") from None
