"""The trees of the garden: ``tree``."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from calendar_core.app.garden.adding import add_parts, parts_from_csv, parts_from_text
from calendar_core.app.garden.garden_file import TreePart
from calendar_core.app.log.entries import entry, happened, write
from calendar_core.app.log.history import entries_of, joined_on
from calendar_core.app.shell.errors import Refusal, faults_of
from calendar_core.app.shell.forms import Strict, Text, as_option, checked
from calendar_core.app.shell.named import EVER, named_trees
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import columns, heading, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.garden.model import Tree
from calendar_core.knowledge.words import AIMS, DEPARTURES, POT_KINDS, SIZES, Departure
from calendar_core.planning.items import Item
from calendar_core.storage import gardens
from calendar_core.wording.garden.garden_text import (
    TREES,
    gone_line,
    gone_row,
    of_trees,
    seen_line,
    state_row,
)
from calendar_core.wording.sentences import tree_list

tree_app = typer.Typer(help="The trees of the garden.", no_args_is_help=True, rich_markup_mode=None)

PotMade = Annotated[str | None, typer.Option("--pot-kind", help=f"One of: {', '.join(POT_KINDS)}.")]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(tree_app, name="tree")


@tree_app.command("add")
def tree_add(
    trees: Annotated[str, typer.Argument(help="Trees, such as: '3 Japanese maple small; black pine'.")],
    label: Annotated[str | None, typer.Option(help="Label, if it is one tree.")] = None,
    aim: Annotated[str | None, typer.Option(help=f"One of: {', '.join(AIMS)}.")] = None,
    size: Annotated[str | None, typer.Option(help=f"One of: {', '.join(SIZES)}.")] = None,
    vigour: Annotated[int, typer.Option(help="1 dying, 3 steady, 5 strong.")] = 3,
    spot: Annotated[str | None, typer.Option(help="Where it stands.")] = None,
    cultivar: str = "",
    pot_kind: PotMade = None,
    last_repot: Annotated[str | None, typer.Option(metavar="DAY")] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Add trees by pasted lines."""
    session = open_session(db, garden, day_or_none(today))
    day = read_day(last_repot) if last_repot else None
    given = {"label": label, "aim": aim, "size": size, "spot": spot, "pot": pot_kind, "last_repot": day}
    state = {name: value for name, value in given.items() if value is not None}
    parts = parts_from_text(trees, vigour=vigour, cultivar=cultivar, **state)
    if label is not None and len(parts) != 1:
        raise Refusal("--label goes with one tree; right would be one call for each label")
    if not parts:
        raise Refusal("no tree is named; right would be trees such as: '3 Japanese maple small; black pine'")
    added = add_parts(session, parts)
    say(of_trees(session.style, TREES["added"], [tree.label for tree in added]))


