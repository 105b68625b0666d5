"""A line of work as pages show it: what, for which trees, until when, why, and the verbs that answer it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.app.answers.answering import may_wait
from calendar_core.planning.places.operations import INTO, OUT

if TYPE_CHECKING:
    from collections.abc import Sequence
    from uuid import UUID

    from markupsafe import Markup

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.items import Item
    from calendar_core.wording.pages.today_text import TodaySpeaker


@dataclass(frozen=True)
class Line:
    """A line of the page: ``head`` is work and trees, ``side`` stands at its right; ``verb`` answers it.

    ``measures`` are asked for with the answer, ``items`` have the labels of their trees; ``spots`` are those to choose from where
    a move does not name its goal. What ``may_wait`` can be put off for a week. ``strip`` is a picture of its ``window``, which is told beneath.
    """

    head: str
    side: str
    why: str
    verb: str
    items: Sequence[tuple[Item, str]]
    urgent: bool = False
    measures: Sequence[str] = ()
    is_look: bool = False
    spots: Sequence[str] = ()
    may_wait: bool = True
    strip: Markup | None = None
    window: str = ""

    @property
    def ids(self) -> set[UUID]:
        """The items that it holds."""
        return {item.id for item, _ in self.items}


def work_line(
    session: Session, tells: TodaySpeaker, items: Sequence[Item], side: str, *, urgent: bool = False
) -> Line:
    """Return a line of some items of one event; ``side`` stands at its right."""
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
        _goals(session) if first.operation in (INTO, OUT) and any(item.to is None for item in items) else (),
        may_wait(session, items),
    )


def _goals(session: Session) -> list[str]:
    return sorted(spot.name for spot in session.spots.values())
