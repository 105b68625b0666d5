"""Words of keeping a garden safe and taking it along: what an export holds, what was added, copies."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.wording.style import Style

NOUNS: dict[str, tuple[str, str]] = {
    "spots": ("spot", "spots"),
    "trees": ("tree", "trees"),
    "entries": ("log entry", "log entries"),
    "days": ("day", "days"),
}

EXPORTED: dict[str, str] = {
    "holds": "{folder}: {trees}, {entries}, {days} of your own weather.",
    "without": "Channels and warnings stay out: channels hold secrets, and warnings pass. A backup has both.",
    "exact": "Exact coordinates, labels and notes are in it: keep it private.",
    "rounded": "Coordinates are rounded to 0.1 degree; the place's name, labels and notes are in it as you wrote them.",
    "named": "{name} still names your exact coordinates in a text: look before you give it away.",
}

ADDED: dict[str, str] = {
    "days": "{days} of weather",
    "new": "{garden}: {what} added.",
    "known": "{garden}: {what} added; the rest was there already.",
    "none": "{garden}: nothing was missing.",
    "one_differs": "{things} stands otherwise in the folder under an id that is stored: as stored it stays.",
    "more_differ": "{things} stand otherwise in the folder under an id that is stored: as stored it stays.",
    "left_out": "The days of '{place}' are left out: this garden has its weather from elsewhere.",
}

COPIES: dict[str, str] = {
    "made": "{file}: an exact copy of {database}, checked, {mb} MB.",
    "private": "Exact coordinates and every note are in it: keep it private. It comes back with:",
    "restored": "{database} is as it was copied to {file}: {gardens}.",
    "no_garden": "no garden",
    "kept": "The database before is kept as {kept}.",
    "both_warn": "Where leafclock watch runs on both, both send their warnings: stop it on one.",
}


def count_of(style: Style, what: str, n: int) -> str:
    """Return a number of spots, trees, entries or days."""
    return style.number_of(n, *NOUNS[what])


def holds(style: Style, folder: object, trees: int, entries: int, days: int) -> str:
    """Return what an export holds."""
    return style.say(
        EXPORTED["holds"], folder=folder, trees=count_of(style, "trees", trees),
        entries=count_of(style, "entries", entries), days=count_of(style, "days", days),
    )  # fmt: skip


def added_line(style: Style, garden: str, counts: Mapping[str, int], *, new: bool) -> str:
    """Return what was added to a garden, by the names of `NOUNS`; what is none is not told."""
    told = [count_of(style, what, n) for what, n in counts.items() if n and what != "days"]
    if days := counts["days"]:
        told.append(style.say(ADDED["days"], days=count_of(style, "days", days)))
    if not told:
        return style.say(ADDED["none"], garden=garden)
    return style.say(ADDED["new" if new else "known"], garden=garden, what=", ".join(told))


def differing(style: Style, n: int) -> str:
    """Return how much stands otherwise in a folder than is stored."""
    things = style.number_of(n, "thing", "things")
    return style.say(ADDED["one_differs" if n == 1 else "more_differ"], things=things)
