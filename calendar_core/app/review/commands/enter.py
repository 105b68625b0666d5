"""Writing down what a walk found: ``review enter`` and ``review resume``."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Annotated

import typer

from calendar_core.app.log.entries import happened, write
from calendar_core.app.log.history import log_speaker
from calendar_core.app.log.lines import lines_of
from calendar_core.app.plan.walks import review_plan, stops
from calendar_core.app.review.answers import Outcome, outcome
from calendar_core.app.review.asked import Asked
from calendar_core.app.review.commands.terminal import Terminal
from calendar_core.app.review.follow_up import planned_anew
from calendar_core.app.review.form_lines import Form
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.named import named_trees
from calendar_core.app.shell.options import Db, GardenName, Today, day_or_none
from calendar_core.app.shell.output import program, say
from calendar_core.app.shell.session import Session, open_session
from calendar_core.garden.model import Tree
from calendar_core.wording.review.enter_text import ASKING, ENTERED, anew, note_words, told

WalkDay = Annotated[
    str | None, typer.Option("--day", metavar="DAY", help="The day of the walk, if not today.")
]
Yes = Annotated[bool, typer.Option("--yes", help="The numbers are right, however odd they look.")]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("enter")(enter)
    app.command("resume")(resume)


def enter(
    tree: Annotated[
        str | None,
        typer.Argument(metavar="TREE", help="One tree; without it those of the next walk in order."),
    ] = None,
    day: WalkDay = None,
    lines: Annotated[
        str | None,
        typer.Option(
            metavar="FILE|-",
            help="A filled form, a line a tree: 'Maple 2: vigour=4; drainage=25'. Above them, of the whole walk: 'minutes: 70'.",
        ),
    ] = None,
    yes: Yes = False,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
) -> None:
    """Write down what a walk found, tree by tree; each is stored before the next is asked.

    Of a form what is right is kept, and what is not is told by tree and question.
    """
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, day)
    if lines is not None and tree is not None:
        raise Refusal(f"'{tree}' beside --lines: right would be one of them")
    if lines is not None:
        _form(session, lines_of(lines), None if day is None else on, yes=yes)
        return
    which = _next_walk(session, on) if tree is None else [_one(session, tree)]
    _ask(session, which, on, only_open=False, yes=yes)


def resume(
    day: WalkDay = None, yes: Yes = False, db: Db = None, garden: GardenName = None, today: Today = None
) -> None:
    """Go on where entering was broken off: with the first tree of the round not looked at, and what is open of it."""
    session = open_session(db, garden, day_or_none(today))
    on = happened(session, day)
    _ask(session, _left(session, on), on, only_open=True, yes=yes)


def _one(session: Session, text: str) -> Tree:
    found = named_trees(session, text)
    if len(found) > 1:
        raise Refusal(f"'{text}' names {len(found)} trees; right would be the label of one")
    return found[0]


def _next_walk(session: Session, on: date) -> list[Tree]:
    """Return the trees of the next walk whose round is on, in order."""
    trees = {tree.id: tree for tree in session.trees}
    for walk in review_plan(session).round.walks:
        if some := [trees[stop.tree_id] for stop in walk.stops if stop.window.opens <= on]:
            return some
    return []


def _left(session: Session, on: date) -> list[Tree]:
    """Return the trees of the round that are not looked at, in the order of its walks."""
    trees = {tree.id: tree for tree in session.trees}
    found = review_plan(session).round
    ordered = [*(stop for walk in found.walks for stop in walk.stops), *found.left]
    return [trees[stop.tree_id] for stop in ordered if stop.window.opens <= on]


def _form(session: Session, texts: Sequence[str], on: date | None, *, yes: bool) -> None:
    form = Form(session, texts, on, yes=yes)
    outcomes = form.outcomes()
    for found in outcomes:
        write(session, *found.entries)
    _tell(session, outcomes, as_faults=True)
    style, written = session.style, sum(len(found.entries) for found in outcomes)
    trees = style.number_of(len(outcomes), "tree", "trees")
    say(style.say(ENTERED["sum"], trees=trees, entries=style.number_of(written, "entry", "entries")))
    if form.faults:
        raise Refusal(*form.faults)


def _ask(session: Session, trees: Sequence[Tree], on: date, *, only_open: bool, yes: bool) -> None:
    style = session.style
    if not trees:
        say(style.say(ASKING["nothing_open" if only_open else "nothing_now"]))
        opens = min((stop.window.opens for stop in stops(session)), default=None)
        if opens is not None and opens > on:
            say(style.say(ASKING["nothing_ahead"], day=style.day(opens, session.today)))
        return
    visits, terminal = Visits(session, on), Terminal(session, yes=yes)
    say(style.say(ASKING["how"]))
    for tree in trees:
        asked = Asked(session, visits.visit(tree))
        answers, broken_off = terminal.look(asked, asked.open if only_open else asked.questions)
        found = outcome(visits, asked, answers)
        write(session, *found.entries)
        visits.add(found.entries)
        if found.entries or not broken_off:
            _tell(session, [found])
        if broken_off:
            say(style.say(ASKING["broken_off"], program=program()))
            return


def _tell(session: Session, outcomes: Sequence[Outcome], *, as_faults: bool = False) -> None:
    """Print for each tree what was written down, and what follows; ``as_faults`` where half a look is told as one."""
    style, log = session.style, log_speaker(session)
    plans = planned_anew(session, outcomes)
    for found in outcomes:
        new = [logged for logged in found.entries if logged.voids is None]
        said = list(dict.fromkeys(log.told(logged) for logged in new))
        sentences = [told(style, found.visit.tree.label, said, len(found.entries) - len(new))]
        sentences += [note_words(style, note.code, note.values, program()) for note in found.notes]
        sentences += anew(session.speaker, plans.get(found.visit.tree.id, ()))
        if found.entries and found.taken == "glance" and found.visit.depth == "full":
            sentences.append(style.say(ENTERED["as_glance"], answered=found.answered, asked=found.asked))
        if found.taken is None and not as_faults:
            sentences.append(style.say(ENTERED["not_taken"], answered=found.answered, asked=found.asked))
        say(" ".join(sentences), hanging=2)
