"""Words of the summary of a year: rows of this year beside the last, what is drawn of them, and what was lost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from calendar_core.planning.review.summary import HEIGHTS
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.review.summary import Height, Loss, YearFigures
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

    Figure = Callable[[YearFigures], int]

T = TypeVar("T")

SUMMARY: dict[str, str] = {
    "looking": "Looking back",
    "title": "{garden}: the year to {day}",
    "beside": "Beside it the year before, to {day}.",
    "first": "The first year: nothing is written down of the one before.",
    "nothing": "Nothing is written down of the past year.",
    "this": "this year",
    "before": "year before",
    "none": "none",
    "unknown": "not known",
    "wounds": "Wounds",
    "closed": "closed",
    "open": "open at its end",
    "pace": "closing, {height}",
    "pace_row": "{mm} a year ({n})",
    "pace_note": "Closing: width over time of the wounds measured half a year apart or more; in brackets how many.",
    "grafts": "Grafts",
    "measured": "measured",
    "taken": "taken and severed",
    "losses": "Losses",
    "died": "died",
    "loss": "{tree} died on {day}. {note}Done to it in the twelve months before: {works}.",
    "loss_none": "{tree} died on {day}. {note}Nothing was done to it in the twelve months before.",
    "loss_more": "And {n} more.",
    "work": "{work} on {day}",
    "vigour": "Vigour",
    "up": "trees that gained",
    "same": "trees that kept it",
    "down": "trees that lost",
    "looks": "Reviews",
    "trees": "trees looked at",
    "minutes": "time spent",
    "untimed": "looks that were not timed",
    "dates": "Dates foretold 30 days before",
    "score": "stages seen",
    "mean": "days off in the mean",
    "bias": "days too late (+) or early",
    "inside": "within the range for 8 in 10",
    "share": "{n} of {all}",
    "untold": "no day foretold",
    "early": "foretold too early",
    "late": "too late",
    "written": "{file}: one page; open it in a browser and print it.",
}
HEIGHT_NAMES: dict[Height, str] = {
    "low": "low third",
    "middle": "middle third",
    "top": "top third",
    "height unknown": "height not known",
}
MOST_LOSSES, MOST_WORKS = 3, 4  # told one by one, so that a bad year still goes on a page


@dataclass(frozen=True, slots=True)
class Row:
    """A figure of both years in words, ``before`` empty where there was no year before."""

    label: str
    this: str
    before: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A figure to draw, of this year and of the one before if there is one; None where it is not known.

    ``words`` stand beside each; bars of one ``unit`` are drawn to one scale.
    """

    label: str
    values: tuple[float | None, ...]
    words: tuple[str, ...]
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Dots:
    """Errors in days to draw along a line, with the words at its ends."""

    this: tuple[int, ...]
    before: tuple[int, ...]
    early: str
    late: str


