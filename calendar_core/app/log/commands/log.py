"""What was done, seen and wished: ``log``, ``seen``, ``wish``."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated

import typer

from calendar_core.app.log.entries import entry, happened, write
from calendar_core.app.log.history import log_speaker
from calendar_core.app.log.lines import entries_of_lines, lines_of
from calendar_core.app.log.parts import entries_of_work, warned_of_parts
from calendar_core.app.plan.load import warned
from calendar_core.app.plan.views.load import note_warnings
from calendar_core.app.plan.views.plan import why_not
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.named import EVER, named_trees, operation_named, stage_named
from calendar_core.app.shell.options import Day, Db, GardenName, Json, OnDay, Today, day_or_none, one_day
from calendar_core.app.shell.output import columns, print_json, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.garden.model import Entry, Tree
from calendar_core.garden.state import NOT_YET, valid_entries
from calendar_core.planning.items import OF_PART
from calendar_core.wording.garden.log_text import WRITTEN, sighting
from calendar_core.wording.sentences import stage_words, tree_list

Trees = Annotated[
    str, typer.Argument(metavar="TREE", help="A label; several parted by commas; a species; or all.")
]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(log)
    app.command()(seen)
    app.command()(wish)


def log(
    trees: Annotated[
        str | None,
        typer.Argument(metavar="TREE", help="A label; several parted by commas; a species; or all."),
    ] = None,
    operation: Annotated[str | None, typer.Argument(metavar="OPERATION", help="What was done.")] = None,
    day: Day = None,
    on_day: OnDay = None,
    part: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="A part it was done to, or that begins with it; may come again."),
    ] = None,
    height: Annotated[float | None, typer.Option(help="Of a new part: mm above the soil.")] = None,
    side: Annotated[str, typer.Option(help="Of a new part: front, left, back, right, or in words.")] = "",
    share: Annotated[
        str | None, typer.Option(metavar="PERCENT", help="How much of the foliage it took, such as 60%.")
    ] = None,
    values: Annotated[
        list[str] | None,
        typer.Option(
            "--measure", metavar="WHAT=MM", help="Measured with it, such as width=17; may come again."
        ),
    ] = None,
    regret: Annotated[str, typer.Option(help="What you would not do again: shown before the next cut.")] = "",
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
    yes: Annotated[
        bool, typer.Option("--yes", help="It was done all the same, or the number is right.")
    ] = False,
    lines: Annotated[
        str | None,
        typer.Option(
            metavar="FILE|-",
            help="Write many entries at once, a line each: 'Maple 2: cut back; share=60%' (see the README).",
        ),
    ] = None,
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
    elif lines is not None:
        _lines(session, lines, yes=yes)
    elif operation is None:
        _list(session, trees, as_data=as_data)
    else:
        on = happened(session, one_day(day, on_day))
        which, key = named_trees(session, trees or "", on), operation_named(session, operation)
        details = {"note": note, "regret": regret, "share": share}
        place = {"height_mm": height, "side": side}
        written = entries_of_work(session, which, key, on, details, part or (), values or (), place, yes=yes)
        work = next(logged for logged in written if logged.kind == "work")
        against = warned(session, which, key, on, work.data.get("share"))
        write(session, *written)
        done, labels = session.knowledge.operations[key].done, tree_list([t.label for t in which])
        parts = f" ({', '.join(part)})" if part else ""
        dated = session.style.day(on, session.today)
        say(
            session.style.say(
                WRITTEN["work"], done=done, trees=labels, parts=parts, day=dated, entry=work.id.hex[:8]
            )
        )
        note_warnings(session, against)
        note_warnings(session, warned_of_parts(session, which, key, part or (), on))


def _lines(session: Session, source: str, *, yes: bool) -> None:
    written = entries_of_lines(session, lines_of(source), session.today, yes=yes)
    write(session, *written)
    style, speaker = session.style, log_speaker(session)
    say(style.say(WRITTEN["lines"], entries=style.number_of(len(written), "entry", "entries")))
    against = [logged for logged in written if "against" in logged.data]
    for logged in against:
        trees = tree_list([session.labels[tree] for tree in logged.tree_ids])
        say(style.say(WRITTEN["against"], trees=trees, told=speaker.told(logged)))
    if against:
        say(style.say(WRITTEN["ask_before"]))


def _void(session: Session, text: str) -> None:
    wanted = text.lower().replace("-", "")
    odd = session.set_aside
    known = [
        e
        for e in (*odd, *valid_entries(session.entries, session.today))
        if wanted and e.id.hex.startswith(wanted)
    ]
    if len(known) != 1:
        found = "no entry" if not known else f"{len(known)} entries"
        raise Refusal(f"{found} '{text}'; right would be the name of one entry as listed by: leafclock log")
    wrong = known[0]
    named = [tree for tree in session.every_tree if tree.id in wrong.tree_ids]
    write(session, entry(session, named, wrong.kind, {}, session.today, voids=wrong.id))
    day = session.style.day(wrong.happened, session.today)
    told = session.style.say(WRITTEN["unread"]) if wrong in odd else log_speaker(session).told(wrong)
    say(session.style.say(WRITTEN["void"], told=told, day=day))
    if wrong in odd:
        return
    if wrong.kind == "part" and "kind" in wrong.data:
        say(session.style.say(WRITTEN["void_part"]))


def _list(session: Session, trees: str | None, *, as_data: bool) -> None:
    entries = valid_entries(session.entries, session.today)
    if trees is not None:
        wanted = {tree.id for tree in named_trees(session, trees, EVER)}
        entries = [e for e in entries if wanted & set(e.tree_ids)]
    if as_data:
        print_json(entries)
        return
    if not entries:
        say(session.style.say(WRITTEN["nothing"]))
    speaker = log_speaker(session)
    columns(
        [
            (
                e.id.hex[:8],
                e.happened.isoformat(),
                ": ".join(
                    filter(
                        None,
                        [
                            tree_list([session.labels[t] for t in session.labels if t in e.tree_ids]),
                            speaker.told(e),
                        ],
                    )
                ),
            )
            for e in entries
        ],
        indent=0,
    )


def seen(
    trees: Trees,
    stage: Annotated[
        str,
        typer.Argument(
            metavar="STAGE", help="What was seen, such as 'bud break'; 'closed' for buds still closed."
        ),
    ],
    day: Day = None,
    on_day: OnDay = None,
    not_yet: Annotated[bool, typer.Option("--not-yet", help="Looked, and it had not come.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="The day is right, however odd it looks.")] = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down a stage you saw; dates of the tree are learned from it."""
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, one_day(day, on_day))
    which = named_trees(session, trees, on)
    if stage.lower() in ("closed", "still closed", "buds closed"):
        not_yet, stage = True, "bud break"
        for tree in which:
            if "bud_break" not in session.knowledge.profiles[tree.species].stages:
                raise Refusal(f"{tree.label} has no bud break; right would be a stage with --not-yet")
    key = stage_named(session, which, stage)
    if not not_yet and not yes:
        _ask_if_odd(session, which, key, on)
    write(session, entry(session, which, "seen", {"stage": f"{NOT_YET if not_yet else ''}{key}"}, on))
    say(sighting(session.speaker, key, [t.label for t in which], on, not_yet=not_yet))


