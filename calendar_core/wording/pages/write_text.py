"""Sentences of the pages on which something is written down, and of the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.wording.style import Style

WRITE: dict[str, str] = {
    "left": "{count} more are not shown; type a name or a species above.",
}


@dataclass(frozen=True)
class WriteSpeaker:
    """Makes the sentences for one reader."""

    style: Style

    def left(self, count: int) -> str:
        """Return that so many trees are not shown."""
        return self.style.say(WRITE["left"], count=self.style.number_of(count, "tree", "trees"))

    def trees(self, labels: Sequence[str]) -> str:
        """Return the trees of a form."""
        return tree_list(labels)
