"""An item in a line or two: its work and trees, when, and the fact that decides it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.places.operations import WHERE_TO
from calendar_core.planning.waits import late_since
from calendar_core.wording.plan.deciding_text import deciding
from calendar_core.wording.plan.feeding_text import short_strengths
from calendar_core.wording.plan.plan_text import short_span
from calendar_core.wording.sentences import tree_list, tree_names
from calendar_core.wording.tree_sets import by_text, of_trees

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.wording.sentences import Speaker

LINES: dict[str, str] = {
    "head": "{work}: {trees}",
    "when": "{head} ({when})",
    "closes": "likely until {day}",
    "sure": "comes {chance}",
    "goes_to": "to “{found}”",
    "warm_room": "to “{found}”, too warm: better {subject}",
    "cold_room": "to “{found}”, not warm enough: better {subject}",
    "no_place": "needs {subject}",
}
"""What stands in a line beside the fact that decides; the last ones by the code of the reason that says where to."""

SPOTS: dict[str, str] = {"frost-free": "a frost-free room"}
"""Places in fewer words than elsewhere."""

NAMED = (6, 4, 3, 2, 1)  # so many trees are named, as many as there is room for
SHORT_RANGE_DAYS = 2  # a range shorter than this tells no more than its likely day


def heads(
    speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str], when: str = "", frame: str = "{head}"
) -> list[str]:
    """Return the work and its trees, from most to fewest of them by name; ``frame`` is what stands around."""
    style, work, trees = speaker.style, speaker.name(items[0]), tree_names(items, labels)
    told = [
        style.say(LINES["head"], work=work, trees=tree_list(trees, most=most))
        for most in dict.fromkeys(min(most, len(trees)) for most in NAMED)
    ]
    if when:
        told = [*(style.say(LINES["when"], head=head, when=when) for head in told), *told]
    return [frame.replace("{head}", head) for head in told]


def facts(speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str]) -> list[str]:
    """Return what decides an item with where to it goes or how strong it is given, and the latter alone."""
    needed = [_where_to(speaker, items, labels), short_strengths(speaker, items, labels)]
    told = [[deciding(speaker, items, labels, late=False), *needed], needed]
    return [text for text in ("; ".join(filter(None, some)) for some in told) if text]


def _where_to(speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str]) -> str:
    """Return where trees are moved to, empty for other work."""

    def of_item(item: Item) -> str:
        reason = next((reason for reason in item.reasons if reason.code in WHERE_TO), None)
        if reason is None:
            return ""
        values = speaker.values(reason)
        if reason.subject in SPOTS:
            values["subject"] = speaker.style.translate(SPOTS[reason.subject])
        return speaker.style.say(LINES[reason.code], **values)

    told = by_text(items, of_item)
    return "; ".join(of_trees(text, some, items, labels) for text, some in told.items() if text)


def when_likely(speaker: Speaker, group: EventGroup, *, is_open: bool) -> str:
    """Return the range in which the first of a line likely opens, or when it likely closes if it is open; how sure, if it is not."""
    style, items, told = speaker.style, group.items, list[str]()
    if late_since(items) is not None:
        return ""
    closes, dates = min(item.closes.likely for item in items), min(items, key=lambda i: i.opens.likely).opens
    if is_open and closes > group.end:
        told.append(style.say(LINES["closes"], day=style.short_day(closes, speaker.today)))
    elif not is_open and (dates.late - dates.early).days >= SHORT_RANGE_DAYS:
        told.append(short_span(style, dates.early, dates.late))
    chance = min(item.chance for item in items)
    if round(chance * 10) < 10:
        told.append(style.say(LINES["sure"], chance=style.chance(chance)))
    return ", ".join(told)
