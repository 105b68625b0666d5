"""A reader's way with words, and the names of a garden's trees and spots."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.wording.sentences import tree_list
from calendar_core.wording.warnings import warning_text as phrases

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime
    from uuid import UUID
    from zoneinfo import ZoneInfo

    from alerts.policy.standing import Standing
    from calendar_core.knowledge.forms.cautions import Caution
    from calendar_core.knowledge.forms.warnings import WarningRules
    from calendar_core.wording.style import Style

MOST_NAMES = 4
"""Trees that are named before the rest is counted (estimate: two lines on a phone)."""


@dataclass(frozen=True)
class Voice:
    """``trees`` and ``spots`` are labels by id, ``cautions`` and ``rules`` those of config/; ``garden`` is its name.

    ``chilled`` are the trees that cold above freezing harms.
    """

    style: Style
    zone: ZoneInfo
    trees: Mapping[UUID, str]
    spots: Mapping[UUID, str]
    cautions: Mapping[str, Caution]
    rules: WarningRules
    garden: str
    chilled: frozenset[UUID] = frozenset()

    def say(self, phrase: str, **values: object) -> str:
        """Return a phrase in the reader's language, filled in."""
        return self.style.translate(phrase).format(**values)

    def names(self, trees: Iterable[UUID], most: int = MOST_NAMES) -> str:
        """Return the labels of trees as a list in words, the first few of many; never all but one."""
        labels = [self.trees[tree] for tree in trees]
        return tree_list(labels, most=most if len(labels) > most + 1 else len(labels))

    def kind(self, hazard: str, trees: Iterable[UUID]) -> str:
        """Return the key of a hazard's phrases: frost of none but chilled trees is chill."""
        threatened = set(trees)
        return "chill" if hazard == "frost" and threatened and threatened <= self.chilled else hazard

    def hazard(self, hazard: str, trees: Iterable[UUID]) -> str:
        """Return what threatens some trees."""
        return self.style.translate(phrases.HAZARDS[self.kind(hazard, trees)])

    def value(self, hazard: str, value: float) -> str:
        """Return a value of a hazard."""
        return phrases.hazard_value(self.style, hazard, value)

    def hour(self, moment: datetime, near: datetime) -> str:
        """Return a local time of day, with its weekday unless it is on the day of ``near``."""
        local = moment.astimezone(self.zone)
        text = phrases.hour(self.style, local)
        if local.date() == near.astimezone(self.zone).date():
            return text
        return f"{phrases.weekday(self.style, local.date())} {text}"

    def span(self, standing: Standing, *, date: bool = False) -> str:
        """Return the hours of a warning: "Thursday 11:00 to 18:00"; with ``date``, that of its first day."""
        begins = standing.onset.astimezone(self.zone)
        day = (phrases.dated if date else phrases.weekday)(self.style, begins.date())
        ends = self.hour(standing.expires, begins)
        start = phrases.hour(self.style, begins)
        return self.say(
            "{day}, {start} to {end}" if date else "{day} {start} to {end}", day=day, start=start, end=ends
        )

    def judged(self, judged_at: datetime, forecast_at: datetime) -> str:
        """Return when was judged, and on which forecast."""
        judged = phrases.hour(self.style, judged_at.astimezone(self.zone))
        return self.say(
            phrases.JUDGED, garden=self.garden, judged=judged, forecast=self.hour(forecast_at, judged_at)
        )
