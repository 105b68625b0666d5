"""Work as data: the first screen, what is due, and the grower's hours."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.plan.line_names import name_of, short
from calendar_core.garden.hours import USUAL_WEEK, absences, begins, weekly

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.app.work.first_screen import FirstScreen
    from calendar_core.planning.items import Item
    from calendar_core.planning.rota.urgency import Urgency


def screen_data(found: FirstScreen) -> dict[str, object]:
    """Return the first screen."""
    return {
        "today": found.today,
        "warnings": [{"id": w.id, "subject": w.data["subject"]} for w in found.warnings],
        "judged": found.judged,
        "cut_off": [short(channel.id) for channel in found.cut_off],
        "days": [
            {
                "day": day.day,
                "free": found.free.get(day.day, 0),
                "work": [_line(line.items, line.minutes) for line in day.lines],
                "ends": [_line(line.items, line.minutes) for line in day.ends],
            }
            for day in found.days
        ],
        "late": [name_of(line.group.items) for line in found.late],
        "more": [name_of(line.group.items) for line in found.more],
    }


def _line(items: Sequence[Item], minutes: int) -> dict[str, object]:
    return {"item": name_of(items), "tree_ids": [item.tree_id for item in items], "minutes": minutes}


def due_data(found: Sequence[Urgency]) -> list[dict[str, object]]:
    """Return the lines of what needs the grower now."""
    return [
        {
            "urgency": line.urgency,
            "name": name_of(line.group.items),
            "uid": line.group.uid,
            "items": line.group.items,
        }
        for line in found
    ]


def hours_data(session: Session) -> dict[str, object]:
    """Return the free time of a week, and the days away."""
    known = weekly(session.entries, session.today)
    gone = [{"from": first, "until": last} for first, last in absences(session.entries, session.today)]
    times = begins(session.entries, session.today)
    return {"weekly": known or USUAL_WEEK, "begins": times, "usual": known is None, "away": gone}
