"""Words for days ahead: the turns of repotting, work counted back from a show, a helper's sheet for days away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.events import ComputedEvent
from calendar_core.planning.places.operations import WHERE_TO
from calendar_core.wording.sentences import tree_list, tree_names
from calendar_core.wording.tree_sets import MOST_NAMES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.items import Item
    from calendar_core.planning.works.countdown import Countdown
    from calendar_core.planning.works.turns import Turn
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style


REPOTTING: dict[str, str] = {
    "none": "No tree of this garden is repotted by years.",
    "unknown": "Last repotting not written down",
    "write": "Write it with: leafclock log TREE repot DAY",
    "year": "{year}: {pots}, {litres} of soil",
    "litres": "{n} l",
    "wait": "May wait a year, for {now} in {year} and {then} in {next}: {trees}.",
    "answer": "Answer theirs 'not this year' when it is asked for.",
    "days": "{first} to {last}",
    "about": "about {day}",
}

SHOW: dict[str, str] = {
    "title": "Shown on {day}: {trees}.",
    "too_late": "Too late for anything but a clean pot and water.",
    "no_more": "No repotting, hard pruning or defoliation on account of a show: the plan's windows hold.",
    "step": "{work}. {how}",
    "shut": "{work}. {how} (not the season for it: see the plan)",
}

SHEET: dict[str, str] = {
    "title": "{garden}: while we are away, {first} to {last}.",
    "water": "Water",
    "watering": "Look every morning, in heat again in the afternoon; put a finger in the soil, lift small pots. Water until it runs out below; never on frozen soil.",
    "looks": "Look, and tell us",
    "no_place": "The garden has no place for that yet: ask its owner where to.",
    "not": "Please do not",
    "waits": "Cut, wire, repot, fertilize or spray: all that waits. In frost or great heat move the trees as the warning says, two people to a heavy pot.",
}
"""The helper's sheet; a helper does not keep the garden's list of places."""

HELPER_GROUP = "helper day"
HELPER: dict[str, str] = {
    "water": "Water the trees",
    "look": "Water the trees; look: {what}",
    "trees": "{title}: {trees}.",
}
"""A helper's day in the calendar."""

NEVER_DRY, MAY_DRY = "Must never dry", "May dry a little between"
"""How trees want water."""


def _litres(litres: float) -> str:
    return f"{litres:.4g}"


def _pots(style: Style, count: int) -> str:
    return style.number_of(count, "pot", "pots")


def year_title(style: Style, year: int, turns: Sequence[Turn]) -> str:
    """Return what a year holds: pots, and soil for them."""
    litres = sum(turn.soil_litres for turn in turns)
    soil = f"{_litres(litres)} {style.translate('litre' if litres == 1 else 'litres')}"
    return style.say(REPOTTING["year"], year=year, pots=_pots(style, len(turns)), litres=soil)


def turn_when(style: Style, turn: Turn) -> str:
    """Return when in its year a tree is repotted."""
    if turn.first and turn.until:
        first, last = style.short_day(turn.first), style.short_day(turn.until)
        return style.say(REPOTTING["days"], first=first, last=last)
    return "" if turn.about is None else style.say(REPOTTING["about"], day=style.short_day(turn.about))


def turn_row(style: Style, when: str, turns: Sequence[Turn], labels: Mapping[UUID, str]) -> tuple[str, ...]:
    """Return the trees of a species that share their days, with pots and soil."""
    soil = style.say(REPOTTING["litres"], n=_litres(sum(turn.soil_litres for turn in turns)))
    return when, _pots(style, len(turns)), soil, turn_names(turns, labels)


def turn_names(turns: Sequence[Turn], labels: Mapping[UUID, str]) -> str:
    """Return the trees of some turns."""
    return tree_list([labels[turn.tree_id] for turn in turns], most=MOST_NAMES)


def may_wait(style: Style, year: int, evened: Mapping[int, int], trees: str) -> str:
    """Return which trees may wait a year, and how many pots ``evened`` then has in each year."""
    now, then = _pots(style, evened[year]), evened[year + 1]
    return style.say(REPOTTING["wait"], now=now, year=year, then=then, next=year + 1, trees=trees)


def show_title(speaker: Speaker, on: date, trees: Sequence[str]) -> str:
    """Return which trees are shown when."""
    return speaker.style.say(SHOW["title"], day=speaker.style.day(on, speaker.today), trees=tree_list(trees))


def step_row(speaker: Speaker, step: Countdown) -> tuple[str, str]:
    """Return a step of the work before a show, with its day."""
    text = SHOW["shut" if step.open is False else "step"]
    told = speaker.style.say(text, work=speaker.operations[step.operation].label, how=step.how)
    return speaker.style.day(step.day, speaker.today), told


def sheet_title(speaker: Speaker, garden: str, first: date, last: date) -> str:
    """Return whose sheet it is, and for which days."""
    days = [speaker.style.day(day, speaker.today) for day in (first, last)]
    return speaker.style.say(SHEET["title"], garden=garden, first=days[0], last=days[1])


def look_line(speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str]) -> str:
    """Return a look, its trees, where they go if they are moved, and how it is done."""
    item = items[0]
    told = [reason for reason in item.reasons if reason.code in WHERE_TO]
    where = [
        speaker.style.say(SHEET["no_place"]) if reason.code == "no_place" else speaker.reason(reason)
        for reason in told
    ]
    how = speaker.style.text(item.how.partition(" If it is bad:")[0])
    return f"{speaker.name(item)}: {tree_list(tree_names(items, labels))}. {' '.join([*where, how])}"


def helper_event(
    speaker: Speaker,
    uid: UUID,
    day: date,
    thirst: Mapping[str, Sequence[str]],
    looks: Sequence[Sequence[Item]],
    labels: Mapping[UUID, str],
) -> ComputedEvent:
    """Return a day of a helper: watering, and the looks that come due on it."""
    style = speaker.style
    what = tree_list(list(dict.fromkeys(speaker.name(items[0]) for items in looks)), most=2)
    wants = [
        style.say(HELPER["trees"], title=style.say(title), trees=tree_list(trees, most=MOST_NAMES))
        for title, trees in thirst.items()
        if trees
    ]
    parts = [
        " ".join([style.say(SHEET["watering"]), *wants]),
        "\n".join(f"- {look_line(speaker, items, labels)}" for items in looks),
        f"{style.say(SHEET['not'])}: {style.say(SHEET['waits'])}",
    ]
    return ComputedEvent(
        uid, HELPER_GROUP, day.year, tuple(sorted({item.tree_id for items in looks for item in items})), day, day,
        style.say(HELPER["look"], what=what) if looks else style.say(HELPER["water"]),
        "\n\n".join(part for part in parts if part), "", (), "CONFIRMED", "helper",
    )  # fmt: skip
