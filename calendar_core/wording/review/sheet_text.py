"""Words of the printed sheet of a review: its head, its trees, the room for what is decided, its codes."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING, Protocol

from calendar_core.wording.review.walk_text import DEPTHS
from calendar_core.wording.sentences import ROUND_NAMES

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date, time

    from calendar_core.garden.model import Tree
    from calendar_core.knowledge.words import CheckPlace, RoundName
    from calendar_core.planning.review.walks import Stop, Walk
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

SHEET: dict[str, str] = {
    "title": "{garden}: {rounds}",
    "sunset": "sunset {clock}",
    "length": "{trees}, about {minutes} min",
    "round": "{round} {year}",
    "look": "{look}, about {minutes} min",
    "due_in": "Under cover by {day}.",
    "quarantine": "Quarantine: wipe the tools before and after it.",
    "how": "Typewriter letters are the keys that answers are typed under; what is typed of this sheet begins with",
    "last": "last",
    "notes": "decide = ; other notes",
    "minutes": "Minutes",
    "cautions": "Take care",
    "code": "{label}\n{round}\nleafclock review enter {quoted}",
    "address": "{base}/tree/{tree}",
    "written": "{file}: {walks}, {trees}.",
    "print": "Open it in a browser and print it.",
}

PLACES: dict[CheckPlace, str] = {
    "soil": "Soil",
    "base": "Base",
    "trunk": "Trunk",
    "branches": "Branches",
    "top": "Top",
    "tree": "Tree",
}
"""Where on a tree questions are asked."""

DECISIONS: tuple[str, ...] = (
    "sever", "unwire", "recut", "remove", "replace … by …", "repot", "aim …", "move …", "sold", "given away", "died",
)  # fmt: skip
"""What may come out of a look, in the words that ``decide=`` takes, before the part it is about."""


class RoundNamed(Protocol):
    """A round of a cycle, so far as its name needs it."""

    @property
    def round(self) -> RoundName:
        """Which round of the year it is."""

    @property
    def cycle(self) -> int:
        """Of which cycle."""


def rounds_words(style: Style, windows: Iterable[RoundNamed]) -> str:
    """Return which rounds some looks are of: "Late summer review 2015"."""
    said = [
        style.say(SHEET["round"], round=style.say(ROUND_NAMES[window.round]), year=window.cycle)
        for window in windows
    ]
    return ", ".join(dict.fromkeys(said))


def walk_title(style: Style, garden: str, walk: Walk) -> str:
    """Return the head of a walk's sheet."""
    return style.say(
        SHEET["title"], garden=garden, rounds=rounds_words(style, (stop.window for stop in walk.stops))
    )


def walk_facts(style: Style, walk: Walk) -> tuple[str, ...]:
    """Return the day of a walk, when the sun sets on it, and how long it takes."""
    trees = style.number_of(len(walk.stops), "tree", "trees")
    length = style.say(SHEET["length"], trees=trees, minutes=walk.minutes)
    return style.weekday(walk.on), *_sunset(style, walk.day.sunset), length


def _sunset(style: Style, sunset: time | None) -> tuple[str, ...]:
    return () if sunset is None else (style.say(SHEET["sunset"], clock=f"{sunset.hour}:{sunset.minute:02d}"),)


def tree_facts(style: Style, tree: Tree, common: str, stop: Stop) -> tuple[str, ...]:
    """Return what a tree is, where it stands, and how it is looked at."""
    species = f"{style.say(common)} ‘{tree.cultivar}’" if tree.cultivar else style.say(common)
    look = style.say(
        SHEET["look"], look=style.say(DEPTHS[stop.depth]).capitalize(), minutes=max(1, round(stop.minutes))
    )
    return tuple(filter(None, (species, stop.spot, look)))


def why_words(speaker: Speaker, stop: Stop) -> tuple[str, ...]:
    """Return what asks for a full look at a tree, and what comes before its bench's turn, or after."""
    style = speaker.style
    said = [speaker.reason(reason) for reason in stop.why]
    if stop.due_in is not None:
        said.append(style.say(SHEET["due_in"], day=style.day(stop.due_in, speaker.today)))
    if stop.turn == "quarantine":
        said.append(style.say(SHEET["quarantine"]))
    return tuple(said)


def sheet_mark(garden_code: str, on: date) -> str:
    """Return what is typed to tell a walk's sheet from others: "sheet: 0a1b2c3d 2015-09-19"."""
    return f"sheet: {garden_code} {on}"


def code_text(style: Style, tree: Tree, stop: Stop, base: str) -> str:
    """Return what a tree's code tells: its address under ``base``; without one what it is and how to enter answers."""
    if base:
        return SHEET["address"].format(base=base.rstrip("/"), tree=tree.id)
    return style.say(
        SHEET["code"],
        label=tree.label,
        round=rounds_words(style, [stop.window]),
        quoted=shlex.quote(tree.label),
    )


def written(style: Style, file: object, walks: int, trees: int) -> str:
    """Return what a sheet that was written holds."""
    return style.say(
        SHEET["written"],
        file=file,
        walks=style.number_of(walks, "walk", "walks"),
        trees=style.number_of(trees, "tree", "trees"),
    )
