"""What was done, seen, wished and answered: ``log``, ``seen``, ``wish``, ``answer``."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Annotated

import typer

from calendar_core.app.editing import entry, happened, named_trees, operation_named, stage_named, write
from calendar_core.app.errors import Refusal
from calendar_core.app.forms import Remark, as_option, checked
from calendar_core.app.names_of_items import item_named
from calendar_core.app.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.output import columns, print_json, say
from calendar_core.app.session import Session, open_session
from calendar_core.app.views import why_not
from calendar_core.garden.model import Entry, Tree
from calendar_core.garden.state import NOT_YET, valid_entries
from calendar_core.planning.items import Item
from calendar_core.wording.sentences import stage_words, tree_list

Trees = Annotated[
    str, typer.Argument(metavar="TREE", help="A label; several parted by commas; a species; or all.")
]
Day = Annotated[str | None, typer.Argument(metavar="[DAY]", help="The day, if not today.")]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(log)
    app.command()(seen)
    app.command()(wish)
    app.command()(answer)


def log(
    trees: Annotated[
        str | None,
        typer.Argument(metavar="TREE", help="A label; several parted by commas; a species; or all."),
    ] = None,
    operation: Annotated[str | None, typer.Argument(metavar="OPERATION", help="What was done.")] = None,
    day: Day = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
    void: Annotated[str | None, typer.Option(metavar="ENTRY", help="Void an entry written in error.")] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Write down work that was done, or list the log.

    Without an operation the entries of the tree (or of all trees) are listed.
    """
    session = open_session(db, garden, day_or_none(today))
    if void is not None:
        _void(session, void)
    elif operation is None:
        _list(session, trees, as_data=as_data)
    else:
        which = named_trees(session, trees or "")
        key = operation_named(session, operation)
        on = happened(session, day)
        remark = checked(Remark, {"note": note}, as_option).model_dump(exclude_defaults=True)
        written = entry(session, which, "work", {"operation": key, **remark}, on)
        write(session, written)
        done, labels = session.knowledge.operations[key].done, tree_list([t.label for t in which])
        say(f"{done}: {labels}, {session.style.day(on, session.today)}. Entry {written.id.hex[:8]}.")


def _void(session: Session, text: str) -> None:
    wanted = text.lower().replace("-", "")
    known = [
        e for e in valid_entries(session.entries, session.today) if wanted and e.id.hex.startswith(wanted)
    ]
    if len(known) != 1:
        found = "no entry" if not known else f"{len(known)} entries"
        raise Refusal(f"{found} '{text}'; right would be the name of one entry as listed by: leafclock log")
    wrong = known[0]
    named = [tree for tree in session.trees if tree.id in wrong.tree_ids]
    write(session, entry(session, named, wrong.kind, {}, session.today, voids=wrong.id))
    day = session.style.day(wrong.happened, session.today)
    say(f"Void: {_told(session, wrong.kind, dict(wrong.data))}, {day}.")


def _list(session: Session, trees: str | None, *, as_data: bool) -> None:
    entries = valid_entries(session.entries, session.today)
    if trees is not None:
        wanted = {tree.id for tree in named_trees(session, trees)}
        entries = [e for e in entries if wanted & set(e.tree_ids)]
    if as_data:
        print_json(entries)
        return
    if not entries:
        say("Nothing is written down yet.")
    columns(
        [
            (
                e.id.hex[:8],
                e.happened.isoformat(),
                ": ".join(
                    filter(
                        None,
                        [
                            tree_list([session.labels[t] for t in e.tree_ids]),
                            _told(session, e.kind, dict(e.data)),
                        ],
                    )
                ),
            )
            for e in entries
        ],
        indent=0,
    )


def _told(session: Session, kind: str, data: dict[str, object]) -> str:
    note = f" ({data['note']})" if data.get("note") else ""
    if kind == "work":
        return session.knowledge.operations[str(data["operation"])].done + note
    if kind == "seen":
        return f"saw {stage_words(str(data['stage']))}{note}"
    if kind == "wish":
        return f"wished for {session.knowledge.operations[str(data['operation'])].label.lower()}{note}"
    if kind == "choice":
        return f"{data['question']}: {data['option']}"
    if kind == "answer":
        return f"put off until {data['until']}" if data["answer"] == "put off" else "not this year"
    spots = {str(key): spot.name for key, spot in session.spots.items()}
    return ", ".join(f"{key.replace('_', ' ')} {spots.get(str(value), value)}" for key, value in data.items())


