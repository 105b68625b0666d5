"""Words of the demo: what stands beside what other commands tell of its garden."""

from __future__ import annotations

from typing import TYPE_CHECKING

from babel.dates import format_skeleton

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.planning.items import Item
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

DEMO: dict[str, str] = {
    "calendar": "On the phone's calendar after that:",
    "explained": "One item explained: {work}, {tree}",
    "explained_day": "One item of {day} explained: {work}, {tree}",
    "warned": "What is warned of, judged on the weather that really came:",
    "not_warned": "Judged on the weather that really came, no warning is raised on this day.",
    "written": "Written to {folder}: bench.ics ({events} for a phone's calendar), season.svg and season.png (one tree's season, for a phone), garden.svg (all species, for a desk), garden.db (the garden).",
    "sheet": "Written to {folder}: bench.ics ({events} for a phone's calendar), season.svg and season.png (one tree's season, for a phone), garden.svg (all species, for a desk), review.html (the garden's review in {walks}, to print), garden.db (the garden).",
    "further": "Look further:",
    "own": "Your own garden:",
}


def event_lines(style: Style, events: Sequence[tuple[date, str]], today: date) -> list[str]:
    """Return events of a calendar, a line each: the day, and the title as a phone shows it."""
    days = [
        format_skeleton("MMMEd" if day.year == today.year else "yMMMEd", day, locale=style.locale)
        for day, _ in events
    ]
    widest = max(map(len, days), default=0)
    return [f"  {day:<{widest}}  {title}" for day, (_, title) in zip(days, events, strict=True)]


def explained_head(speaker: Speaker, item: Item, tree: str, day: date | None) -> str:
    """Return what is explained, and the day that it has in the calendar."""
    if day is None:
        return speaker.style.say(DEMO["explained"], work=speaker.name(item), tree=tree)
    told = format_skeleton("MMMMEEEEd", day, locale=speaker.style.locale)
    return speaker.style.say(DEMO["explained_day"], day=told, work=speaker.name(item), tree=tree)


def written(style: Style, folder: object, events: int, walks: int) -> str:
    """Return what was written to a folder; with the sheet of the review where that has walks."""
    told = style.number_of(events, "event", "events")
    sheet = style.number_of(walks, "walk", "walks")
    return style.say(DEMO["sheet" if walks else "written"], folder=folder, events=told, walks=sheet)
