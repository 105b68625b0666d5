"""Words of what is due: how urgent a line is, until when it is safe, and the one reason that tells most."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.places.operations import FEW, WHERE_TO
from calendar_core.planning.waits import late_since
from calendar_core.wording.plan.feeding_text import strengths
from calendar_core.wording.sentences import tree_list
from calendar_core.wording.tree_sets import of_trees, reasons

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.items import Item
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
    style, since = speaker.style, late_since(event.group.items)
    if event.urgency == "late" and since is not None:
        return style.say(DUE["late"], day=style.short_day(since, speaker.today))
    last = style.short_day(event.group.end, speaker.today)
    return style.say(DUE["by" if event.group.end >= speaker.today else "safe_until"], day=last)


def why(speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str]) -> str:
    """Return the one reason that tells most: what it follows, or what opened the window."""
    all_said = reasons(items, speaker)
    concern = [said for said in all_said if said.reason.code == "concern"]
    of_all = [said for said in all_said if len(said.items) == len(items)]
    first = next(iter((*concern, *of_all, *all_said)), None)
    told = [first] if first is not None else []
    told += [
        said for said in all_said if said.reason.code in (*FEW, *WHERE_TO, "feeds_for") and said is not first
    ]
    given = strengths(speaker, items, labels)
    because = [of_trees(speaker.reason(said.reason), said.items, items, labels) for said in told]
    return " ".join([*because, *([given] if given else [])])
