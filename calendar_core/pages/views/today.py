"""Today: what the first screen of the terminal tells, with the answers to each line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated
from uuid import UUID

from fastapi import APIRouter, Form
from starlette.responses import Response

from calendar_core.app.answers.answering import Particulars, answer, answer_items
from calendar_core.app.log.sightings import write_sighting
from calendar_core.app.log.voids import void
from calendar_core.app.plan.line_names import name_of_move
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.warnings.mailing import leads_to
from calendar_core.app.warnings.reach import since_when
from calendar_core.app.warnings.stored_warnings import MOVED
from calendar_core.app.work.first_screen import first_screen
from calendar_core.pages.shell.access import Reader, Worker
from calendar_core.pages.shell.answering import page, told
from calendar_core.planning.places.operations import INTO, OUT
from calendar_core.planning.rota.work_days import ranked
from calendar_core.wording.pages.today_text import TodaySpeaker
from calendar_core.wording.plan.season_text import season_sentences
from calendar_core.wording.review.walk_text import WalkSpeaker
from calendar_core.wording.warnings.judged_text import cut_off_line

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.app.work.first_screen import FirstScreen
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item

router = APIRouter()


@dataclass(frozen=True)
class Line:
    """A line of the page: ``head`` is work and trees, ``side`` stands at its right; ``verb`` answers it.

    ``measures`` are asked for with the answer, ``trees`` are its items with their labels, ``asks_spot`` where a move's goal
    has to be said.
    """

    head: str
    side: str
    why: str
    verb: str
    items: Sequence[tuple[Item, str]]
    urgent: bool = False
    measures: Sequence[str] = ()
    is_look: bool = False
    asks_spot: bool = False


@dataclass(frozen=True)
class DayOfLines:
    """A day of the page with its lines and the walk that is planned on it; what is not ``soon`` is folded."""

    heading: str
    lines: Sequence[Line]
    walk: str = ""
    soon: bool = True


@router.get("/", include_in_schema=False)
def today(visit: Reader) -> Response:
    """Show what matters today."""
    shown = visit.site.kept(visit.session, first_screen)
    session, found = shown.session, shown.value
    stands = (
        (lambda items: not all(visit.site.is_answered(item.id) for item in items)) if shown.stale else bool
    )
    tells = TodaySpeaker(session.speaker, session.labels)
    return page(
        visit,
        "today.html",
        title=session.style.weekday(session.today),
        current="today",
        season=" ".join(season_sentences(found.season, session.style, session.today)),
        calm=_calm(session, found, tells),
        warnings=[
            (str(warning.data["subject"]), str(warning.data["text"]).split("\n\n"))
            for warning in found.warnings
        ],
        moves=[
            (
                name_of_move(move),
                move.summary,
                tells.by(move.start.astimezone(session.zone), late=move.start <= session.clock.now),
                MOVED if move.to is not None else "",
            )
            for move in found.moves
        ],
        unreached=[
            cut_off_line(session.style, leads_to(channel), since_when(session, channel), channel.why_failing)
            for channel in found.cut_off[:1]
        ],
        stale=shown.stale,
        days=list(_days(session, found, tells, stands)),
        none=_none(found, tells),
        late=[
            _line(session, tells, line.group.items, tells.late(line), urgent=True)
            for line in found.late
            if stands(line.group.items)
        ],
        sight=_sight(found, tells),
        moved=found.moved,
        more=[_line(session, tells, line.group.items, "") for line in found.more if stands(line.group.items)],
        spots=sorted(spot.name for spot in session.spots.values()),
        has_trees=bool(session.trees),
    )


def _calm(session: Session, found: FirstScreen, tells: TodaySpeaker) -> str:
    """Return what is said where no warning stands; of a garden without a forecast none is expected."""
    if found.warnings or found.moves:
        return ""
    if found.judged:
        return tells.say("calm" if found.seen else "unseen")
    return "" if session.weather.forecast is None else tells.say("unjudged")


def _days(
    session: Session, found: FirstScreen, tells: TodaySpeaker, stands: Callable[[Sequence[Item]], bool]
) -> Iterator[DayOfLines]:
    walks = {walk.on: walk for walk in found.walks}
    ahead = {day.day: day for day in found.days if day.lines or day.ends}
    for on in sorted(ahead.keys() | walks.keys()):
        day, walk = ahead.get(on), walks.get(on)
        lines = [
            _line(session, tells, line.items, tells.side(line, ends=ends))
            for line, ends in (ranked(day, session.knowledge.operations) if day else ())
            if stands(line.items)
        ]
        used = (day.minutes if day else 0) + (walk.minutes if walk else 0)
        title = WalkSpeaker(session.speaker).title(walk) if walk else ""
        heading = tells.heading(on, round(used), found.free.get(on, 0))
        yield DayOfLines(heading, lines, title, (on - found.today).days < 2)


def _none(found: FirstScreen, tells: TodaySpeaker) -> str:
    """Return that there is nothing to do soon, where that is so."""
    if found.moves or any((day.day - found.today).days < 2 for day in found.days if day.lines or day.ends):
        return ""
    if any((walk.on - found.today).days < 2 for walk in found.walks):
        return ""
    if found.days or found.walks:
        return tells.say("none")
    if found.following is None:
        return tells.say("nothing")
    return tells.until_then(found.following.items, found.following.start)


def _line(
    session: Session, tells: TodaySpeaker, items: Sequence[Item], side: str, *, urgent: bool = False
) -> Line:
    first = items[0]
    operation = session.knowledge.operations[first.operation]
    return Line(
        tells.head(items),
        side,
        tells.why(items),
        first.done or operation.done,
        [(item, session.labels[item.tree_id]) for item in items],
        urgent or any(item.protects for item in items),
        first.measure,
        first.follows is not None,
        first.operation in (INTO, OUT) and any(item.to is None for item in items),
    )


def _sight(found: FirstScreen, tells: TodaySpeaker) -> tuple[str, Tree, str, bool] | None:
    if found.sight is None:
        return None
    tree, stage, closed = found.sight
    return tells.question(stage, tree.label, closed=closed), tree, stage.stage, closed


@router.post("/answers", include_in_schema=False)
def answers(
    visit: Worker,
    verb: Annotated[str, Form()] = "",
    badly: Annotated[str, Form()] = "",
    item: Annotated[list[str] | None, Form()] = None,
    move: Annotated[str, Form()] = "",
    measure: Annotated[list[str] | None, Form()] = None,
    value: Annotated[list[str] | None, Form()] = None,
    to: Annotated[str, Form()] = "",
    note: Annotated[str, Form()] = "",
    yes: Annotated[str, Form()] = "",
    entry_id: Annotated[UUID | None, Form()] = None,
    back: Annotated[str, Form()] = "/",
) -> Response:
    """Answer a line of work, or a move that a warning asks for."""
    if move:
        receipt = answer(visit.fresh(), move, verb, entry_id=entry_id)
        return told(visit, receipt.lines, receipt.entries, back)
    session, items = _items_of(visit, item or ())
    values = [
        f"{what}={size}" for what, size in zip(measure or (), value or (), strict=False) if size.strip()
    ]
    more = Particulars(
        badly=bool(badly), values=values, to=to.strip() or None, note=note.strip(), yes=bool(yes)
    )
    receipt = answer_items(session, items, verb or badly, more, entry_id)
    visit.site.note_answered([answered.id for answered in items])
    return told(visit, receipt.lines, receipt.entries, back)


def _items_of(visit: Worker, named: Sequence[str]) -> tuple[Session, list[Item]]:
    """Return the items of a form, planned anew for their trees alone. Raises Refusal where they do not stand any more."""
    try:
        pairs = [(UUID(tree), UUID(item)) for tree, _, item in (each.partition(":") for each in named)]
    except ValueError:
        raise Refusal("the form names no work; right would be one of the page") from None
    session = visit.of_trees([tree for tree, _ in pairs])
    wanted = dict.fromkeys(item for _, item in pairs)
    found = {item.id: item for item in session.plan.items if item.id in wanted}
    if not wanted or found.keys() != wanted.keys():
        raise Refusal(
            "this work does not stand any more: it was answered, or its time has changed; right would be the page as it is now"
        )
    return session, [found[item] for item in wanted]


@router.post("/seen", include_in_schema=False)
def seen(
    visit: Worker,
    tree: Annotated[UUID, Form()],
    stage: Annotated[str, Form()],
    not_yet: Annotated[str, Form()] = "",
    yes: Annotated[str, Form()] = "",
    entry_id: Annotated[UUID | None, Form()] = None,
    back: Annotated[str, Form()] = "/",
) -> Response:
    """Write down a stage that was seen today, or that it has not come."""
    session = visit.of_trees([tree])
    receipt = write_sighting(
        session, session.trees, stage, session.today, not_yet=bool(not_yet), yes=bool(yes), entry_id=entry_id
    )
    return told(visit, receipt.lines, receipt.entries, back)


@router.post("/undo", include_in_schema=False)
def undo(
    visit: Worker,
    entry: Annotated[list[UUID] | None, Form()] = None,
    back: Annotated[str, Form()] = "/",
) -> Response:
    """Take back what was just written down."""
    receipt = void(visit.fresh(), entry or ())
    visit.site.forget_answered()
    return told(visit, receipt.lines, (), back)
