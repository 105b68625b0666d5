"""The sun of a spot in words, as they stand beneath its arc."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from calendar_core.wording.style import Style

SUN: dict[str, str] = {
    "up": "On {day} the sun is up from {rise} to {set}.",
    "always": "On {day} the sun does not set.",
    "never": "On {day} the sun does not rise.",
    "reaches": "It reaches “{spot}” {spans}.",
    "whole": "It reaches “{spot}” all the while.",
    "hidden": "It does not reach “{spot}”.",
    "span": "from {begins} to {ends}",
    "and": " and ",
}


def sun_sentence(
    style: Style, spot: str, day: str, up: Sequence[tuple[datetime, datetime]], reaches: Sequence[tuple[datetime, datetime]],
    *, sets: bool,
) -> str:  # fmt: skip
    """Return when the sun is up on a day, and when it reaches a spot; it ``sets`` where the day has an end."""
    if not up:
        return style.say(SUN["never"], day=day)
    rise, down = (style.clock(moment) for moment in (up[0][0], up[-1][1]))
    told = style.say(SUN["up"], day=day, rise=rise, set=down) if sets else style.say(SUN["always"], day=day)
    if not reaches:
        return f"{told} {style.say(SUN['hidden'], spot=spot)}"
    if list(reaches) == list(up):
        return f"{told} {style.say(SUN['whole'], spot=spot)}"
    spans = [
        style.say(SUN["span"], begins=style.clock(begins), ends=style.clock(ends)) for begins, ends in reaches
    ]
    return f"{told} {style.say(SUN['reaches'], spot=spot, spans=style.say(SUN['and']).join(spans))}"
