"""Words of the first day: what is asked when a garden is founded, what comes of its weather."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.wording.style import Style

START: dict[str, str] = {
    "where": "Where is the garden? Latitude and longitude (47.5, -122.3), or a bundled place: ",
    "trees": "Which trees stand there? One kind a line, such as: 3 Japanese maple small. An empty line ends.",
    "trees_prompt": "Trees: ",
    "found": "{name}, {region}, {country}: {latitude}, {longitude}; another? See: leafclock place NAME",
    "past_years": "Past years",
    "no_weather": "no local weather yet: {why}. The plan rests on what is known without it.",
    "no_weather_later": "no local weather yet: {why}. The plan rests on what is known without it; later: leafclock weather fetch",
    "one_behind": "{years} of past weather is being fetched behind this; see: leafclock weather status",
    "more_behind": "{years} of past weather are being fetched behind this; see: leafclock weather status",
}


def fetched_behind(style: Style, years: int) -> str:
    """Return that more years are fetched while the grower reads."""
    told = style.number_of(years, "more year", "more years")
    return style.say(START["one_behind" if years == 1 else "more_behind"], years=told)


def without_weather(style: Style, faults: Sequence[str]) -> str:
    """Return that no local weather could be had, and why."""
    return style.say(START["no_weather"], why="; ".join(faults))
