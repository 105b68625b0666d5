"""Today: what the first screen of the terminal tells, with the answers to each line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, Annotated
from uuid import UUID

from fastapi import APIRouter, Form
from markupsafe import Markup
from starlette.responses import Response

from alerts.outbox.channels import list_channels
from calendar_core.app.answers.answering import Particulars, answer, answer_items
from calendar_core.app.answers.taking_back import take_back
from calendar_core.app.log.entries import is_written
from calendar_core.app.log.sightings import write_sighting
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.plan.line_names import name_of_move
from calendar_core.app.review.outing import looked_today, outing, round_ahead
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.warnings.mailing import leads_to
from calendar_core.app.warnings.reach import since_when
from calendar_core.app.warnings.stored_warnings import MOVED
from calendar_core.app.work.first_screen import first_screen
from calendar_core.pages.shell.access import Reader, Worker
from calendar_core.pages.shell.answering import page, told
from calendar_core.pages.views.hours import today_strip
from calendar_core.pages.views.warning_lines import warning_lines
from calendar_core.pages.views.work_lines import Line, work_line
from calendar_core.planning.rota.work_days import is_late, ranked
from calendar_core.publishing.pictures.strips import Days, Window, window_strip
from calendar_core.wording.pages.today_text import TodaySpeaker
from calendar_core.wording.plan.season_text import season_sentences
from calendar_core.wording.review.walk_text import WalkSpeaker
from calendar_core.wording.warnings.judged_text import cut_off_line

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.app.work.first_screen import FirstScreen
    from calendar_core.garden.model import Tree
    from calendar_core.planning.events import TimedEvent
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item

router = APIRouter()
BEFORE, AFTER = (
    30,
    90,
)  # days of a window's picture before and after today (estimate: most windows lie within)


@dataclass(frozen=True)
class DayOfLines:
    """A day of the page with its lines and the walk that is planned on it; what is not ``soon`` is folded."""

    heading: str
    lines: Sequence[Line]
    walk: str = ""
    soon: bool = True


@dataclass(frozen=True)
class Screen:
    """The first screen in the words of the page."""

    season: str
    strip: tuple[Markup, str] | None
    calm: str
    unreached: Sequence[str]
    tells_nobody: bool
    warnings: Sequence[tuple[str, list[str], list[str]]]
    moves: Sequence[tuple[str, str, str, str]]
    walk: str
    days: Sequence[DayOfLines]
    none: str
    late: Sequence[Line]
    sight: tuple[str, Tree, str, bool] | None
    moved: str
    more: Sequence[Line]
    has_trees: bool

    def without(self, is_answered: Callable[[UUID], bool]) -> Screen:
        """Return the screen without lines of which every item was answered since."""

        def left(lines: Sequence[Line]) -> list[Line]:
            return [line for line in lines if not all(map(is_answered, line.ids))]

        days = [replace(day, lines=left(day.lines)) for day in self.days]
        return replace(self, days=days, late=left(self.late), more=left(self.more))


@router.get("/", include_in_schema=False)
def today(visit: Reader) -> Response:
    """Show what matters today."""
    shown = visit.site.kept(visit.session, screen_of)
    if not shown.stale:
        visit.site.forget_answered()
    return page(
        visit,
        "today.html",
        keep=None if shown.stale else shown,
        title=shown.session.style.weekday(shown.session.today),
        current="today",
        stale=shown.stale,
        screen=shown.value.without(visit.site.is_answered) if shown.stale else shown.value,
    )


def screen_of(session: Session) -> Screen:
    """Return the screen of a garden."""
    found, tells = first_screen(session), TodaySpeaker(session.speaker, session.labels)
    return Screen(
        " ".join(season_sentences(found.season, session.style, session.today)),
        today_strip(session),
        _calm(session, found, tells),
        [
            cut_off_line(session.style, leads_to(channel), since_when(session, channel), channel.why_failing)
            for channel in found.cut_off[:1]
        ],
        _tells_nobody(session),
        list(warning_lines(session, found.warnings)),
        [_move(session, tells, move) for move in found.moves],
        _walk(session, tells),
        list(_days(session, found, tells)),
        _none(found, tells),
        [work_line(session, tells, line.group.items, tells.late(line), urgent=True) for line in found.late],
        _sight(found, tells),
        found.moved,
        [_open_line(session, tells, line.group) for line in found.more],
        bool(session.trees),
    )


def _tells_nobody(session: Session) -> bool:
    """Tell whether there is no channel for warnings yet."""
    with session.store.read() as connection:
        return not list_channels(connection, session.garden.id)


def _walk(session: Session, tells: TodaySpeaker) -> str:
    """Return that a walk of today goes on, "" where none was begun or all of it is done."""
    seen = looked_today(session)
    left = outing(round_ahead(session), seen).left if seen else ()
    return tells.walk(len(left), sum(stop.minutes for stop in left)) if left else ""


def _open_line(session: Session, tells: TodaySpeaker, group: EventGroup) -> Line:
    """Return what is open and can wait, with its window as a picture."""
    first, today = group.items[0], session.today
    told = session.speaker.window(first)
    days = Days(today - timedelta(days=BEFORE), today + timedelta(days=AFTER))
    window = Window(first.opens, first.closes, first.chance)
    drawn = window_strip(f"{session.speaker.name(first)}. {told}", days, [window], today)
    return replace(work_line(session, tells, group.items, ""), strip=Markup(drawn), window=told)  # noqa: S704 - our own


def _move(session: Session, tells: TodaySpeaker, move: TimedEvent) -> tuple[str, str, str, str]:
    """Return the name of a move, what it is, by when, and the verb that answers it."""
    by = tells.by(move.start.astimezone(session.zone), late=move.start <= session.clock.now)
    return name_of_move(move), move.summary, by, MOVED if move.to is not None else ""


def _calm(session: Session, found: FirstScreen, tells: TodaySpeaker) -> str:
    """Return what is said where no warning stands; of a garden without a forecast none is expected."""
    if found.warnings or found.moves:
        return ""
    if found.judged:
        return tells.say("calm" if found.seen else "unseen")
    return "" if session.weather.forecast is None else tells.say("unjudged")


def _days(session: Session, found: FirstScreen, tells: TodaySpeaker) -> Iterator[DayOfLines]:
    walks = {walk.on: walk for walk in found.walks}
    ahead = {day.day: day for day in found.days if day.lines or day.ends}
    for on in sorted(ahead.keys() | walks.keys()):
        day, walk = ahead.get(on), walks.get(on)
        lines = [
            work_line(session, tells, line.items, tells.side(line, ends=ends), urgent=is_late(line))
            for line, ends in (ranked(day, session.knowledge.operations) if day else ())
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
    if is_written(session := visit.fresh(), entry_id):  # its work does not stand any more
        return told(visit, written_before(session).lines, (), back)
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
    receipt = take_back(visit.fresh(), entry or ())
    visit.site.forget_answered()
    return told(visit, receipt.lines, (), back)
