"""The demo's garden on one page: what other commands tell of it, the fullest that fits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.first_day.telling import day_of, events_after, gravest_warning, telling_line
from calendar_core.app.plan.explained import explained
from calendar_core.app.plan.line_names import name_of
from calendar_core.app.shell.output import folded
from calendar_core.app.work.commands.today import last_day_told, screen_lines
from calendar_core.app.work.first_screen import first_screen
from calendar_core.wording.garden.demo_text import DEMO, event_lines, explained_head
from calendar_core.wording.plan.first_screen_text import WIDTH, cut

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from calendar_core.app.calendar.publishing import Publication
    from calendar_core.app.shell.session import Session

MOST_EVENTS, MOST_REASONS, MOST_WARNED = 8, 11, 8  # lines


def pages(session: Session, publication: Publication, room: int) -> list[str]:
    """Return the first screen, an item explained, a warning, and in the room left what the calendar tells after."""
    found = first_screen(session)
    screen = screen_lines(session, found)
    rest = [*_explained(session, publication), "", *_warned(session)]
    left = min(room - len(screen) - len(rest) - 2, MOST_EVENTS + 1)
    events = events_after(publication, last_day_told(session, found, screen))
    lines = event_lines(session.style, events, session.today)[: max(left - 1, 0)]
    if lines:
        screen += ["", session.style.say(DEMO["calendar"]), *map(cut, lines)]
    return [*screen, "", *rest]


def hint(session: Session) -> list[str]:
    """Return the words of the command that tells all of the item that is explained."""
    line = telling_line(session)
    return ["today"] if line is None else ["why", name_of(line.items)]


def _explained(session: Session, publication: Publication) -> list[str]:
    """Return the window and reasons of one item, as many as there is room for."""
    line = telling_line(session)
    if line is None:
        return []
    item = line.items[0]
    first, *reasons = explained(session, item)
    head = explained_head(session.speaker, item, session.labels[item.tree_id], day_of(publication, [item]))
    out = [cut(head), *folded(first, 2, most=WIDTH)]
    for reason in reasons:
        told = folded(reason, 2, hanging=2, most=WIDTH)
        if len(out) + len(told) > MOST_REASONS:
            break
        out += told
    return out


def _warned(session: Session) -> list[str]:
    """Return the warning that is worst: its subject, what harms and what to do, the fullest that fits."""
    warning = gravest_warning(session)
    if warning is None:
        return [session.style.say(DEMO["not_warned"])]
    what, do, *_ = (part.splitlines() for part in str(warning.data["text"]).split("\n\n"))
    fits = (lines for lines in _ways(what[1:], do) if len(lines) <= MOST_WARNED - 2)
    head = session.style.say(DEMO["warned"])
    return [head, *folded(str(warning.data["subject"]), 2, most=WIDTH)[:1], *next(fits, [])]


def _ways(what: Sequence[str], do: Sequence[str]) -> Iterator[list[str]]:
    """Yield lines of what harms and what to do about it, from the fullest to the shortest; what to do goes last."""
    for moves in range(len(do), 0, -1):
        for facts in range(len(what), -1, -1):
            told = [*what[:facts], *do[:moves]]
            yield [line for text in told for line in folded(text, 4, hanging=2, most=WIDTH)]
