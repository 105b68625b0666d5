"""Words of work that is only imagined: what speaks against it, and what would follow."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.items import Item, NotPlanned
    from calendar_core.planning.what_if import Moved
    from calendar_core.wording.sentences import Speaker

WHAT_IF: dict[str, str] = {
    "title": "If on {day}: {work}, {trees}.",
    "against": "Against it, {tree}: {reason}",
    "leaves": "New leaves are hard about {day}; {chance} that is before the first frost.",
    "nothing": "Nothing else would change.",
    "looks": "Looks that would follow",
    "moved": "Windows that would move",
    "from_to": "from {before} to {after}",
    "gone": "Not any more",
    "new": "New",
    "not_saved": "Nothing is saved.",
}


def title(speaker: Speaker, work: str, trees: Sequence[str], day: date) -> str:
    """Return what is imagined, of which trees, on which day."""
    said = speaker.style.day(day, speaker.today)
    return speaker.style.say(WHAT_IF["title"], day=said, work=work.lower(), trees=tree_list(trees))


def leaves_hard(speaker: Speaker, hard_by: date, chance: float) -> str:
    """Return when new leaves are hard, and how likely that is before frost."""
    style = speaker.style
    return style.say(WHAT_IF["leaves"], day=style.day(hard_by, speaker.today), chance=style.chance(chance))


def look_row(speaker: Speaker, item: Item, labels: Mapping[UUID, str]) -> tuple[str, str]:
    """Return the day of a look that would follow, and what it is."""
    what = f"{speaker.style.translate(item.label)}: {labels[item.tree_id]}"
    return speaker.style.day(item.opens.likely, speaker.today), what


def new_row(speaker: Speaker, item: Item, labels: Mapping[UUID, str]) -> tuple[str, str]:
    """Return the day of work that would be new, and what it is."""
    what = f"{speaker.name(item)}: {labels[item.tree_id]}"
    return speaker.style.day(item.opens.likely, speaker.today), what


def moved_row(speaker: Speaker, moved: Moved, labels: Mapping[UUID, str]) -> tuple[str, str, str]:
    """Return a window that would move, its tree, and from when to when."""
    style, today = speaker.style, speaker.today
    before, after = (style.day(item.opens.likely, today) for item in (moved.before, moved.after))
    days = style.say(WHAT_IF["from_to"], before=before, after=after)
    return speaker.name(moved.after), labels[moved.after.tree_id], days


def gone_line(speaker: Speaker, item: Item, absent: NotPlanned | None, labels: Mapping[UUID, str]) -> str:
    """Return what would not be planned any more, and why, where that is known."""
    why = " ".join(speaker.reason(reason) for reason in absent.reasons) if absent else ""
    said = f"{speaker.name(item)}, {labels[item.tree_id]}"
    return f"{said}: {why}" if why else f"{said}."
