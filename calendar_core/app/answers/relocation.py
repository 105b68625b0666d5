"""Trees that were moved: where to, the entry that says so, and what that changes about the warnings that hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import uuid4

from alerts.outbox.standing import remember, warnings_since
from calendar_core.app.garden.garden_file import SpotPart
from calendar_core.app.log.entries import entry, with_ids
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import as_option, checked
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.warnings.stored_warnings import RETURNS_KEPT, without_way_back
from calendar_core.garden.model import Spot
from calendar_core.knowledge.words import THERMAL_PROFILES
from calendar_core.planning.places.operations import INTO
from calendar_core.storage import gardens, log
from calendar_core.wording.garden.answer_text import MOVES, moved
from calendar_core.wording.garden.garden_text import SPOTS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item


@dataclass(frozen=True)
class WhereTo:
    """What is asked where a spot is not named: ``spots`` that serve, else the name and kind of a new one.

    ``said`` tells why, ``prompt`` stands before what is typed.
    """

    spots: tuple[str, ...]
    kinds: tuple[str, ...]
    said: tuple[str, ...]
    prompt: str


class WhereToRefusal(Refusal):
    """A move of which nobody knows where to until it is said."""

    def __init__(self, asked: WhereTo, right: str) -> None:
        super().__init__(f"where to? Right would be {right}")
        self.asked = asked


def relocate(
    session: Session,
    items: Sequence[Item],
    to: str | None,
    profile: str | None,
    note: str,
    entry_id: UUID | None = None,
) -> Receipt:
    """Write down that the trees of a move were moved, and tell where to.

    ``to`` names a spot; with ``profile`` one that is not there yet is made. Without it the spot that
    the move names is taken.

    Raises
    ------
    Refusal
        Where the spot is no answer; a WhereToRefusal where it is not clear which one is meant.
    """
    made, goals = _goals(session, items, to, profile or None)
    _refuse_idle(session, items, goals)
    trees = {tree.id: tree for tree in session.trees}
    by_spot: dict[UUID, list[Tree]] = {}
    order = list(trees)
    for item in sorted(items, key=lambda item: order.index(item.tree_id)):
        by_spot.setdefault(goals[item.tree_id].id, []).append(trees[item.tree_id])
    spots = {spot.id: spot for spot in (*session.spots.values(), *goals.values())}
    moves = with_ids(
        [
            entry(session, which, "state", _moved_to(spot, note), session.today, place=place)
            for place, (spot, which) in enumerate(by_spot.items())
        ],
        entry_id,
    )
    with session.store.begin() as connection:
        if made is not None:
            gardens.add_spot(connection, made)
        log.append(connection, moves)
        _ask_none_back(session, connection, {tree: spot.id for tree, spot in goals.items()})
    told = [*_no_answer(session, items, goals)]
    if made is not None:
        told.append(session.style.say(SPOTS["made"], name=made.name, profile=made.profile))
    for spot, which in by_spot.items():
        told.append(moved(session.style, spots[spot].name, [tree.label for tree in which]))
    return Receipt(tuple(told), entries=tuple(move.id for move in moves))


def _moved_to(spot: UUID, note: str) -> dict[str, str]:
    return {"spot": str(spot), **({"note": note} if note else {})}


def _refuse_idle(session: Session, items: Sequence[Item], goals: Mapping[UUID, Spot]) -> None:
    """Refuse a move under cover that ends in the open, and one to where a tree stands."""
    for item in items:
        goal = goals[item.tree_id]
        if item.operation == INTO and goal.profile == "open":
            raise Refusal(f"'{goal.name}' lies in the open; right would be a spot under cover")
        if session.grove.states[item.tree_id].spot == goal.id:
            raise Refusal(
                f"{session.labels[item.tree_id]} stands in '{goal.name}'; right would be another spot"
            )


def _no_answer(session: Session, items: Sequence[Item], goals: Mapping[UUID, Spot]) -> Iterator[str]:
    """Yield a sentence of each spot that does not serve for all of the winter."""
    known = {spot for item in items for spot in (item.to, *item.also)}
    for spot in {goal.id: goal for goal in goals.values()}.values():
        if spot.id in session.spots and spot.id not in known and items[0].operation == INTO:
            yield session.style.say(MOVES["no_answer"], spot=spot.name)


def make_place(session: Session, to: str | None, profile: str | None) -> Receipt:
    """Write down a place for the winter that was made; its trees are asked to it in time.

    Raises
    ------
    Refusal
        Where a spot of that name is there already; a WhereToRefusal where it is not clear what was made.
    """
    if to is None or profile is None:
        raise _unnamed(session)
    if any(spot.name.lower() == to.lower() for spot in session.spots.values()):
        raise Refusal(f"'{to}' is there already; right would be the name of the place that was made")
    made = _new_spot(session, to, profile or None)
    with session.store.begin() as connection:
        gardens.add_spot(connection, made)
    return Receipt((session.style.say(SPOTS["made_for_winter"], name=made.name, profile=made.profile),))


def _ask_none_back(session: Session, connection: Connection, spots: Mapping[UUID, UUID]) -> None:
    """Let no warning ask trees back from the spots to which the season's move brought them.

    That they stand there is read from the log: taken back there, the warning holds for them again.
    """
    for warning in warnings_since(connection, session.garden.id, session.clock.now - RETURNS_KEPT):
        if (left := without_way_back(warning, spots)) is not warning:
            remember(connection, left)


def _goals(
    session: Session, items: Sequence[Item], to: str | None, profile: str | None
) -> tuple[Spot | None, dict[UUID, Spot]]:
    """Return a spot that has to be made, and by tree the spot that it went to."""
    if to is None and profile is not None:
        raise Refusal("--profile makes a spot; right would be its name as well: --to NAME --profile PROFILE")
    if to is None:
        if all(item.to is not None for item in items):
            return None, {item.tree_id: session.spots[item.to] for item in items if item.to is not None}
        raise _unclear(session, items)
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


def _unclear(session: Session, items: Sequence[Item]) -> WhereToRefusal:
    """Return the question which spot it was."""
    serve = dict.fromkeys(spot for item in items for spot in (item.to, *item.also) if spot is not None)
    spots = tuple(session.spots[spot].name for spot in serve)
    say, names = session.style.say, ", ".join(spots)
    if not spots:
        return _unnamed(session, say(MOVES["none_serves"]))
    asked = WhereTo(spots, (), (say(MOVES["where"], spots=names),), say(MOVES["spot_prompt"]))
    return WhereToRefusal(asked, f"--to and one of: {names}")


def _unnamed(session: Session, *why: str) -> WhereToRefusal:
    """Return the question for the name and the profile of a spot that is to be made."""
    kinds, say = THERMAL_PROFILES[1:], session.style.say
    told = ", ".join(kinds)
    asked = WhereTo((), kinds, (*why, say(MOVES["name_it"], kinds=told)), say(MOVES["new_prompt"]))
    return WhereToRefusal(asked, f"--to NAME --profile PROFILE, which makes one: one of {told}")
