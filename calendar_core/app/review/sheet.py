"""The sheet of a review: walks of the plan with their questions, in words, as they are printed."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.app.plan.walks import WEEKS, questions, review_plan
from calendar_core.app.shell.errors import Refusal
from calendar_core.knowledge.words import CHECK_PLACES
from calendar_core.publishing.sheets.content import (
    PlaceRows,
    QuestionRow,
    ReviewSheet,
    SheetWords,
    TreeBlock,
    WalkPages,
)
from calendar_core.wording.review.question_text import answer_words, last_words, question_words, unit_words
from calendar_core.wording.review.sheet_text import (
    DECISIONS,
    PLACES,
    SHEET,
    code_text,
    sheet_mark,
    tree_facts,
    walk_facts,
    walk_title,
    why_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.review.checklist import Question
    from calendar_core.planning.review.walks import Stop, Walk
    from calendar_core.publishing.sheets.content import Paper

CAUTIONS = ("lifting", "clean_tools")
"""What a walk may harm by itself: pots are lifted and turned, wire and tools go from tree to tree (common practice)."""


def walks_to_print(session: Session, day: date | None, weeks: int | None) -> Sequence[Walk]:
    """Return the walk of a day, all of some weeks, or with neither the next one.

    Raises
    ------
    Refusal
        If there is none.
    """
    ahead = weeks or WEEKS
    until = session.today + timedelta(weeks=ahead)
    planned = review_plan(session, max(ahead, WEEKS)).round.walks  # the same walks, however many are printed
    walks = [walk for walk in planned if walk.on < until]
    if not walks:
        raise Refusal(
            f"in the coming {ahead} weeks there is no walk to print; right would be more weeks, with --weeks"
        )
    if day is None:
        return walks if weeks else walks[:1]
    found = [walk for walk in walks if walk.on == day]
    if not found:
        days = ", ".join(str(walk.on) for walk in walks)
        raise Refusal(f"--day {day}: no walk is planned on it; right would be one of {days}")
    return found


def review_sheet(session: Session, walks: Sequence[Walk], paper: Paper, base: str = "") -> ReviewSheet:
    """Return the sheet of some walks; codes of its trees lead to addresses under ``base``, where there is one."""
    style = session.style
    say = style.say
    words = SheetWords(
        say(SHEET["how"]), say(SHEET["last"]), tuple(say(decision) for decision in DECISIONS), say(SHEET["notes"]),
        say(SHEET["minutes"]), say(SHEET["cautions"]),
    )  # fmt: skip
    pages = tuple(_pages(session, walk, base) for walk in walks)
    return ReviewSheet(
        walk_title(style, session.garden.name, walks[0]), style.locale.replace("_", "-"), words, pages, paper
    )  # fmt: skip


def garden_code(session: Session) -> str:
    """Return the short code by which a sheet is known to be of this garden."""
    return session.garden.id.hex[:8]


def _pages(session: Session, walk: Walk, base: str) -> WalkPages:
    style = session.style
    blocks = tuple(_block(session, stop, base) for stop in walk.stops)
    return WalkPages(
        walk_title(style, session.garden.name, walk),
        sheet_mark(garden_code(session), walk.on),
        walk_facts(style, walk),
        blocks,
        _cautions(session, walk),
    )


def _block(session: Session, stop: Stop, base: str) -> TreeBlock:
    style = session.style
    tree = next(tree for tree in session.trees if tree.id == stop.tree_id)
    asked = questions(session, stop)
    places = [
        PlaceRows(
            style.say(PLACES[place]),
            tuple(_row(session, question) for question in asked if question.place == place),
        )
        for place in CHECK_PLACES
        if any(question.place == place for question in asked)
    ]
    common = session.knowledge.profiles[tree.species].common
    return TreeBlock(
        tree.label, tree_facts(style, tree, common, stop), why_words(session.speaker, stop), tuple(places),
        code_text(style, tree, stop, base),
    )  # fmt: skip


def _row(session: Session, question: Question) -> QuestionRow:
    style = session.style
    return QuestionRow(
        question_words(style, question), question.key, answer_words(style, session.speaker, question),
        unit_words(style, question), last_words(style, question),
    )  # fmt: skip


def _cautions(session: Session, walk: Walk) -> tuple[str, ...]:
    """Return each caution of a walk once: of the walk itself, then of the species that are looked at."""
    species = {tree.id: tree.species for tree in session.trees}
    toxic = [session.knowledge.profiles[species[stop.tree_id]].toxic for stop in walk.stops]
    keys = dict.fromkeys([*CAUTIONS, *filter(None, toxic)])
    return tuple(session.style.text(session.knowledge.cautions[key].text) for key in keys)
