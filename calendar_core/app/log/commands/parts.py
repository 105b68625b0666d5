"""Parts of a tree and what is known of them: ``part``, ``measure``, ``before``, ``history``."""

from __future__ import annotations

from typing import Annotated

import typer

from calendar_core.app.log import part_entries
from calendar_core.app.log.entries import happened
from calendar_core.app.log.history import history_data
from calendar_core.app.log.part_entries import PartWords, add_part, change_part
from calendar_core.app.log.parts import part_named
from calendar_core.app.log.views import history_view
from calendar_core.app.plan.card import card_of
from calendar_core.app.plan.load import warned
from calendar_core.app.plan.objections import objections
from calendar_core.app.plan.views.card import card_view
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.shell.named import EVER, named_trees, one_tree, operation_named
from calendar_core.app.shell.options import (
    Day,
    Db,
    GardenName,
    Json,
    OnDay,
    SomeTrees,
    Today,
    day_or_none,
    one_day,
)
from calendar_core.app.shell.output import columns, print_json, say, tell
from calendar_core.app.shell.session import open_session
from calendar_core.wording.garden.log_text import FOLLOWED, followed

part_app = typer.Typer(
    help="Parts of a tree that are followed: grafts, wounds, wire, leaders, dry parts, buds.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

OneTree = Annotated[str, typer.Argument(metavar="TREE", help="The label of one tree.")]
Name = Annotated[str, typer.Argument(metavar="NAME", help="The part's name, such as 'low left'.")]
Height = Annotated[float | None, typer.Option(help="Height on the tree, in mm above the soil.")]
Side = Annotated[str, typer.Option(help="Side: front, left, back, right, or in words.")]
DirectiveText = Annotated[
    str | None,
    typer.Option(
        "--directive",
        help="grow free; hold; keep as backup; remove when replaced; watch; undecided; no directive.",
    ),
]
Pairs = Annotated[int | None, typer.Option(help="With hold: at how many leaf pairs.")]
DecideBy = Annotated[
    str | None, typer.Option(help="With undecided: the stage by which to decide, such as 'leaf fall'.")
]
InsteadOf = Annotated[
    str | None, typer.Option(metavar="NAME", help="The part it will replace, which goes when this one can.")
]
Decide = Annotated[
    str | None,
    typer.Option(
        metavar="OPERATION",
        help="What it is to get, such as 'structural prune', unwire, 'sever graft' or 'recut wound'; 'nothing' takes it back.",
    ),
]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(part_app, name="part")
    app.command()(measure)
    app.command()(before)
    app.command()(history)


@part_app.command("add")
def part_add(
    tree: OneTree,
    kind: Annotated[
        str,
        typer.Argument(
            metavar="KIND",
            help="apex, branch, graft, wound, wire, dieback, sacrifice branch, back bud, or air layer.",
        ),
    ],
    name: Name,
    day: Day = None,
    on_day: OnDay = None,
    height: Height = None,
    side: Side = "",
    directive: DirectiveText = None,
    pairs: Pairs = None,
    decide_by: DecideBy = None,
    instead_of: InsteadOf = None,
    decide: Decide = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down a part that is to be followed; looks at it enter the plan."""
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, one_day(day, on_day))
    words = PartWords(height, side, pairs, directive, decide_by, instead_of, decide)
    tell(add_part(session, one_tree(session, tree, on), kind, name, on, words))


@part_app.command("change")
def part_change(
    tree: OneTree,
    name: Name,
    day: Day = None,
    on_day: OnDay = None,
    new_name: Annotated[str | None, typer.Option("--name", help="Another name.")] = None,
    height: Height = None,
    side: Side = "",
    directive: DirectiveText = None,
    pairs: Pairs = None,
    decide_by: DecideBy = None,
    instead_of: InsteadOf = None,
    decide: Decide = None,
    gone: Annotated[
        bool, typer.Option("--gone", help="Cut off, closed, grown in: follow it no more.")
    ] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Change what is to become of a part, or say that it is gone."""
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, one_day(day, on_day))
    this_tree = one_tree(session, tree, on)
    words = PartWords(height, side, pairs, directive, decide_by, instead_of, decide)
    part = part_named(session, this_tree, name)
    tell(change_part(session, this_tree, part, on, words, new_name=new_name, gone=gone))


@part_app.command("list")
def part_list(
    trees: SomeTrees = "all",
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """List the parts that are followed, the highest on each tree first."""
    session = open_session(db, garden, day_or_none(today))
    which = named_trees(session, trees, EVER) if session.trees or trees != "all" else []
    found = {tree.label: session.states[tree.id].open_parts for tree in which}
    if as_data:
        print_json(found)
        return
    rows = [
        (label, part.name, part.kind, followed(session.style, part, session.today))
        for label, parts in found.items()
        for part in parts
    ]
    if not rows:
        say(session.style.say(FOLLOWED["none"]))
    columns(rows, indent=0)


def measure(
    tree: OneTree,
    values: Annotated[
        list[str],
        typer.Argument(
            metavar="[PART] WHAT=MM ...",
            help="Such as 'low left' entry=4 exit=5; without a part, of the tree.",
        ),
    ],
    day: Annotated[str | None, typer.Option("--on", metavar="DAY", help="The day, if not today.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="The number is right, however odd it looks.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down what you measured, in millimetres; forecasts are made from it."""
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, day)
    this_tree = one_tree(session, tree, on)
    names, numbers = [v for v in values if "=" not in v], [v for v in values if "=" in v]
    tell(part_entries.measure(session, this_tree, names, numbers, on, yes=yes))


def before(
    tree: OneTree,
    operation: Annotated[str, typer.Argument(metavar="OPERATION", help="What you are about to do.")],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Print what to look at before you cut: open concerns, what must stay, what is undecided, what was regretted."""
    session = open_session(db, garden, day_or_none(today))
    this_tree = one_tree(session, tree)
    card = card_of(session, this_tree, operation_named(session, operation))
    load = warned(session, [this_tree], card.operation, session.today, None).get(this_tree.id, ())
    against = objections(session, session.part([this_tree]).plan, this_tree, card.operation, session.today)
    against += [text for text in map(session.speaker.reason, load) if text not in against]
    if as_data:
        print_json({**as_json(card), "against": against})
    else:
        card_view(session, this_tree, card, against)


def history(
    tree: OneTree,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Tell the history of a tree: what was done, seen and measured, part by part."""
    session = open_session(db, garden, day_or_none(today))
    this_tree = one_tree(session, tree, EVER)
    if as_data:
        print_json(history_data(session, this_tree))
    else:
        history_view(session, this_tree)
