"""Sentences of a tree's page: what was learned of its dates, what its measures show, what is thought through."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.garden.log_text import size
from calendar_core.wording.sentences import stage_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.garden.parts import Measure
    from calendar_core.planning.items import Range
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

TREE: dict[str, str] = {
    "moved": "{stage}: {own}, {days} {which} than usual for its kind.",
    "surer": "{stage}: {own}, known to {days} more exactly than for its kind.",
    "later": "later",
    "earlier": "earlier",
    "taught": "From what was seen of it in earlier years:",
    "nothing_learned": "Nothing was learned of its own dates yet: they are those of its kind. A stage that you see and write down teaches them.",
    "measured": "{what} of {name}: {course}.",
    "of_tree": "the tree",
    "nothing_ahead": "Nothing is planned for it in the months ahead.",
    "no_parts": "No part of it is followed yet.",
    "together": "Written of {trees} at once: Undo takes it back of all {count}.",
    "no_entries": "Nothing is written down of it yet.",
    "never": "{work} is never done to its kind: {why}",
    "not_known": "{work} is not among the works known for its kind.",
    "day_between": "the day: right would be one from today on, within fourteen months, not {day}",
    "against": "Against it",
    "follows": "What would follow",
    "before": "Before",
    "why": "Why",
    "nothing_against": "Nothing speaks against it on that day.",
}
"""What stands on the page of a tree."""


def learned_sentence(speaker: Speaker, stage: str, own: Range, later_days: int, narrower_days: int) -> str:
    """Return how a tree's own date of a stage differs from that of its kind."""
    style, told = speaker.style, speaker.likely(own)
    name = stage_words(stage)
    name = f"{name[:1].upper()}{name[1:]}"
    if later_days:
        which = style.say(TREE["later" if later_days > 0 else "earlier"])
        days = style.counted(abs(later_days), "day", "days")
        return style.say(TREE["moved"], stage=name, own=told, days=days, which=which)
    days = style.counted(abs(narrower_days), "day", "days")
    return style.say(TREE["surer"], stage=name, own=told, days=days)


def measured_sentence(style: Style, what: str, name: str, measures: Sequence[Measure], today: date) -> str:
    """Return the course of a measure in words."""
    course = ", ".join(f"{size(style, what, m.value)} ({style.day(m.on, today)})" for m in measures)
    told = style.say(TREE["measured"], what=what, name=name or style.say(TREE["of_tree"]), course=course)
    return f"{told[:1].upper()}{told[1:]}"
