"""Answering an item of the plan: ``answer``."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Annotated

import typer

from calendar_core.app.answers.commands.moves import move_named, write_moved
from calendar_core.app.answers.commands.relocation import make_place, relocate
from calendar_core.app.answers.left_outside import what_it_meets
from calendar_core.app.log.entries import entry, write
from calendar_core.app.log.parts import measures_named, refuse_odd
from calendar_core.app.plan.line_names import item_named
from calendar_core.app.plan.load import Warned, codes, warned
from calendar_core.app.plan.views.load import note_warnings
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import Db, GardenName, Today, day_or_none
from calendar_core.app.shell.output import say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.knowledge.words import THERMAL_PROFILES
from calendar_core.planning.items import Item
from calendar_core.planning.places.operations import INTO, MAKE, OUT
from calendar_core.planning.waits import late_since
from calendar_core.wording.garden.answer_text import ANSWERS, looked, put_off
from calendar_core.wording.sentences import tree_list, tree_names


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command()(answer)


def answer(
    item: Annotated[str, typer.Argument(metavar="ITEM", help="Its name as printed by plan or warn.")],
    verb: Annotated[
        str,
        typer.Argument(
            metavar="VERB", help="Its own verb (such as Pruned), 'in a week', or 'not this year'."
        ),
    ],
    badly: Annotated[
        bool, typer.Option("--badly", help="Of a look: it does not go well; it stays open until it does.")
    ] = False,
    values: Annotated[
        list[str] | None,
        typer.Option("--measure", metavar="WHAT=MM", help="Of a look: what you measured; may come again."),
    ] = None,
    to: Annotated[
        str | None,
        typer.Option(
            metavar="SPOT", help="Of a move: where to, if not to the spot it names; of a place: its name."
        ),
    ] = None,
    profile: Annotated[
        str | None,
        typer.Option(help=f"Of a spot that is to be made: one of {', '.join(THERMAL_PROFILES)}."),
    ] = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
    yes: Annotated[bool, typer.Option("--yes", help="The number is right, however odd it looks.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Answer an item of the plan: done, put off, or not this year; or a move that a warning asks for: Moved."""
    session = open_session(db, garden, day_or_none(today))
    if (move := move_named(session, item)) is not None:
        write_moved(session, move, verb)
        return
    items = item_named(session, item)
    which = [tree for tree in session.trees if tree.id in {i.tree_id for i in items}]
    operation = session.knowledge.operations[items[0].operation]
    label, said = session.speaker.name(items[0]).lower(), verb.lower().strip()
    if said == "in a week":
        until = session.today + timedelta(days=7)
        _refuse_to_wait(session, items, until, items[0].done or operation.done)
        _answer(session, items, {"answer": "put off", "until": until.isoformat()})
        say(put_off(session.speaker, label, until))
    elif said == "not this year":
        _answer(session, items, {"answer": "not this cycle"})
        trees = tree_list([t.label for t in which])
        say(session.style.say(ANSWERS["not_this_year"], work=label, trees=trees))
        for sentence in what_it_meets(session, items):
            say(sentence, indent=2)
    elif items[0].operation in (INTO, OUT) and said in (operation.done.lower(), "done"):
        relocate(session, items, to, profile, note)
    elif items[0].operation == MAKE and said in (operation.done.lower(), "done"):
        make_place(session, to, profile)
    elif items[0].follows and said in (items[0].done.lower(), "looked", "done"):
        _look(session, items, measures_named(values or ()), badly=badly, note=note, yes=yes)
    elif not items[0].follows and said in (operation.done.lower(), "done"):
        against = _work(session, items, measures_named(values or ()), note=note)
        done, trees = session.style.translate(operation.done), tree_list([t.label for t in which])
        say(session.style.say(ANSWERS["done"], done=done, trees=trees))
        note_warnings(session, against)
    else:
        raise Refusal(
            f"'{verb}' does not answer {label}; right would be {items[0].done or operation.done}, In a week, or Not this year"
        )


def _refuse_to_wait(session: Session, items: Sequence[Item], until: date, verb: str) -> None:
    """Raise Refusal where a tree is in danger already, or the time for the work is over before that day."""
    what, day = session.speaker.name(items[0]).lower(), session.style.day
    endangered = [item for item in items if item.protects]
    last = min((item.closes.likely for item in items if not item.label), default=until)
    if (since := late_since(endangered)) is not None:
        why = f"it is late since {day(since, session.today)}, and a tree is in danger"
    elif last < until and (endangered or late_since(items) is None):
        why = f"its time ends about {day(last, session.today)}"
    else:
        return
    raise Refusal(
        f"{what} cannot wait until {day(until, session.today)}: {why}; right would be {verb}, or Not this year"
    )


def _work(session: Session, items: Sequence[Item], values: dict[str, float], *, note: str) -> Warned:
    """Write down the work of some items: at once for whole trees, one by one for parts; return what spoke against it."""
    trees = {tree.id: tree for tree in session.trees}
    operation = items[0].operation
    against = warned(session, [trees[item.tree_id] for item in items], operation, session.today, None)
    data = {
        "operation": operation,
        **({"note": note} if note else {}),
        **({"against": codes(against)} if against else {}),
    }
    written = []
    if items[0].part_id is None:
        which = list(dict.fromkeys(trees[item.tree_id] for item in items))
        written.append(entry(session, which, "work", data, session.today))
    for item in items if items[0].part_id is not None else ():
        tree, parts = [trees[item.tree_id]], [item.part_id] if item.part_id else []
        if values:  # counted before the cut
            written.append(
                entry(
                    session,
                    tree,
                    "measure",
                    {"values": values},
                    session.today,
                    parts=parts,
                    place=len(written),
                )
            )
        written.append(entry(session, tree, "work", data, session.today, parts=parts, place=len(written)))
    write(session, *written)
    return against


def _look(
    session: Session, items: Sequence[Item], values: dict[str, float], *, badly: bool, note: str, yes: bool
) -> None:
    """Write down a look at each of the trees or parts of some items."""
    trees = {tree.id: tree for tree in session.trees}
    written = []
    for place, item in enumerate(items):
        followed = item.follows
        assert followed is not None  # noqa: S101 - every look follows an entry
        parts = session.grove.states[item.tree_id].parts
        if followed.part is not None:
            refuse_odd([parts[followed.part]], values, yes=yes)
        data: dict[str, object] = {
            "rule": followed.rule,
            "of": str(followed.entry),
            "went": "badly" if badly else "well",
        }
        data |= {"values": values} if values else {}
        data |= {"note": note} if note else {}
        ids = () if followed.part is None else (followed.part,)
        written.append(
            entry(session, [trees[item.tree_id]], "look", data, session.today, parts=ids, place=place)
        )
    write(session, *written)
    say(looked(session.speaker, items[0], tree_names(items, session.labels), badly=badly))


def _answer(session: Session, items: Sequence[Item], data: dict[str, str]) -> None:
    """Write one answer for each tree's item."""
    trees = {tree.id: tree for tree in session.trees}
    write(
        session,
        *(
            entry(session, [trees[item.tree_id]], "answer", {"item": str(item.id), **data}, session.today)
            for item in items
        ),
    )