@dataclass(frozen=True, slots=True)
class Section:
    """One subject: its rows, what is drawn, and what is told below."""

    title: str
    rows: tuple[Row, ...]
    bars: tuple[Bar, ...] = ()
    dots: Dots | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class SummarySpeaker:
    """Makes the words of a summary for one reader; ``labels`` are those of the trees, also of those gone."""

    speaker: Speaker
    labels: Mapping[UUID, str]

    @property
    def style(self) -> Style:
        """How values are written."""
        return self.speaker.style

    def title(self, garden: str, this: YearFigures) -> str:
        """Return whose year it is."""
        return self.style.say(SUMMARY["title"], garden=garden, day=self.style.day(this.year.last))

    def beside(self, this: YearFigures, before: YearFigures | None) -> str:
        """Return what it is held against."""
        if this.empty and before is None:
            return self.style.say(SUMMARY["nothing"])
        if before is None:
            return self.style.say(SUMMARY["first"])
        return self.style.say(SUMMARY["beside"], day=self.style.day(before.year.last))

    def sections(self, this: YearFigures, before: YearFigures | None) -> tuple[Section, ...]:
        """Return the subjects in their order; none where nothing is known."""
        if this.empty and before is None:
            return ()
        both = _Both(self.style, this, before)
        return (self._wounds(both), self._grafts(both), self._losses(both), self._vigour(both), self._looks(both), self._dates(both))  # fmt: skip

    def _wounds(self, both: _Both) -> Section:
        say = self.style.say
        rows = [
            both.count("closed", lambda year: year.wounds_closed),
            both.count("open", lambda year: year.wounds_open),
        ]
        bars = []
        for height in HEIGHTS:
            found = both.of(lambda year, height=height: _pace(year, height))  # type: ignore[misc] # bound as a default
            if not any(found):
                continue
            label = say(SUMMARY["pace"], height=say(HEIGHT_NAMES[height]))
            told = [
                say(SUMMARY["none"])
                if pace is None
                else say(SUMMARY["pace_row"], mm=self._length(pace[0]), n=pace[1])
                for pace in found
            ]
            rows.append(Row(label, told[0], told[1] if both.before else ""))
            values = tuple(None if pace is None else pace[0] for pace in found)
            bars.append(Bar(say(HEIGHT_NAMES[height]), values, tuple(map(self._length, values)), "mm"))
        notes = (say(SUMMARY["pace_note"]),) if bars else ()
        return Section(
            say(SUMMARY["wounds"]),
            tuple(rows),
            tuple(bars) or both.bars("closed", lambda year: year.wounds_closed),
            notes=notes,
        )

    def _length(self, mm: float | None) -> str:
        return "" if mm is None else self.style.length(round(mm, 1))

    def _grafts(self, both: _Both) -> Section:
        of: list[tuple[str, Figure]] = [
            ("measured", lambda year: year.grafts_measured),
            ("taken", lambda year: year.grafts_taken),
        ]
        return both.section("grafts", of)

    def _losses(self, both: _Both) -> Section:
        lost = [
            *both.this.losses,
            *(both.before.losses if both.before else ()),
        ]
        told = [self._loss(loss) for loss in lost[:MOST_LOSSES]]
        if len(lost) > MOST_LOSSES:
            told.append(self.style.say(SUMMARY["loss_more"], n=self.style.count(len(lost) - MOST_LOSSES)))
        return both.section("losses", [("died", lambda year: len(year.losses))], tuple(told))

    def _loss(self, loss: Loss) -> str:
        near = self.speaker.today
        works = [
            self.style.say(
                SUMMARY["work"], work=self._work(done.operation), day=self.style.day(done.on, near)
            )
            for done in loss.before
        ]
        note = f"{loss.note[:1].upper()}{loss.note[1:].rstrip('.')}. " if loss.note else ""
        return self.style.say(
            SUMMARY["loss" if works else "loss_none"], tree=self.labels[loss.tree_id],
            day=self.style.day(loss.on, near), note=note, works=tree_list(works, most=MOST_WORKS),
        )  # fmt: skip

    def _work(self, operation: str) -> str:
        return self.style.translate(self.speaker.operations[operation].label).lower()

    def _vigour(self, both: _Both) -> Section:
        of: list[tuple[str, Figure]] = [
            ("up", lambda year: year.vigour.up),
            ("same", lambda year: year.vigour.same),
            ("down", lambda year: year.vigour.down),
        ]
        return both.section("vigour", of)

    def _looks(self, both: _Both) -> Section:
        say = self.style.say
        rows = [
            both.count("trees", lambda year: year.looks.trees),
            both.told("minutes", lambda year: self.style.minutes(round(year.looks.minutes))),
        ]
        if any(both.of(_untimed)):
            rows.append(both.count("untimed", _untimed))
        bars = (
            *both.bars("trees", lambda year: year.looks.trees),
            Bar(
                say(SUMMARY["minutes"]),
                tuple(both.of(lambda year: year.looks.minutes)),
                tuple(both.of(lambda year: self.style.minutes(round(year.looks.minutes)))),
                "min",
            ),
        )
        return Section(say(SUMMARY["looks"]), tuple(rows), bars)

    def _dates(self, both: _Both) -> Section:
        say = self.style.say
        rows = [
            both.count("score", lambda year: year.dates.n + year.dates.untold),
            both.told("mean", lambda year: self._days(year.dates.mean_days, "{:.1f}")),
            both.told("bias", lambda year: self._days(year.dates.bias_days, "{:+.1f}")),
            both.told("inside", self._inside),
        ]
        if any(both.of(lambda year: year.dates.untold)):
            rows.append(both.count("untold", lambda year: year.dates.untold))
        before = () if both.before is None else both.before.errors
        drawn = both.this.errors or before
        dots = Dots(both.this.errors, before, say(SUMMARY["early"]), say(SUMMARY["late"]))
        return Section(say(SUMMARY["dates"]), tuple(rows), dots=dots if drawn else None)

    def _days(self, days: float | None, form: str) -> str:
        return self.style.say(SUMMARY["unknown"]) if days is None else form.format(days)

    def _inside(self, year: YearFigures) -> str:
        dates = year.dates
        if dates.inside is None:
            return self.style.say(SUMMARY["unknown"])
        return self.style.say(SUMMARY["share"], n=round(dates.inside * dates.n), all=dates.n)


@dataclass(frozen=True)
class _Both:
    """Both years, to make rows and bars of."""

    style: Style
    this: YearFigures
    before: YearFigures | None

    def of(self, figure: Callable[[YearFigures], T]) -> list[T]:
        """Return a figure of each year there is."""
        return [figure(year) for year in (self.this, self.before) if year is not None]

    def told(self, key: str, words: Callable[[YearFigures], str]) -> Row:
        """Return a row of words."""
        told = [*self.of(words), ""]
        return Row(self.style.say(SUMMARY[key]), told[0], told[1])

    def count(self, key: str, figure: Figure) -> Row:
        """Return a row of a count."""
        return self.told(key, lambda year: str(figure(year)))

    def bars(self, key: str, figure: Figure) -> tuple[Bar, ...]:
        """Return a bar of a count."""
        values = self.of(figure)
        return (Bar(self.style.say(SUMMARY[key]), tuple(values), tuple(map(str, values))),)

    def section(self, title: str, of: Sequence[tuple[str, Figure]], notes: tuple[str, ...] = ()) -> Section:
        """Return a section of counts, each a row and a bar."""
        rows = tuple(self.count(key, figure) for key, figure in of)
        bars = tuple(bar for key, figure in of for bar in self.bars(key, figure))
        return Section(self.style.say(SUMMARY[title]), rows, bars, notes=notes)


def _pace(year: YearFigures, height: Height) -> tuple[float, int] | None:
    return next(((pace.mm_a_year, pace.wounds) for pace in year.paces if pace.height == height), None)


def _untimed(year: YearFigures) -> int:
    return year.looks.looks - year.looks.counted
