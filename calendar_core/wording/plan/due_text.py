"""Words of what is due: how urgent a line is, and until when it is safe."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.waits import late_since
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.rota.urgency import Urgency
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

TITLES: dict[str, str] = {
    "concern": "Went badly, still open",
    "late": "Late",
    "closing": "Last days",
    "now": "Now",
    "soon": "Coming",
}
"""How urgent lines are, the most urgent first."""

DUE: dict[str, str] = {
    "nothing": "Nothing needs you within {days}.",
    "warning": "{subject}. See: {program} warn",
    "warning_moved": "{subject}; moved since: {trees}. See: {program} warn",
    "late": "since {day}",
    "by": "by {day}",
    "safe_until": "safe until {day}",
}


def nothing_within(style: Style, days: int) -> str:
    """Return that nothing is due within some days."""
    return style.say(DUE["nothing"], days=style.counted(days, "day", "days"))


def warning_line(style: Style, subject: str, program: str, moved: Sequence[str] = ()) -> str:
    """Return a warning that holds, with the trees that were moved since, and where more is told."""
    if moved:
        return style.say(DUE["warning_moved"], subject=subject, trees=tree_list(moved), program=program)
    return style.say(DUE["warning"], subject=subject, program=program)


def when(speaker: Speaker, event: Urgency) -> str:
    """Return the last safe day, or since when something is late."""
    return _over(speaker, event.group, since=event.urgency == "late")


def when_over(speaker: Speaker, group: EventGroup) -> str:
    """Return the last safe day of what is open, or since when it is late."""
    return _over(speaker, group, since=True)


def _over(speaker: Speaker, group: EventGroup, *, since: bool) -> str:
    style, late = speaker.style, late_since(group.items)
    if since and late is not None:
        return style.say(DUE["late"], day=style.short_day(late, speaker.today))
    last = style.short_day(group.end, speaker.today)
    return style.say(DUE["by" if group.end >= speaker.today else "safe_until"], day=last)