def seen(
    trees: Trees,
    stage: Annotated[
        str,
        typer.Argument(
            metavar="STAGE", help="What was seen, such as 'bud break'; 'closed' for buds still closed."
        ),
    ],
    day: Day = None,
    not_yet: Annotated[bool, typer.Option("--not-yet", help="Looked, and it had not come.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="The day is right, however odd it looks.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down a stage you saw; dates of the tree are learned from it."""
    session = open_session(db, garden, day_or_none(today))
    which = named_trees(session, trees)
    on = happened(session, day)
    if stage.lower() in ("closed", "still closed", "buds closed"):
        not_yet, stage = True, "bud break"
        for tree in which:
            if "bud_break" not in session.knowledge.profiles[tree.species].stages:
                raise Refusal(f"{tree.label} has no bud break; right would be a stage with --not-yet")
    key = stage_named(session, which, stage)
    if not not_yet and not yes:
        _ask_if_odd(session, which, key, on)
    write(session, entry(session, which, "seen", {"stage": f"{NOT_YET if not_yet else ''}{key}"}, on))
    verb = "Not yet" if not_yet else "Seen"
    say(
        f"{verb}: {stage_words(key)} of {tree_list([t.label for t in which])}, {session.style.day(on, session.today)}."
    )


def _ask_if_odd(session: Session, which: list[Tree], key: str, on: date) -> None:
    """Refuse a day far outside the expected range unless it is confirmed."""
    for tree in which:
        for dated in session.plan.stages[tree.id]:
            if dated.stage != key or dated.range is None or dated.seen:
                continue
            slack = timedelta(days=max(21, 1.5 * (dated.range.late - dated.range.early).days))
            inside = dated.range.early - slack <= on <= dated.range.late + slack
            near = abs((dated.range.likely - on).days) < 183
            if near and not inside:
                raise Refusal(
                    f"{tree.label}: {stage_words(key)} on {on} is far from what is expected "
                    f"({session.speaker.likely(dated.range)}); if the day is right, say so with --yes"
                )


def wish(
    trees: Trees,
    operation: Annotated[str, typer.Argument(metavar="OPERATION", help="What you would like to do.")],
    anyway: Annotated[bool, typer.Option("--anyway", help="Also beside another heavy job.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Ask for work that is possible but not due; it enters the plan when its window allows."""
    session = open_session(db, garden, day_or_none(today))
    which = named_trees(session, trees)
    key = operation_named(session, operation)
    write(session, *(_wish(session, tree, key, anyway=anyway) for tree in which))
    say(
        f"Wished: {session.knowledge.operations[key].label.lower()} for {tree_list([t.label for t in which])}."
    )
    for tree in which:
        for reason in why_not(session, tree.id, key):
            say(f"{tree.label} cannot have it yet: {reason}", indent=2, hanging=2)


def _wish(session: Session, tree: Tree, key: str, *, anyway: bool) -> Entry:
    profile = session.knowledge.profiles[tree.species]
    if key in profile.never:
        label = session.knowledge.operations[key].label.lower()
        raise Refusal(f"{tree.label}: {label} is never done to a {profile.common}: {profile.never[key].why}")
    if key not in {work.operation for work in profile.work}:
        raise Refusal(
            f"{tree.label}: {key} is not known for {profile.common}; right would be one listed by: leafclock species show '{profile.common}'"
        )
    cycles = (i.cycle for i in session.plan.items if i.tree_id == tree.id and i.operation == key)
    data = {"operation": key, "cycle": min(cycles, default=None), "anyway": anyway}
    return entry(session, [tree], "wish", data, session.today)


def answer(
    item: Annotated[str, typer.Argument(metavar="ITEM", help="The item's name as printed by plan.")],
    verb: Annotated[
        str,
        typer.Argument(
            metavar="VERB", help="Its own verb (such as Pruned), 'in a week', or 'not this year'."
        ),
    ],
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Answer an item of the plan: done, put off, or not this year."""
    session = open_session(db, garden, day_or_none(today))
    items = item_named(session, item)
    which = [tree for tree in session.trees if tree.id in {i.tree_id for i in items}]
    operation = session.knowledge.operations[items[0].operation]
    said = verb.lower().strip()
    if said == "in a week":
        until = session.today + timedelta(days=7)
        _answer(session, items, {"answer": "put off", "until": until.isoformat()})
        say(f"Put off until {session.style.day(until, session.today)}: {operation.label.lower()}.")
    elif said == "not this year":
        _answer(session, items, {"answer": "not this cycle"})
        say(f"Not this year: {operation.label.lower()}, {tree_list([t.label for t in which])}.")
    elif said in (operation.done.lower(), "done"):
        write(session, entry(session, which, "work", {"operation": items[0].operation}, session.today))
        say(f"{operation.done}: {tree_list([t.label for t in which])}.")
    else:
        raise Refusal(
            f"'{verb}' does not answer {operation.label.lower()}; right would be {operation.done}, In a week, or Not this year"
        )


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
