"""Sentences about items, stages and the season, made from codes and values."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Protocol

from calendar_core.planning.items import DECIDED, OF_PART
from calendar_core.planning.waits import late_since
from calendar_core.wording.messages import BASES, CARD, EVENTS, REASONS, WEATHER, WEATHER_SHORT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from calendar_core.garden.parts import Measure
    from calendar_core.knowledge.words import RoundName
    from calendar_core.planning.aftercare.cut_card import Card, Noted
    from calendar_core.planning.items import Item, NotPlanned, Range, Reason
    from calendar_core.planning.moved_dates import DateMove
    from calendar_core.weather.traces import WeatherKnown
    from calendar_core.wording.style import Style

ROUND_NAMES: dict[RoundName, str] = {
    "late summer": "Late summer review",
    "after leaf fall": "Review after leaf fall",
    "yearly": "Yearly review",
}
"""What a round of the review is called."""

NOUNS = {"wk": ("week", "weeks"), "a": ("year", "years"), "part": ("part", "parts")}


class Named(Protocol):
    """An operation, so far as sentences need it."""

    @property
    def label(self) -> str:
        """What it is called."""

    @property
    def done(self) -> str:
        """The verb that answers it, in the past tense."""


class Cited(Protocol):
    """A source, so far as sentences need it."""

    @property
    def organisation(self) -> str:
        """Who wrote it."""

    @property
    def title(self) -> str:
        """What it is called."""

    @property
    def year(self) -> int | str:
        """When it was written."""


NAMES = {
    "dormant": "leaf fall",
    "coldest_days": "the coldest days",
    "cold frame": "a cold frame",
    "frost-free": "a room that stays free of frost",
    "heated": "a heated room",
}
"""How stages and thermal profiles are called in running text, where that is not their own name."""


def stage_words(name: str) -> str:
    """Return a stage's name in running text."""
    return NAMES.get(name, name.replace("_", " "))


def work_name(operation: Named, key: str, rule: str) -> str:
    """Return what a work is called: its operation, or its own id where it is one of several windows."""
    name = rule.partition("#")[0].partition(OF_PART)[0]  # a look's rule names the entry it follows, or a part
    name = name.removeprefix(DECIDED)
    name = re.sub(r"\.\d+$", "", name)  # a move's how many times it was made
    return operation.label if name in (key, "hold") else name[:1].upper() + name[1:]


