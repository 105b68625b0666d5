"""Parts of a tree and what is known of them: ``part``, ``measure``, ``before``, ``history``."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

import typer

from calendar_core.app.log.entries import entry, happened, write
from calendar_core.app.log.history import history_data
from calendar_core.app.log.parts import (
    PartForm,
    decision,
    kind_named,
    measures_named,
    part_entry,
    part_named,
    refuse_early,
    refuse_odd,
    refuse_odd_height,
    treatment,
)
from calendar_core.app.log.views import history_view
from calendar_core.app.plan.card import card_of
from calendar_core.app.plan.load import warned
from calendar_core.app.plan.objections import objections
from calendar_core.app.plan.views.card import card_view
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import as_option, checked
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.shell.named import EVER, named_trees, operation_named
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
from calendar_core.app.shell.output import columns, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.garden.model import Tree
from calendar_core.wording.garden.log_text import FOLLOWED, WRITTEN, followed, measured, part_words

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
    this_tree = _one_tree(session, tree, on)
    form = checked(PartForm, {"name": name, "height_mm": height, "side": side, "pairs": pairs}, as_option)
    key = kind_named(kind)
    more = treatment(session, this_tree, directive, decide_by, instead_of)
    more |= decision(session, this_tree, key, decide)
    written = part_entry(session, this_tree, key, form, more, on)
    write(session, written)
    told = part_words(session.style, written.data)
    say(session.style.say(WRITTEN["part"], part=this_tree.label, told=told, entry=written.id.hex[:8]))


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
    this_tree = _one_tree(session, tree, on)
    part = part_named(session, this_tree, name)
    refuse_early([part], on)
    form = checked(
        PartForm,
        {"name": new_name or part.name, "height_mm": height, "side": side, "pairs": pairs},
        as_option,
    )
    data: dict[str, Any] = form.model_dump(exclude_none=True, exclude_defaults=True, exclude={"name"})
    data |= {"name": form.name} if new_name else {}
    data |= treatment(session, this_tree, directive, decide_by, instead_of)
    data |= decision(session, this_tree, part.kind, decide)
    data |= {"gone": True} if gone else {}
    if not data:
        raise Refusal(
            "nothing to change is given; right would be --directive, --decide, --gone or another option"
        )
    written = entry(session, [this_tree], "part", data, on, parts=[part.id])
    write(session, written)
    which, told = f"{this_tree.label}, {part.name}", part_words(session.style, data)
    say(session.style.say(WRITTEN["part"], part=which, told=told, entry=written.id.hex[:8]))


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
    this_tree = _one_tree(session, tree, on)
    names, numbers = [v for v in values if "=" not in v], [v for v in values if "=" in v]
    if len(names) > 1 or not numbers:
        raise Refusal("right would be one part, or none, and measurements such as width=17")
    sizes = measures_named(numbers)
    parts = [part_named(session, this_tree, name) for name in names]
    refuse_odd(parts, sizes, on, yes=yes)
    if not parts:
        refuse_odd_height(session, this_tree, sizes, on, yes=yes)
    write(
        session,
        entry(session, [this_tree], "measure", {"values": sizes}, on, parts=[part.id for part in parts]),
    )
    say(measured(session.style, [this_tree.label, *(part.name for part in parts)], sizes))


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
    this_tree = _one_tree(session, tree)
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
    this_tree = _one_tree(session, tree, EVER)
    if as_data:
        print_json(history_data(session, this_tree))
    else:
        history_view(session, this_tree)


def _one_tree(session: Session, text: str, on: date | None = None) -> Tree:
    found = named_trees(session, text, on)
    if len(found) > 1:
        raise Refusal(f"'{text}' names {len(found)} trees; right would be the label of one")
    return found[0]