@tree_app.command("import")
def tree_import(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE",
            help="CSV with columns species, label, aim, size, vigour, spot, cultivar, pot, pot_litres, last_repot.",
        ),
    ],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Add trees from a CSV file, all or none."""
    session, parts = open_session(db, garden, day_or_none(today)), parts_from_csv(file)
    with faults_of(file):
        added = add_parts(session, parts)
    say(of_trees(session.style, TREES["added"], [tree.label for tree in added]))


@tree_app.command("list")
def tree_list_command(
    gone: Annotated[bool, typer.Option("--gone", help="Those that are gone, with day and why.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """List the trees with their state."""
    session = open_session(db, garden, day_or_none(today))
    if gone:
        _list_gone(session, as_data=as_data)
        return
    if as_data:
        print_json([_tree_data(session, tree) for tree in session.trees])
        return
    if not session.trees:
        say(session.style.say(TREES["none"]))
    columns([_tree_row(session, tree) for tree in session.trees], indent=0)


def _list_gone(session: Session, *, as_data: bool) -> None:
    left = {tree: session.gone[tree.id] for tree in session.every_tree if tree.id in session.gone}
    if as_data:
        print_json([{"tree": tree, "gone": gone} for tree, gone in left.items()])
        return
    if not left:
        say(session.style.say(TREES["none_gone"]))
    common = {tree: session.knowledge.profiles[tree.species].common for tree in left}
    columns([gone_row(session.style, tree, common[tree], gone) for tree, gone in left.items()], indent=0)


def _tree_row(session: Session, tree: Tree) -> tuple[str, ...]:
    state, common = session.states[tree.id], session.knowledge.profiles[tree.species].common
    where = session.spots[state.spot].name if state.spot in session.spots else "-"
    return (tree.label, *state_row(session.style, common, state, where))


def _tree_data(session: Session, tree: Tree) -> dict[str, Any]:
    return {"tree": tree, "state": session.states[tree.id]}


@tree_app.command("show")
def tree_show(
    label: str, db: Db = None, garden: GardenName = None, today: Today = None, as_data: Json = False
) -> None:
    """Show a tree: its state, what was written down, what is planned; of one that is gone, since when and why."""
    session = open_session(db, garden, day_or_none(today))
    which = named_trees(session, label, EVER)
    if as_data:
        print_json([whole_tree(session, tree) for tree in which])
        return
    for tree in which:
        _show(session, tree)


def whole_tree(session: Session, tree: Tree) -> dict[str, Any]:
    """Return what is shown of a tree: its state, what is planned for it, and its stages."""
    gone = session.gone.get(tree.id)
    stages = session.plan.stages[tree.id] if gone is None else ()
    shown = {"items": _planned(session, tree), "stages": stages, "gone": gone}
    return {**_tree_data(session, tree), **shown}


def _planned(session: Session, tree: Tree) -> list[Item]:
    if tree.id in session.gone:
        return []
    return [item for item in session.plan.items if item.tree_id == tree.id and item.status != "possible"]


def _show(session: Session, tree: Tree) -> None:
    heading(tree.label)
    if tree.id in session.gone:
        say(gone_line(session.style, session.gone[tree.id], session.today), indent=2)
    columns([_tree_row(session, tree)[1:]])
    state = session.states[tree.id]
    for done in state.done:
        work = session.knowledge.operations[done.operation].done
        say(session.style.say(TREES["done"], day=done.on, done=session.style.translate(work)), indent=2)
    for sight in state.seen:
        say(seen_line(session.style, sight.on, sight.stage), indent=2)
    for item in _planned(session, tree):
        label = session.speaker.name(item)
        say(f"{label}: {session.speaker.window(item)}", indent=2, hanging=2)


@tree_app.command("change")
def tree_change(
    label: str,
    aim: Annotated[str | None, typer.Option(help=f"One of: {', '.join(AIMS)}.")] = None,
    vigour: Annotated[int | None, typer.Option(help="1 dying, 3 steady, 5 strong.")] = None,
    size: Annotated[str | None, typer.Option(help=f"One of: {', '.join(SIZES)}.")] = None,
    spot: Annotated[str | None, typer.Option(help="Where it now stands.")] = None,
    pot: Annotated[float | None, typer.Option(help="Pot volume in litres.")] = None,
    pot_kind: PotMade = None,
    day: Annotated[str | None, typer.Option(metavar="DAY", help="Since when, if not today.")] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Change a tree's aim, vigour, size, spot or pot; the change is an entry of the log."""
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, day)
    which = named_trees(session, label, on)
    data = _tree_changes(session, spot, aim=aim, vigour=vigour, size=size, pot_litres=pot, pot=pot_kind)
    if not data:
        raise Refusal(
            "nothing to change; right would be one of --aim, --vigour, --size, --spot, --pot, --pot-kind"
        )
    for tree in which:
        _refuse_before(session, tree, on)
    write(session, entry(session, which, "state", data, on))
    say(of_trees(session.style, TREES["changed"], [tree.label for tree in which]))


@tree_app.command("gone")
def tree_gone(
    label: Annotated[str, typer.Argument(metavar="TREE", help="A label; several parted by commas.")],
    why: Annotated[str, typer.Option(help=f"One of: {', '.join(DEPARTURES)}.")],
    day: Annotated[str | None, typer.Option("--on", metavar="DAY", help="Since when, if not today.")] = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Say that a tree is gone: it is no longer planned or warned of, and what was written of it stays."""
    session = open_session(db, garden, day_or_none(today))
    on, which = happened(session, day), named_trees(session, label)
    form = checked(DepartureForm, {"why": why.strip().lower(), "note": note}, as_option)
    for tree in which:
        _refuse_before(session, tree, on)
        last = max((logged.happened for logged in entries_of(session, tree)), default=on)
        if on < last:
            raise Refusal(
                f"{tree.label} was still there on {last}, by its log; right would be a day from then on, not {on}"
            )
    written = entry(session, which, "gone", form.model_dump(exclude_defaults=True), on)
    write(session, written)
    trees, told = tree_list([tree.label for tree in which]), session.style.translate(form.why)
    say(
        session.style.say(
            TREES["went"],
            day=session.style.day(on, session.today),
            trees=trees,
            why=told,
            entry=written.id.hex[:8],
        )
    )


class DepartureForm(Strict):
    """What is said of trees that are gone."""

    why: Departure
    note: Text = ""


def _refuse_before(session: Session, tree: Tree, on: date) -> None:
    """Refuse a day before a tree joined: how it joined would overrule what is said of it then. Raises Refusal."""
    joined = joined_on(session, tree)
    if joined is not None and on < joined:
        raise Refusal(f"{tree.label} joined on {joined}; right would be a day from then on, not {on}")


def _tree_changes(session: Session, spot: str | None, **given: str | float | None) -> dict[str, Any]:
    data: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
    checked(TreePart, {"species": "", **data}, as_option)
    if spot is not None:
        with session.store.read() as connection:
            data["spot"] = str(gardens.find_spot(connection, session.garden.id, spot).id)
    return data
