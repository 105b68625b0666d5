"""Words of answers: what is told when a look, work or a move of the plan is answered, and what is asked back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.planning.items import Item
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

ANSWERS: dict[str, str] = {
    "put_off": "Put off until {day}: {work}.",
    "not_this_year": "Not this year: {work}, {trees}.",
    "done": "{done}: {trees}.",
    "look": "{done}: {look}, {trees}.",
    "look_badly": "{done}: {look}, {trees}. It stays open until it goes well.",
}

MOVES: dict[str, str] = {
    "moved": "Moved to “{spot}”: {trees}.",
    "back": "{summary}, {hour}. It stands in the calendar.",
    "no_answer": "“{spot}” does not serve for all of the winter: see due for what would.",
    "none_serves": "No spot of the garden serves.",
    "where": "Where to? One of: {spots}.",
    "spot_prompt": "Spot: ",
    "name_it": "Name the place and say what it is: {kinds}.",
    "new_prompt": "Spot, such as garage, frost-free: ",
}
"""Where trees were moved to, and what is asked where that is not clear."""

LEFT: dict[str, str] = {
    "meets": "Left in “{spot}” it meets {cold} in the coldest night of a middle winter, {worst} in one of ten.",
    "harmed": "{name}: harmed below {line}.",
    "killed": "{name}: roots want protection below {line}, and likely die at {killed}.",
}
"""What a tree meets where it is left against the plan's advice."""


def put_off(speaker: Speaker, work: str, until: date) -> str:
    """Return that work was put off."""
    return speaker.style.say(ANSWERS["put_off"], day=speaker.style.day(until, speaker.today), work=work)


def looked(speaker: Speaker, item: Item, trees: Sequence[str], *, badly: bool) -> str:
    """Return that a look was answered."""
    look, done = speaker.name(item).lower(), speaker.style.translate(item.done)
    text = ANSWERS["look_badly" if badly else "look"]
    return speaker.style.say(text, done=done, look=look, trees=tree_list(trees))


def moved(style: Style, spot: str, trees: Sequence[str]) -> str:
    """Return that trees were moved to a spot, all of them by name."""
    return style.say(MOVES["moved"], spot=spot, trees=tree_list(trees, len(trees)))
