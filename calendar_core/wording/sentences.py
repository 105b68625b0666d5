"""Sentences about items, stages and the season, made from codes and values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from calendar_core.wording.messages import BASES, EVENTS, REASONS, WEATHER, WEATHER_SHORT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.planning.items import Item, NotPlanned, Range, Reason
    from calendar_core.species.schema import Operation, Source
    from calendar_core.weather.traces import WeatherKnown
    from calendar_core.wording.style import Style


def stage_words(name: str) -> str:
    """Return a stage's name in running text."""
    return {"dormant": "leaf fall", "coldest_days": "the coldest days"}.get(name, name.replace("_", " "))


def work_name(operation: Operation, key: str, rule: str) -> str:
    """Return what a work is called: its operation, or its own id where it is one of several windows."""
    return operation.label if rule == key else rule[:1].upper() + rule[1:]


@dataclass(frozen=True)
class Speaker:
    """Makes sentences for one reader; ``today`` decides which dates need their year."""

    style: Style
    today: date
    operations: Mapping[str, Operation]
    sources: Mapping[str, Source]

    def name(self, one: Item | NotPlanned) -> str:
        """Return what the work of an item is called."""
        return self.style.translate(work_name(self.operations[one.operation], one.operation, one.rule))

    def reason(self, reason: Reason) -> str:
        """Return the sentence of a reason."""
        values = self._values(reason)
        side, _, anchor = reason.code.partition("_")
        if reason.code in REASONS:
            return self._say(REASONS[reason.code], **values)
        event = self._say(EVENTS[anchor], **values)
        if side != "never":
            event = f"{self._shift(reason.days)} {event}"
        side = "opens_shifted" if side == "opens" and reason.days else side
        text = self._say(REASONS[side], **{**values, "event": event})
        if reason.subject == "cool summer" and side != "never":
            text = text.removesuffix(".") + self.style.translate("; earlier where the summer is cool.")
        return text

    def _say(self, message: str, **values: str) -> str:
        return self.style.translate(message).format(**values)

    def _shift(self, days: float) -> str:
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

    def _values(self, reason: Reason) -> dict[str, str]:
        subject = reason.subject
        if subject in self.operations:
            subject = self.operations[subject].label.lower()
        elif subject[:1].isdigit():  # a day from which something counts
            subject = self.style.day(date.fromisoformat(subject), self.today)
        else:
            subject = stage_words(subject)
        return {
            "subject": subject,
            "found": self._value(reason.found),
            "needed": self._value(reason.needed, reason.unit),
        }

    def _value(self, value: object, unit: str = "") -> str:
        if isinstance(value, date):
            return self.style.day(value, self.today)
        if isinstance(value, int | float):
            if unit == "degC":
                return self.style.temperature(value)
            if unit.startswith("degC d above "):
                base = float(unit.removeprefix("degC d above ").removesuffix(" degC"))
                return f"{self.style.heat(value)} above {self.style.temperature(base)}"
            if unit == "h":
                return f"{value:g} hours"
            return self.style.count(value) if unit in ("wk", "a") else f"{value:g}"
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
        """Return one sentence with opening, closing and chance."""
        text = f"{self.opening(item)}; {self.closing(item)}."
        if round(item.chance * 10) < 10:
            text += " " + self.style.translate("There is such a window {chance}.").format(
                chance=self.style.chance(item.chance)
            )
        return text

    def group_reasons(self, items: Sequence[Item]) -> list[Reason]:
        """Return the reasons of the middle tree of a group, with the aims of all and the least vigour."""
        every = [reason for item in items for reason in item.reasons]
        aims = sorted({reason.subject for reason in every if reason.code == "programme"})
        vigour = [int(str(reason.found)) for reason in every if reason.code == "vigour_enough"]
        shared: dict[str, dict[str, Any]] = {
            "programme": {"subject": self.style.translate(" or ").join(aims)},
            "vigour_enough": {"found": min(vigour, default=0)},
        }
        return [replace(r, **shared.get(r.code, {})) for r in middle(items).reasons]

    def weather(self, known: WeatherKnown, count: int) -> str:
        """Return what the ranges rest on."""
        distance = f", {known.distance_km:.0f} km away" if known.distance_km else ""
        return self.style.translate(WEATHER[known.kind]).format(
            years=known.years, place=known.place, distance=distance, count=count
        )

    def weather_short(self, known: WeatherKnown) -> str:
        """Return what the ranges rest on, as it stands in the calendar."""
        return self.style.translate(WEATHER_SHORT[known.kind]).format(years=known.years, place=known.place)


def middle(items: Sequence[Item]) -> Item:
    """Return the item of a group that opens in the middle of it: it speaks for the others."""
    ordered = sorted(items, key=lambda i: (i.opens.likely, i.tree_id))
    return ordered[len(ordered) // 2]


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
