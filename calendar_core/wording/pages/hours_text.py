"""Sentences of the hours ahead: what trees meet at a spot, against their lines."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from calendar_core.wording.style import Style

HOURS: dict[str, str] = {
    "no_hours": "There is no forecast hour by hour yet, so the coming days cannot be told.",
    "other_days": "The newest forecast hour by hour is of other days, so the coming ones cannot be told.",
    "issued": (
        "Forecast of {when}. The curves are those of the one course of weather in ten that comes worst; the numbers have the "
        "likely one too. Hatched hours lie beyond a line of harm, nights are darker, and the upright line is now."
    ),
    "leaves": "leaves",
    "buds": "leaves and buds",
    "roots": "root balls",
    "air": "air",
    "there_cloth": "under cloth",
    "there_spot": "at “{spot}”",
    "line": "harm from {value}",
    "line_cold": "harm below {value}",
    "line_to": "harm to {what} from {value}",
    "line_to_cold": "harm to {what} below {value}",
    "worst": "{what} of {trees}, {lead} {bad} if it comes badly, likely {likely}; harm {from_or_below} {line}.",
    "up": "up to",
    "down": "down to",
    "from": "from",
    "below": "below",
    "there": "{where}, {lead} {value}.",
    "harm": "If it does, beyond the line {spans}.",
    "safe": "Even so the line is not reached.",
    "span": "{begins} to {ends}",
    "to_midnight": "{begins} to midnight",
    "overnight": "{begins} to {ends} the next day",
    "whole": "all the time",
    "nothing": "Nothing here can be harmed by heat or cold.",
    "unknown": "The forecast tells nothing of these hours.",
    "water": "water",
    "trees_here": "{trees} here",
    "hour": "Hour",
    "bad": "at worst",
    "likely": "likely",
    "open": "In the open",
    "today": "Today",
    "tomorrow": "Tomorrow",
}
MINUS = "\u2212"


def degrees(style: Style, celsius: float) -> str:
    """Return a whole number of degrees, as it stands in a picture; nothing where it is not known.

    >>> from calendar_core.wording.style import Style
    >>> degrees(Style(), -3.6), degrees(Style("us"), 20.0), degrees(Style(), float("nan"))
    ('\u22124°', '68°', '')
    """
    if not isfinite(celsius):
        return ""
    shown = round(celsius * 9 / 5 + 32 if style.units == "us" else celsius)
    return f"{MINUS if shown < 0 else ''}{abs(shown)}°"


def line_label(style: Style, celsius: float, what: str = "", *, falling: bool) -> str:
    """Return how a line of harm is labelled; ``what`` it harms is told where there are several.

    >>> from calendar_core.wording.style import Style
    >>> line_label(Style(), 38.0, falling=False), line_label(Style(), -4.0, HOURS["roots"], falling=True)
    ('harm from 38°', 'harm to root balls below −4°')
    """
    key = f"line{'_to' if what else ''}{'_cold' if falling else ''}"
    return style.say(HOURS[key], value=degrees(style, celsius), what=style.translate(what))


def curve_label(style: Style, celsius: float, what: str) -> str:
    """Return how a curve is labelled at its worst."""
    return f"{degrees(style, celsius)} {style.translate(what)}"


def worst_sentence(
    style: Style, what: str, trees: str, bad: float, likely: float, line: float, *, falling: bool
) -> str:
    """Return what trees meet at worst, and from where it harms."""
    told = style.say(
        HOURS["worst"],
        what=style.translate(what),
        trees=trees,
        lead=style.say(HOURS["down" if falling else "up"]),
        bad=degrees(style, bad),
        likely=degrees(style, likely),
        from_or_below=style.say(HOURS["below" if falling else "from"]),
        line=degrees(style, line),
    )
    return f"{told[:1].upper()}{told[1:]}"


def there_sentence(style: Style, where: str, value: float, *, falling: bool) -> str:
    """Return what they would meet elsewhere."""
    lead = style.say(HOURS["down" if falling else "up"])
    told = style.say(HOURS["there"], where=where, lead=lead, value=degrees(style, value))
    return f"{told[:1].upper()}{told[1:]}"


def harm_sentence(style: Style, spans: Sequence[tuple[datetime, datetime]], *, whole: bool) -> str:
    """Return when the line is passed."""
    if not spans:
        return style.say(HOURS["safe"])
    told = style.say(HOURS["whole"]) if whole else ", ".join(_span(style, *span) for span in spans)
    return style.say(HOURS["harm"], spans=told)


def _span(style: Style, begins: datetime, ends: datetime) -> str:
    key = "span" if ends.date() == begins.date() else "to_midnight" if ends.hour == 0 else "overnight"
    return style.say(HOURS[key], begins=style.clock(begins), ends=style.clock(ends))


def joined(sentences: Iterable[str]) -> str:
    """Return sentences one after another, empty ones left out."""
    return " ".join(filter(None, sentences))
