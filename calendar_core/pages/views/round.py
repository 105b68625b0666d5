"""Round: the walk's next tree with its questions, stored tree by tree, and what the walk came to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Depends, Form, Query, Request
from starlette.datastructures import FormData
from starlette.responses import Response

from calendar_core.app.review.asked import Asked
from calendar_core.app.review.decisions import choices
from calendar_core.app.review.found import found_today
from calendar_core.app.review.looks import LookDoubt, LookRefusal, Typed, answers_of, receipt_of, write_look
from calendar_core.app.review.outing import Outing, looked_today, outing, round_ahead
from calendar_core.app.review.sheet import review_sheet, walks_to_print
from calendar_core.app.review.visits import Visits
from calendar_core.app.review.walk_moves import move_walk
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import read_day
from calendar_core.pages.shell.access import Reader, Worker
from calendar_core.pages.shell.answering import page, told
from calendar_core.pages.shell.keeping import BeingWorkedOutError
from calendar_core.pages.shell.site import HERE as THIS_MACHINE
from calendar_core.pages.views.round_questions import ANSWER, Filled, entered_before, places_of
from calendar_core.publishing.sheets.page import page as sheet_page
from calendar_core.wording.pages.round_text import RoundSpeaker
from calendar_core.wording.review.sheet_text import why_words
from calendar_core.wording.review.walk_text import DEPTHS, WalkSpeaker

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from calendar_core.app.review.outing import RoundAhead
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.review.walks import Stop

router = APIRouter()
HERE = "/round"


async def _sent(request: Request) -> FormData:
    """Return a form whose fields follow from the tree."""
    return await request.form()


Sent = Annotated[FormData, Depends(_sent)]


@router.get(HERE, include_in_schema=False)
def walk(
    visit: Reader,
    tree: Annotated[UUID | None, Query()] = None,
    passed: Annotated[list[UUID] | None, Query()] = None,
) -> Response:
    """Show the next tree of the walk, or the one that was chosen; else what the walk came to, or when the next is."""
    return _shown(visit, tree, passed or ())


@router.post(HERE, include_in_schema=False)
def looked(visit: Worker, sent: Sent) -> Response:
    """Write down what was found of a tree; what cannot be taken comes back with the sentence that says why."""
    tree, passed, entered = _read(sent)
    session = visit.of_trees([tree])
    visits = Visits(session, session.today)
    asked = Asked(session, visits.visit(session.trees[0]))
    typed = Typed(entered.values, entered.decisions, entered.minutes, entered.note)
    try:
        answers = answers_of(asked, typed, yes=entered.yes)
    except LookRefusal as refusal:
        return _shown(visit, tree, passed, entered.with_faults(refusal.faults))
    except LookDoubt as doubt:
        return _shown(visit, tree, passed, entered.with_doubts(doubt.doubts))
    receipt = receipt_of(session, [write_look(session, visits, asked, answers)])
    return told(visit, receipt.lines, receipt.entries, _address([each for each in passed if each != tree]))


def _read(sent: FormData) -> tuple[UUID, list[UUID], Filled]:
    """Return the tree of a form, those passed over, and what was entered. Raises Refusal for a form of no tree."""
    fields = [(name, text) for name, text in sent.multi_items() if isinstance(text, str)]
    try:
        tree, *_ = (UUID(text) for name, text in fields if name == "tree")
        passed = [UUID(text) for name, text in fields if name == "passed"]
    except ValueError:
        raise Refusal("the form names no tree; right would be one of the page") from None
    one = dict(fields)
    values = {
        name.removeprefix(ANSWER): text for name, text in fields if name.startswith(ANSWER) and text.strip()
    }
    decisions = tuple(text for name, text in fields if name == "decide" and text.strip())
    return tree, passed, Filled(values, decisions, one.get("minutes", ""), one.get("note", ""), "yes" in one)


def _address(passed: Collection[UUID], tree: UUID | None = None) -> str:
    """Return the address of the walk, with the trees that were passed over."""
    fields = [("passed", str(each)) for each in passed] + ([("tree", str(tree))] if tree else [])
    return f"{HERE}?{urlencode(fields)}" if fields else HERE


def _shown(
    visit: Reader, tree: UUID | None, passed: Sequence[UUID], entered: Filled | None = None
) -> Response:
    try:
        found = visit.site.kept(visit.session, round_ahead).value
    except BeingWorkedOutError:
        if tree is None or entered is None:
            raise
        return _tree_page(visit, tree, None, Outing((), (), ()), passed, entered)  # nothing entered is lost
    now = outing(found, looked_today(visit.session))
    stop = now.next_stop(passed) if tree is None else None
    if stop is not None:
        tree = stop.tree_id
    if tree is None:
        return _ended(visit, found, now)
    stops = {each.tree_id: each for each in found.stops}
    return _tree_page(visit, tree, stops.get(tree), now, passed, entered)


def _tree_page(
    visit: Reader,
    tree: UUID,
    stop: Stop | None,
    now: Outing,
    passed: Sequence[UUID],
    entered: Filled | None,
) -> Response:
    session = _of_tree(visit.session, tree)
    asked = Asked(session, Visits(session, session.today).visit(session.trees[0]))
    tells, said = RoundSpeaker(session.speaker), entered or entered_before(asked)
    profile = session.knowledge.profiles[session.trees[0].species]
    spot = session.spots.get(asked.visit.state.spot) if asked.visit.state.spot else None
    look = session.style.say(DEPTHS[asked.visit.depth])
    on_walk = stop is not None and stop in now.left
    return page(
        visit,
        "round.html",
        status=200 if entered is None else 422,
        title="Round",
        current="round",
        standing=tells.standing(asked.visit, len(now.looked) + 1, now.count, now.minutes)
        if on_walk
        else tells.beside(asked.visit, looked=tree in now.looked),
        share=(len(now.looked), now.count),
        tree=session.trees[0],
        facts=[profile.common, *([spot.name] if spot else []), look],
        why=why_words(session.speaker, stop) if stop is not None else (),
        places=places_of(session, asked, said, tells),
        decisions=choices(session, asked.visit),
        said=said,
        passed=passed,
        skip=_address([*passed, tree]) if on_walk and tree not in passed else "",
        walk=_walk_list(visit.session, now, passed),
    )


def _of_tree(session: Session, tree: UUID) -> Session:
    """Return the garden with one tree alone, under the weather that is known already. Raises Refusal where there is none."""
    here = [each for each in session.trees if each.id == tree]
    if not here:
        raise Refusal("this tree is not in the garden; right would be one of the page")
    return session.part(here)


def _walk_list(session: Session, now: Outing, passed: Collection[UUID]) -> list[tuple[str, str, str]]:
    """Return each tree of a walk with its address and what stands beside it."""
    labels, tells = session.labels, RoundSpeaker(session.speaker)
    rows = [(tree, labels[tree], tells.say("looked")) for tree in now.looked]
    for stop in now.left:
        mark = "passed_mark" if stop.tree_id in passed else "open"
        rows.append((stop.tree_id, stop.label, tells.say(mark)))
    rows += [(stop.tree_id, stop.label, tells.say("another_day")) for stop in now.later]
    here = {tree.id for tree in session.trees}
    return [(_address(passed, tree) if tree in here else "", label, mark) for tree, label, mark in rows]


def _ended(visit: Reader, found: RoundAhead, now: Outing) -> Response:
    """Show what a walk came to, or where none is on when the next one is."""
    session = visit.session
    tells, walks = RoundSpeaker(session.speaker), WalkSpeaker(session.speaker)
    if now.left:
        standing = tells.passed([stop.label for stop in now.left])
    elif now.looked:
        standing = tells.done(len(now.looked))
    else:
        standing = tells.nothing(found.opens)
    return page(
        visit,
        "round_ended.html",
        title="Round",
        current="round",
        standing=standing,
        again=bool(now.left),
        later=tells.later(len(now.later)) if now.later else "",
        found=[(tree, label, tells.found(said)) for tree, label, said in found_today(session, now.looked)],
        walk=_walk_list(session, now, ()),
        walks=[
            (
                walk.on,
                walks.day(walk),
                [(title, [walks.stop(stop) for stop in some]) for title, some in walks.turns(walk.stops)],
            )
            for walk in found.plan.round.walks
        ],
        left=[walks.left(stop) for stop in found.plan.round.left],
        skipped=walks.skipped(found.plan.days) if found.plan.round.walks else [],
        today=session.today,
    )


@router.post(f"{HERE}/move", include_in_schema=False)
def move(
    visit: Worker,
    day: Annotated[str, Form()] = "",
    to: Annotated[str, Form()] = "",
    entry_id: Annotated[UUID | None, Form()] = None,
) -> Response:
    """Put a walk on another day."""
    receipt = move_walk(visit.fresh(), read_day(day), read_day(to), entry_id)
    return told(visit, receipt.lines, receipt.entries, HERE)


@router.get(f"{HERE}/sheet", include_in_schema=False)
def sheet(visit: Reader, day: Annotated[str, Query()] = "") -> Response:
    """Give a walk as a page to print and take along: a file, for its style stands in it."""
    session = visit.site.kept(visit.session, round_ahead).session
    walks = walks_to_print(session, read_day(day) if day else None, None)
    url = visit.request.base_url
    base = "" if url.hostname in THIS_MACHINE else str(url)
    made = review_sheet(session, walks, "letter" if session.garden.units == "us" else "a4", base)
    headers = {"Content-Disposition": f'attachment; filename="review-{walks[0].on}.html"'}
    return Response(sheet_page(made), media_type="text/html", headers=headers)