def _ask_if_odd(session: Session, which: list[Tree], key: str, on: date) -> None:
    """Refuse a day far outside the expected range unless it is confirmed."""
    for tree in which:
        for dated in session.plan.stages.get(tree.id, ()):
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
    style, work = session.style, session.knowledge.operations[key].label.lower()
    say(style.say(WRITTEN["wished"], work=work, trees=tree_list([t.label for t in which])))
    for tree in which:
        for reason in why_not(session, tree.id, key):
            say(style.say(WRITTEN["not_now"], tree=tree.label, reason=reason), indent=2, hanging=2)


def _wish(session: Session, tree: Tree, key: str, *, anyway: bool) -> Entry:
    profile = session.knowledge.profiles[tree.species]
    if key in profile.never:
        label = session.knowledge.operations[key].label.lower()
        raise Refusal(f"{tree.label}: {label} is never done to a {profile.common}: {profile.never[key].why}")
    if key not in {work.operation for work in profile.work}:
        raise Refusal(
            f"{tree.label}: {key} is not known for {profile.common}; right would be one listed by: leafclock species show '{profile.common}'"
        )
    data = {"operation": key, "cycle": _next_cycle(session, tree, key), "anyway": anyway}
    return entry(session, [tree], "wish", data, session.today)


def _next_cycle(session: Session, tree: Tree, operation: str) -> int | None:
    """Return the first cycle in which an operation could be wished: also after its like was done, or not wanted."""
    plan, asked_again = session.plan, {"done", "dropped"}
    known = [i.cycle for i in plan.items if (i.tree_id, i.operation) == (tree.id, operation)]
    known += [
        absent.cycle
        for absent in plan.not_planned
        if (absent.tree_id, absent.operation) == (tree.id, operation)
        and OF_PART not in absent.rule
        and {reason.code for reason in absent.reasons} <= asked_again
    ]
    return min(known, default=None)
