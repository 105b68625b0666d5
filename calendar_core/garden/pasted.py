"""Trees written as a line: "3 Japanese maple small; black pine large refinement"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from calendar_core.knowledge.words import AIMS, SIZES

if TYPE_CHECKING:
    from calendar_core.knowledge.words import Aim, SizeClass

MOST_AT_ONCE = 500  # a count above this is taken for a slip of the finger


@dataclass(frozen=True, slots=True)
class PastedTrees:
    """``count`` trees of one kind; ``species`` is as written."""

    count: int
    species: str
    size: SizeClass = "medium"
    aim: Aim = "structure"


def pasted_trees(text: str) -> tuple[PastedTrees, ...]:
    """Return the trees of pasted lines, parted by semicolons, commas or line ends.

    Raises
    ------
    ValueError
        A part names no species, or a count that cannot be.

    Examples
    --------
    >>> [(t.count, t.species, t.size) for t in pasted_trees("3 Japanese maple small; black pine")]
    [(3, 'Japanese maple', 'small'), (1, 'black pine', 'medium')]
    """
    parts = [part.strip() for part in re.split(r"[;,\n]", text)]
    return tuple(_trees(part) for part in parts if part)


def _trees(part: str) -> PastedTrees:
    match = re.fullmatch(r"(?:(-?\d+)\s*x?\s+)?(.+)", part)
    if match is None:
        raise ValueError(
            f"'{part}' names no species; right would be a count and a species, such as: 3 Japanese maple"
        )
    count = int(match[1] or 1)
    if not 1 <= count <= MOST_AT_ONCE:
        raise ValueError(f"'{part}': {count} trees; right would be 1 to {MOST_AT_ONCE}")
    words = match[2].split()
    size, aim = "medium", "structure"
    while words and words[-1].lower() in (*SIZES, *AIMS):
        word = words.pop().lower()
        if word in SIZES:
            size = word
        else:
            aim = word
    if not words:
        raise ValueError(
            f"'{part}' names no species; right would be a count and a species, such as: 3 Japanese maple"
        )
    return PastedTrees(count, " ".join(words), cast("SizeClass", size), cast("Aim", aim))