@dataclass(frozen=True)
class Speaker:
    """Makes sentences for one reader; ``today`` decides which dates need their year."""

    style: Style
    today: date
    operations: Mapping[str, Named]
    sources: Mapping[str, Cited]

    def name(self, item: Item | NotPlanned | DateMove) -> str:
        """Return what the work of an item is called."""
        label = getattr(item, "label", "")
        if label:
            return self.style.translate(label)
        return self.style.translate(work_name(self.operations[item.operation], item.operation, item.rule))

    def reason(self, reason: Reason) -> str:
        """Return the sentence of a reason."""
        values = self.values(reason)
        side, _, anchor = reason.code.partition("_")
        if reason.code in REASONS:
            return self._say(REASONS[reason.code], **values)
        event = self._say(EVENTS[anchor], **values)
        if side != "never":
            event = f"{self.shift(reason.days)} {event}"
        side = "opens_shifted" if side == "opens" and reason.days else side
        text = self._say(REASONS[side], **{**values, "event": event})
        if reason.subject == "cool summer" and side != "never":
            text = text.removesuffix(".") + self.style.translate("; earlier where the summer is cool.")
        return text

    def _say(self, message: str, **values: str) -> str:
        return self.style.translate(message).format(**values)

    def shift(self, days: float) -> str:
        """Return how far from its event a window opens or closes: "with", "three weeks after"."""
        if not days:
            return self.style.translate("with")
        weeks = abs(days) / 7
        if weeks == 1:
            text = self.style.translate("a week")
        elif weeks.is_integer():
            text = self.style.translate("{n} weeks").format(n=self.style.count(weeks))
        else:
            text = self.style.translate("{n} days").format(n=f"{abs(days):g}")
        return f"{text} {self.style.translate('after') if days > 0 else self.style.translate('before')}"

    def values(self, reason: Reason) -> dict[str, str]:
        """Return what stands in a sentence of a reason for its subject and values, written out."""
        subject = reason.subject
        if subject in self.operations:
            subject = self.operations[subject].label.lower()
        elif re.fullmatch(r"\d{4}-\d\d-\d\d", subject):  # a day from which something counts
            subject = self.style.day(date.fromisoformat(subject), self.today)
        else:
            subject = stage_words(subject)
        return {
            "subject": subject,
            "found": self._value(reason.found, "mm" if reason.unit == "mm" else ""),
            "needed": self._value(reason.needed, reason.unit),
            "every": self.style.every(reason.needed) if isinstance(reason.needed, int | float) else "",
            "note": self.style.text(reason.note),
        }

    def _value(self, value: object, unit: str = "") -> str:
        if isinstance(value, date):
            return self.style.day(value, self.today)
        if isinstance(value, int | float):
            if unit == "mm":
                return self.style.length(value)
            if unit == "degC":
                return self.style.temperature(value)
            if unit.startswith("degC d above "):
                base = float(unit.removeprefix("degC d above ").removesuffix(" degC"))
                return f"{self.style.heat(value)} above {self.style.temperature(base)}"
            if unit == "h":
                return f"{value:g} hour" if value == 1 else f"{value:g} hours"
            if unit in NOUNS:
                return self.style.counted(value, *NOUNS[unit])
            return f"{value:g}"
        return "an unknown day" if value is None else str(value)

    def basis(self, reason: Reason) -> str:
        """Return what a reason's numbers rest on, empty for facts of the log."""
        if not reason.basis:
            return ""
        text = self.style.translate(BASES[reason.basis])
        if reason.source in self.sources:
            source = self.sources[reason.source]
            text += f" ({source.organisation}, {source.title}, {source.year})"
        return f"{text}. {self.style.text(reason.note)}" if reason.note else f"{text}."

    def opening(self, item: Item) -> str:
        """Return when a window opens, with its range."""
        if item.opens.late < self.today:
            return self.style.translate("Open since about {day}").format(
                day=self.style.day(item.opens.likely, self.today)
            )
        if item.opens.likely <= self.today:
            return self.style.translate("Likely open since about {range}").format(
                range=self.likely(item.opens)
            )
        return self.style.translate("Opens about {range}").format(range=self.likely(item.opens))

    def closing(self, item: Item) -> str:
        """Return when a window closes, with its range."""
        return self.style.translate("closes about {range}").format(range=self.likely(item.closes))

    def likely(self, dates: Range) -> str:
        """Return a likely date with its range: "12 April (8 times in 10: 2 to 24 April)"."""
        day = self.style.day(dates.likely, self.today)
        if (dates.late - dates.early).days < 2:
            return day
        return f"{day} (8 times in 10: {self.style.span(dates, dates.likely)})"

    def window(self, item: Item) -> str:
        """Return one sentence with opening, closing and chance; of a look when it is due."""
        if (since := late_since([item])) is not None:
            return self.late(since)
        if item.label:
            return self.look_due(item)
        text = f"{self.opening(item)}; {self.closing(item)}."
        if round(item.chance * 10) < 10:
            text += " " + self.style.translate("There is such a window {chance}.").format(
                chance=self.style.chance(item.chance)
            )
        return text

    def card(self, card: Card) -> list[tuple[str, list[str]]]:
        """Return the parts of a card before a cut that have something to say, each with its lines."""
        say = self.style.translate
        parts = [
            (
                say("Look first at"),
                [self._noted(noted, CARD["badly" if noted.badly else "first"]) for noted in card.look_first],
            ),
            (say("Must stay"), [self._noted(noted, CARD["keep"]) for noted in card.keep]),
            (say("Cut back only to its pairs"), [self._noted(noted, CARD["held"]) for noted in card.held]),
            (
                say("Undecided: leave it, or decide now"),
                [self._noted(noted, CARD[_undecided(noted)]) for noted in card.undecided],
            ),
            (say("Regretted before"), [self._noted(noted, CARD["regretted"]) for noted in card.regretted]),
        ]
        return [(title, lines) for title, lines in parts if lines]

    def _noted(self, noted: Noted, message: str) -> str:
        kind = self.operations[noted.kind].label if noted.kind in self.operations else noted.kind
        name = " ".join(part for part in (kind, noted.name) if part) or self.style.translate("the tree")
        about = ", ".join(filter(None, [self._about(noted.about), self._about(noted.directive)]))
        day, course = self.style.day(noted.on, self.today), self._course(noted.measures)
        text = self._say(message, name=name, about=about, day=day, course=course)
        text = re.sub(r" ?\(\)", "", text)
        return text[:1].upper() + text[1:]

    def _course(self, measures: Sequence[Measure]) -> str:
        """Return what was measured and when: "; dry 15 mm on 20 May, 22 mm on 24 June"."""
        told: dict[str, list[str]] = {}
        for measure in measures:
            size = self._value(measure.value, "" if measure.what == "pairs" else "mm")
            told.setdefault(measure.what, []).append(f"{size} on {self._value(measure.on)}")
        return "".join(f"; {what} {', '.join(sizes)}" for what, sizes in told.items())

    def _about(self, about: str) -> str:
        if about.isdigit():
            number = int(about)
            return f"{self.style.count(number)} {'pair' if number == 1 else 'pairs'}"
        return "" if about == "no directive" else stage_words(about)

    def late(self, since: date) -> str:
        """Return since when something is late; until when it may still be done nobody knows."""
        return self.style.translate("Late since {day}.").format(day=self.style.day(since, self.today))

    def look_due(self, item: Item) -> str:
        """Return when a look is due, and until when it is in time."""
        if item.opens.likely < self.today:
            text, day = (
                self.style.translate("Due since {day}."),
                self.style.day(item.opens.likely, self.today),
            )
        else:
            text, day = self.style.translate("Due {day}."), self.likely(item.opens)
        last = self.style.day(item.closes.likely, self.today)
        return f"{text.format(day=day)} " + self.style.translate("In time until {last}.").format(last=last)

    def either(self, words: Sequence[str]) -> str:
        """Return words of which one holds for each tree."""
        return self.style.translate(" or ").join(words)

    def weather(self, known: WeatherKnown, count: int) -> str:
        """Return what the ranges rest on."""
        distance = f", {known.distance_km:.0f} km away" if known.distance_km else ""
        return self.style.translate(WEATHER[known.kind]).format(
            years=known.years, place=known.place, distance=distance, count=count
        )

    def weather_short(self, known: WeatherKnown) -> str:
        """Return what the ranges rest on, as it stands in the calendar."""
        return self.style.translate(WEATHER_SHORT[known.kind]).format(years=known.years, place=known.place)


def _undecided(noted: Noted) -> str:
    return "undecided_ever" if noted.about == "undecided" else "undecided"


def tree_names(items: Sequence[Item], labels: Mapping[UUID, str]) -> list[str]:
    """Return the labels of the trees of some items, in the garden's order, each with the parts meant."""
    parts: dict[UUID, list[str]] = {}
    for item in items:
        parts.setdefault(item.tree_id, [])
        if item.part:
            parts[item.tree_id].append(item.part)
    order = labels if len(parts) > 1 else parts  # most events of a large garden are of one tree
    return [
        f"{labels[tree]} ({', '.join(dict.fromkeys(parts[tree]))})" if parts[tree] else labels[tree]
        for tree in order
        if tree in parts
    ]


def tree_list(labels: Sequence[str], most: int = 6) -> str:
    """Return labels as a list in words, cut after ``most``.

    >>> tree_list(["A", "B", "C"]), tree_list([str(i) for i in range(9)], most=2)
    ('A, B and C', '0, 1 and 7 more')
    """
    if not labels:
        return ""
    if len(labels) > most:
        return f"{', '.join(labels[:most])} and {len(labels) - most} more"
    return labels[0] if len(labels) == 1 else f"{', '.join(labels[:-1])} and {labels[-1]}"
