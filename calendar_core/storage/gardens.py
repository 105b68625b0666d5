"""Gardens, their spots, trees and people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sqlalchemy import delete, insert, select, update

from calendar_core.garden.model import Garden, Spot, Tree
from calendar_core.storage.errors import StoreError
from calendar_core.storage.names import by_number, in_order, key_of, nearest
from calendar_core.storage.rows import columns, record
from calendar_core.storage.schema import tables

if TYPE_CHECKING:
    from collections.abc import Sequence
    from uuid import UUID

    from sqlalchemy import Connection, Table


@dataclass(frozen=True, slots=True)
class Person:
    """Someone who works in a garden."""

    id: UUID
    garden_id: UUID
    name: str
    role: Literal["owner", "helper"]


def add_garden(connection: Connection, garden: Garden) -> None:
    """Add a garden; its weather series must be stored already.

    Raises
    ------
    StoreError
        When another garden has the name, in whatever case.
    """
    _add(connection, tables.garden, garden)


def update_garden(connection: Connection, garden: Garden) -> None:
    """Replace the garden that has this id."""
    _update(connection, tables.garden, garden)


def list_gardens(connection: Connection) -> tuple[Garden, ...]:
    """Return all gardens by name."""
    rows = connection.execute(select(*columns(tables.garden, Garden)))
    return tuple(sorted((Garden(*row) for row in rows), key=lambda garden: in_order(garden.name)))


def get_garden(connection: Connection, name: str | None = None) -> Garden:
    """Return the garden of this name, or the only one.

    Raises
    ------
    StoreError
        When there is none, none of that name, or several and no name was given; the error lists the names.
    """
    gardens = list_gardens(connection)
    if not gardens:
        raise StoreError("there is no garden in this database yet: make one with 'leafclock start'")
    names = ", ".join(f"'{garden.name}'" for garden in gardens)
    if name is None and len(gardens) > 1:
        raise StoreError(f"there are {len(gardens)} gardens: choose one with --garden: {names}")
    found = [garden for garden in gardens if name is None or key_of(garden.name) == key_of(name)]
    if not found:
        raise StoreError(f"no garden '{name}': there is {names}")
    return found[0]


def garden_of(connection: Connection, garden_id: UUID) -> Garden:
    """Return the garden of an id. Raises StoreError where there is none."""
    chosen = select(*columns(tables.garden, Garden)).where(tables.garden.c.id == garden_id)
    row = connection.execute(chosen).first()
    if row is None:
        raise StoreError("this garden is not in the database any more")
    return Garden(*row)


def add_spot(connection: Connection, spot: Spot) -> None:
    """Add a spot; its name must be new in its garden."""
    _add(connection, tables.spot, spot)


def update_spot(connection: Connection, spot: Spot) -> None:
    """Replace the spot that has this id."""
    _update(connection, tables.spot, spot)


def remove_spot(connection: Connection, spot_id: UUID) -> None:
    """Forget a spot."""
    connection.execute(delete(tables.spot).where(tables.spot.c.id == spot_id))


def list_spots(connection: Connection, garden_id: UUID) -> tuple[Spot, ...]:
    """Return the spots of a garden by name."""
    rows = connection.execute(select(*columns(tables.spot, Spot)).where(tables.spot.c.garden_id == garden_id))
    return tuple(sorted((Spot(*row) for row in rows), key=lambda spot: in_order(spot.name)))


def find_spot(connection: Connection, garden_id: UUID, name: str) -> Spot:
    """Return the spot of this name, in whatever case; an unknown name offers the three nearest."""
    spots = {spot.name: spot for spot in list_spots(connection, garden_id)}
    return spots[_known("spot", name, list(spots))]


def add_trees(connection: Connection, trees: Sequence[Tree]) -> None:
    """Add trees, all or none.

    Raises
    ------
    StoreError
        When a label is taken in its garden or comes twice; all such labels are named.
    """
    if not trees:
        return
    gardens = {tree.garden_id for tree in trees}
    stored = select(tables.tree.c.garden_id, tables.tree.c.label_key)
    taken = {tuple(row) for row in connection.execute(stored.where(tables.tree.c.garden_id.in_(gardens)))}
    twice, rows = [], []
    for tree in trees:
        key = key_of(tree.label)
        if (tree.garden_id, key) in taken:
            twice.append(f"'{tree.label}'")
        taken.add((tree.garden_id, key))
        rows.append(record(tree, label_key=key))
    if twice:
        raise StoreError(
            f"a garden has each label once, and these come again: {', '.join(twice)}: give others"
        )
    connection.execute(insert(tables.tree), rows)


def list_trees(connection: Connection, garden_id: UUID) -> tuple[Tree, ...]:
    """Return the trees of a garden by label."""
    kept = tables.tree.c
    chosen = select(kept.label_key, *columns(tables.tree, Tree)).where(kept.garden_id == garden_id)
    rows = sorted(connection.execute(chosen).all(), key=lambda row: by_number(row[0]))
    return tuple(Tree(*row[1:]) for row in rows)


def find_tree(connection: Connection, garden_id: UUID, label: str) -> Tree:
    """Return the tree of this label, in whatever case; an unknown label offers the three nearest."""
    trees = {tree.label: tree for tree in list_trees(connection, garden_id)}
    return trees[_known("tree", label, list(trees))]


def add_person(connection: Connection, person: Person) -> None:
    """Add a person; the name must be new in the garden."""
    _add(connection, tables.person, person)


def list_people(connection: Connection, garden_id: UUID) -> tuple[Person, ...]:
    """Return the people of a garden by name."""
    chosen = select(*columns(tables.person, Person)).where(tables.person.c.garden_id == garden_id)
    return tuple(
        sorted((Person(*row) for row in connection.execute(chosen)), key=lambda who: in_order(who.name))
    )


def _known(kind: str, name: str, known: list[str]) -> str:
    """Return the stored spelling of a name."""
    key = key_of(name)
    spelling = next((each for each in known if key_of(each) == key), None)
    if spelling is None:
        offer = ", ".join(f"'{each}'" for each in nearest(name, known))
        raise StoreError(
            f"no {kind} '{name}': " + (f"the nearest are {offer}" if offer else f"there is no {kind} yet")
        )
    return spelling


def _add(connection: Connection, table: Table, thing: Garden | Spot | Person) -> None:
    key = _free_key(connection, table, thing)
    connection.execute(insert(table), [record(thing, name_key=key)])


def _update(connection: Connection, table: Table, thing: Garden | Spot) -> None:
    key = _free_key(connection, table, thing)
    changed = connection.execute(
        update(table).where(table.c.id == thing.id).values(record(thing, name_key=key))
    )
    if changed.rowcount == 0:
        raise StoreError(f"the {table.name} '{thing.name}' is not stored yet: add it first")


def _free_key(connection: Connection, table: Table, thing: Garden | Spot | Person) -> str:
    """Return the key of a name that no other row has. Writers take turns, so it stays free."""
    key = key_of(thing.name)
    others = select(table.c.name).where(table.c.name_key == key, table.c.id != thing.id)
    if not isinstance(thing, Garden):
        others = others.where(table.c.garden_id == thing.garden_id)
    other = connection.execute(others).scalar()
    if other is not None:
        raise StoreError(f"there is a {table.name} '{other}' already: give another name")
    return key


OWNER = "owner"
