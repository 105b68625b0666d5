"""Sentences of the season page: what its pictures show, and each strip in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.seasons.season_line import HEAT_BASE_C

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.planning.items import Range
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

SEASON: dict[str, str] = {
    "picture": "Heat and day length of twelve months from {day}. {season}",
    "heat": "Heat since {day}, {unit} above {base}",
    "this_year": "this year",
    "ahead": "the months ahead, 8 years in 10",
    "past": "past years, 8 in 10",
    "usual": "a usual year",
    "day_length": "Day length",
    "today": "today",
    "hours": "h",
    "how": (
        "The soft end of a strip is how unsure it is: of work its first day and its last, each 8 times in 10; of a stage its "
        "day, with a stroke on the likely one. The line under a wedge is today. An arrow goes on beyond these months."
    ),
    "stage": "Likely {likely}.",
    "often": "Comes {chance}.",
    "because": "{reason}.",
    "no_stages": "No stage of these trees comes within these months.",
    "no_work": "No work is planned for them in these months.",
    "some": "{work}: {trees}",
}


def heat_title(style: Style, summed_from: date) -> str:
    """Return what the curves of heat are summed from, and in what."""
    unit = "°F·d" if style.units == "us" else "°C·d"
    return style.say(
        SEASON["heat"],
        day=style.day(summed_from, summed_from),
        unit=unit,
        base=style.temperature(HEAT_BASE_C),
    )


def picture_said(style: Style, today: date, season: Sequence[str]) -> str:
    """Return the picture of the year in words."""
    return style.say(SEASON["picture"], day=style.day(today), season=" ".join(season))


def stage_sentence(speaker: Speaker, dates: Sequence[tuple[Range, float]]) -> str:
    """Return when a stage comes, each time it does within the months shown."""
    told = []
    for days, share in dates:
        told.append(speaker.style.say(SEASON["stage"], likely=speaker.likely(days)))
        if round(share * 10) < 10:
            told.append(speaker.style.say(SEASON["often"], chance=speaker.style.chance(share)))
    return " ".join(told)


def work_sentence(speaker: Speaker, window: str, reason: str) -> str:
    """Return a window with what decides it."""
    if not reason:
        return window
    return f"{window} {speaker.style.say(SEASON['because'], reason=f'{reason[:1].upper()}{reason[1:]}')}"
