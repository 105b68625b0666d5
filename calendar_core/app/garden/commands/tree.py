"""The trees of the garden: ``tree``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from calendar_core.app.garden.adding import add_file, add_pasted
from calendar_core.app.garden.tree_entries import change_trees, part_with
from calendar_core.app.garden.whole_trees import planned, tree_data, whole_tree
from calendar_core.app.log.entries import happened
from calendar_core.app.shell.named import EVER, named_trees
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none, read_day
from calendar_core.app.shell.output import columns, heading, print_json, say, tell
from calendar_core.app.shell.session import Session, open_session
from calendar_core.garden.model import Tree
from calendar_core.knowledge.words import AIMS, DEPARTURES, POT_KINDS, SIZES
from calendar_core.wording.garden.garden_text import TREES, gone_line, gone_row, seen_line, state_row

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
    tell(
        add_pasted(
            session, trees, label=label,
            vigour=vigour, cultivar=cultivar, aim=aim, size=size, spot=spot, pot=pot_kind, last_repot=day,
        )
    )  # fmt: skip


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
    tell(add_file(open_session(db, garden, day_or_none(today)), file))


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
        print_json([tree_data(session, tree) for tree in session.trees])
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
    for item in planned(session, tree):
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
    receipt = change_trees(
        session, which, on, spot=spot, aim=aim, vigour=vigour, size=size, pot_litres=pot, pot=pot_kind
    )
    tell(receipt)


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
    tell(part_with(session, which, on, why, note))
