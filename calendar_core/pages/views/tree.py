"""Tree: how one is, its parts with what was measured, its history, and the work that comes, with reasons."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated
from uuid import UUID

from fastapi import APIRouter, HTTPException, Query
from markupsafe import Markup
from starlette.responses import Response

from calendar_core.app.log.history import entries_of, joinings, log_speaker
from calendar_core.app.plan.date_moves import last_moves
from calendar_core.app.plan.learned_dates import learned_dates
from calendar_core.app.plan.season_curves import PAST_DAYS, YEAR_DAYS
from calendar_core.pages.shell.access import Reader
from calendar_core.pages.shell.answering import page
from calendar_core.pages.views.measure_pictures import foretold, measure_strips
from calendar_core.pages.views.season import stage_strips
from calendar_core.pages.views.thought import Asked, thought, why_of
from calendar_core.planning.groups import published_items
from calendar_core.publishing.pictures.strips import Days, Window, window_strip
from calendar_core.wording.garden.garden_text import gone_line, state_row
from calendar_core.wording.garden.log_text import followed
from calendar_core.wording.pages.tree_text import TREE, learned_sentence
from calendar_core.wording.plan.deciding_text import deciding
from calendar_core.wording.plan.move_text import move_sentence
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item

router = APIRouter()
NEWEST = 12  # entries that are shown at once, older ones are folded (estimate: a season of a tree)
SOON_DAYS = 92  # work that opens later is folded (estimate: a season)
LONGEST = 200  # of what is entered in the form


@dataclass(frozen=True)
class PartOfPage:
    """A part with what is known of it, its pictures and what they foretell."""

    name: str
    known: str
    pictures: Sequence[tuple[Markup, str]]
    foretold: Sequence[str]


@dataclass(frozen=True)
class Work:
    """Work to come: its strip, when and why, with all its reasons."""

    name: str
    picture: Markup
    window: str
    why: str
    reasons: Sequence[str]
    soon: bool


@dataclass(frozen=True)
class Logged:
    """An entry of the log in words; ``together`` says of which other trees it is, ``stays`` that it is not taken back."""

    id: UUID
    day: str
    told: str
    together: str
    stays: bool


@router.get("/tree/{tree_id}", include_in_schema=False)
def tree(
    visit: Reader,
    tree_id: UUID,
    work: Annotated[str, Query(max_length=LONGEST)] = "",
    on: Annotated[str, Query(max_length=LONGEST)] = "",
    share: Annotated[str, Query(max_length=LONGEST)] = "",
) -> Response:
    """Show a tree, and think work on it through."""
    whole = visit.session
    found = next((known for known in whole.every_tree if known.id == tree_id), None)
    if found is None:
        raise HTTPException(404)
    gone = whole.gone.get(tree_id)
    session, asked = (
        whole.part([found]),
        Asked(work, on, share),
    )  # its log alone is read, and it alone is planned
    profile = session.knowledge.profiles[found.species]
    return page(
        visit,
        "tree.html",
        title=found.label,
        tree=found,
        kind=[profile.common, profile.latin, *([found.cultivar] if found.cultivar else [])],
        gone=gone_line(session.style, gone, session.today) if gone else "",
        state=_state(session, found),
        parts=list(_parts(session, found, ahead=gone is None)),
        pictures=_pictures(session, found),
        words=session.style.say,
        texts=TREE,
        stages=[] if gone else list(stage_strips(session, found, _days(session))),
        works=[] if gone else list(_works(session, found)),
        learned=[] if gone else _learned(session, found),
        not_planned=[] if gone else _not_planned(session, found),
        operations=sorted((form.label, key) for key, form in session.knowledge.operations.items()),
        asked=asked,
        thought=thought(session, found, asked) if gone is None else None,
        entries=list(_entries(session, found, {known.id: known.label for known in whole.every_tree})),
        newest=NEWEST,
    )


def _days(session: Session) -> Days:
    day = session.today.toordinal()
    return Days(session.today.fromordinal(day - PAST_DAYS), session.today.fromordinal(day + YEAR_DAYS))


def _state(session: Session, tree: Tree) -> str:
    """Return how a tree is, where it stands and in what."""
    state = session.states[tree.id]
    spot = session.spots[state.spot].name if state.spot in session.spots else ""
    _, *words = state_row(session.style, "", state, spot)
    told = ", ".join(filter(None, words))
    return f"{told[:1].upper()}{told[1:]}"


def _pictures(session: Session, tree: Tree) -> list[tuple[Markup, str]]:
    return [
        (Markup(strip.svg), strip.sentence)  # noqa: S704 - our own
        for strip in measure_strips(session, "", session.states[tree.id].measures)
    ]


def _parts(session: Session, tree: Tree, *, ahead: bool) -> Iterator[PartOfPage]:
    """Give the parts that are followed, those with measurements as pictures."""
    for part in session.states[tree.id].open_parts:
        reasons = foretold(session.plan.items, part.id) if ahead else []
        pictures = [
            (Markup(strip.svg), strip.sentence)  # noqa: S704 - our own
            for strip in measure_strips(session, part.name, part.measures, reasons)
        ]
        known = followed(session.style, part, session.today)
        told = [session.speaker.reason(reason) for reason in reasons]
        yield PartOfPage(f"{part.kind} {part.name}".strip(), known, pictures, told)


def _works(session: Session, tree: Tree) -> Iterator[Work]:
    """Give what is to be done to a tree, as it opens, with why, and how its date moved last."""
    speaker, days = session.speaker, _days(session)
    published = published_items(session.plan.items, {}, session.knowledge, session.grove.states)
    mine = [item for item in published if item.tree_id == tree.id and item.opens.likely <= days.end]
    with session.store.read() as connection:
        moves = last_moves(session, connection)
    for item in sorted(mine, key=_opening):
        name = f"{speaker.name(item)}, {item.part}" if item.part else speaker.name(item)
        window, fact = speaker.window(item), deciding(speaker, [item], session.labels, late=False)
        svg = window_strip(
            f"{name}. {window}", days, [Window(item.opens, item.closes, item.chance)], session.today
        )
        told = [*why_of(session, item), *(move_sentence(speaker, move) for move in moves.get(item.id, []))]
        why = f"{fact[:1].upper()}{fact[1:]}." if fact else ""
        soon = (item.opens.likely - session.today).days <= SOON_DAYS
        yield Work(name, Markup(svg), window, why, told, soon)  # noqa: S704 - our own


def _opening(item: Item) -> tuple[date, date, str]:
    return item.opens.likely, item.closes.likely, str(item.id)


def _not_planned(session: Session, tree: Tree) -> list[tuple[str, str]]:
    """Return the work that is not planned for a tree, each with why not; what is open now stands above."""
    operations = session.knowledge.operations
    is_open = {
        item.operation
        for item in session.plan.items
        if item.tree_id == tree.id and item.opens.likely <= session.today
    }
    told: dict[str, list[str]] = {}
    for absent in session.plan.not_planned:
        if absent.tree_id == tree.id and absent.operation in operations.keys() - is_open:
            lines = told.setdefault(operations[absent.operation].label, [])
            lines += [text for text in map(session.speaker.reason, absent.reasons) if text not in lines]
    return [(label, " ".join(lines)) for label, lines in sorted(told.items())]


def _learned(session: Session, tree: Tree) -> list[str]:
    return [
        learned_sentence(session.speaker, date.stage, date.own, date.later_days, date.narrower_days)
        for date in learned_dates(session, tree)
    ]


def _entries(session: Session, tree: Tree, labels: Mapping[UUID, str]) -> Iterator[Logged]:
    """Give what was written down of a tree, the newest first; ``labels`` are those of all trees."""
    speaker, style, first = log_speaker(session), session.style, joinings(session, [tree.id])
    for entry in reversed(entries_of(session, tree)):
        told = speaker.told(entry, tree.id)
        named = [labels[each] for each in entry.tree_ids if each in labels]
        together = (
            style.say(TREE["together"], trees=tree_list(named), count=len(named)) if len(named) > 1 else ""
        )
        day = style.day(entry.happened, session.today)
        yield Logged(entry.id, day, told or entry.kind, together, entry.id in first)
