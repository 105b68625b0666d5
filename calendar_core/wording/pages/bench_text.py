"""Sentences of the bench: what concerns a tree, and its next work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.planning.waits import late_since

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.knowledge.forms.aftercare import FollowUp
    from calendar_core.planning.aftercare.followed import Followed
    from calendar_core.planning.items import Item
    from calendar_core.wording.sentences import Speaker

BENCH: dict[str, str] = {
    "late": "{work}, late since {day}",
    "now": "{work}, open until about {day}",
    "since": "{work}, open since about {day}",
    "ahead": "{work}, about {day}",
    "part": "{work}, {part}",
    "badly": "{look}, {part}: went badly",
    "tree_badly": "{look}: went badly",
    "weak": "weak, vigour {vigour}",
    "count": "{trees}.",
    "some": "{some} of {trees}.",
    "more": "{count} more are not shown.",
    "here_only": "These codes lead to {address}, which only this machine can open. Open this page by the address that your phone uses, "
    "and print it from there.",
    "leads_to": "Each code opens the page of its tree at {address}. Print them on paper that stands the weather.",
}


@dataclass(frozen=True)
class BenchSpeaker:
    """Makes the sentences for one reader."""

    speaker: Speaker
    aftercare: Mapping[str, FollowUp]

    def say(self, key: str, **values: str) -> str:
        """Return a sentence."""
        return self.speaker.style.say(BENCH[key], **values)

    def next_work(self, item: Item | None) -> str:
        """Return a tree's next work and when it comes; "" where none is planned."""
        if item is None:
            return ""
        style, today, work = self.speaker.style, self.speaker.today, self.speaker.name(item)
        work = self.say("part", work=work, part=item.part) if item.part else work
        if (since := late_since([item])) is not None:
            return self.say("late", work=work, day=style.day(since, today))
        if item.closes.likely < today:
            return self.say("since", work=work, day=style.day(item.opens.likely, today))
        if item.opens.likely <= today:
            return self.say("now", work=work, day=style.day(item.closes.likely, today))
        return self.say("ahead", work=work, day=style.day(item.opens.likely, today))

    def concern(self, found: Sequence[Followed], vigour: int, *, weak: bool) -> str:
        """Return what concerns a tree, "" for nothing."""
        said = [self.say("weak", vigour=f"{vigour}")] if weak else []
        for one in found:
            look = self.speaker.style.translate(self.aftercare[one.rule].label)
            part = {"part": one.part.name} if one.part is not None else {}
            said.append(self.say("badly" if part else "tree_badly", look=look, **part))
        return "; ".join(said)

    def count(self, shown: int, every: int) -> str:
        """Return how many trees are shown, and of how many."""
        trees = self.speaker.style.number_of(every, "tree", "trees")
        return (
            self.say("count", trees=trees)
            if shown == every
            else self.say("some", some=f"{shown}", trees=trees)
        )
