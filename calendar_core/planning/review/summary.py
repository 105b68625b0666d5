"""A year of a garden in figures, to be laid beside the year before: wounds, grafts, losses, vigour, time, and dates."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal, get_args

from calendar_core.garden.cycle import YEAR_DAYS
from calendar_core.planning.aftercare.part_growth import THIRD, share_of_height

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from uuid import UUID

    from calendar_core.garden.departures import Gone
    from calendar_core.garden.parts import Measure, Part
    from calendar_core.garden.state import Done, TreeState
    from calendar_core.planning.items import Range

Height = Literal["low", "middle", "top", "height unknown"]
HEIGHTS: tuple[Height, ...] = get_args(Height)
LEAD = timedelta(days=30)
"""How long before a stage a plan is held against it: as long as supplies and time are to be had (estimate)."""
SEVER, DIED = "sever graft", "died"
LEAST_DAYS = 182  # between two measurements a pace is told from: in less, the season would be taken for the year (estimate)


@dataclass(frozen=True, slots=True)
class Year:
    """The twelve months after a day, up to ``last`` and with it."""

    after: date
    last: date

    def __contains__(self, day: date) -> bool:
        """Tell whether a day lies in it."""
        return self.after < day <= self.last


def year_to(last: date) -> Year:
    """Return the year that ends with a day."""
    return Year(years_before(last, 1), last)


def years_before(day: date, years: int) -> date:
    """Return the same day so many years before; of 29 February, 28 February.

    >>> years_before(date(2016, 2, 29), 1)
    datetime.date(2015, 2, 28)
    """
    return date(day.year - years, day.month, min(day.day, 28) if (day.month, day.day) == (2, 29) else day.day)


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast wounds of one height closed: all their width [mm] over all their time, in mm a year; ``n`` of them."""

    height: Height
    mm_a_year: float
    wounds: int


@dataclass(frozen=True, slots=True)
class Loss:
    """A tree that died, and what was done to it in the twelve months before."""

    tree_id: UUID
    on: date
    note: str
    before: tuple[Done, ...]


@dataclass(frozen=True, slots=True)
class Moves:
    """How many trees gained vigour over a year, kept it or lost some; those that were not there all the time are left out."""

    up: int
    same: int
    down: int


@dataclass(frozen=True, slots=True)
class Looks:
    """Trees looked at in reviews, looks taken, and their minutes as far as those were ``counted``."""

    trees: int
    looks: int
    minutes: float
    counted: int


@dataclass(frozen=True, slots=True)
class Foretold:
    """A stage that was seen, and what the plan of an earlier day said of it; ``said`` None where it told no day."""

    tree_id: UUID
    stage: str
    seen: date
    told_on: date
    said: Range | None

    @property
    def error_days(self) -> int | None:
        """How many days later than it came it was foretold; less than none where it was foretold too early."""
        return None if self.said is None else (self.said.likely - self.seen).days

    @property
    def inside(self) -> bool:
        """Whether it came within the range given for eight times in ten."""
        return self.said is not None and self.said.early <= self.seen <= self.said.late


@dataclass(frozen=True, slots=True)
class DateScore:
    """How good dates were: mean distance and mean error [days], positive where too late, and the share inside ranges.

    ``n`` of them; all None where there are none. ``untold`` stages came of which no day was told.
    """

    n: int
    mean_days: float | None
    bias_days: float | None
    inside: float | None
    untold: int


@dataclass(frozen=True, slots=True)
class YearFigures:
    """One year; ``errors`` are those of `DateScore`, each in days."""

    year: Year
    wounds_closed: int
    wounds_open: int
    paces: tuple[Pace, ...]
    grafts_measured: int
    grafts_taken: int
    losses: tuple[Loss, ...]
    vigour: Moves
    looks: Looks
    dates: DateScore
    errors: tuple[int, ...]

    @property
    def empty(self) -> bool:
        """Whether nothing at all is known of it."""
        moved = self.vigour.up or self.vigour.same or self.vigour.down
        return not (
            self.wounds_closed or self.wounds_open or self.paces or self.grafts_measured or self.grafts_taken
            or self.losses or moved or self.looks.looks or self.dates.n or self.dates.untold
        )  # fmt: skip


def figures(
    year: Year,
    states: Mapping[UUID, TreeState],
    vigours: tuple[Mapping[UUID, int], Mapping[UUID, int]],
    gone: Mapping[UUID, Gone],
    foretold: Iterable[Foretold],
) -> YearFigures:
    """Return the figures of a year.

    Parameters
    ----------
    year : Year
    states : by tree
        At the end of the year or later, also of trees that are gone.
    vigours : by tree
        At the beginning and at the end of the year, of the trees that were there.
    gone, foretold
        Of any time; those of the year count.
    """
    wounds = [
        (part, state) for state in states.values() for part in state.parts.values() if part.kind == "wound"
    ]
    grafts = [part for state in states.values() for part in state.parts.values() if part.kind == "graft"]
    own = [told for told in foretold if told.seen in year]
    return YearFigures(
        year,
        sum(_closed(part) in year for part, _ in wounds),
        sum(_is_open(part, year.last) for part, _ in wounds),
        tuple(paces(wounds, year)),
        sum(any(m.on in year for m in _of_graft(part)) for part in grafts),
        sum(done.on in year and done.operation == SEVER for state in states.values() for done in state.done),
        tuple(_losses(year, states, gone)),
        _moves(*vigours),
        _looks(year, states.values()),
        score(own),
        tuple(sorted(told.error_days for told in own if told.error_days is not None)),
    )


# -- wounds and grafts ---------------------------------------------------------------------------------

NEVER = date.max


def _closed(wound: Part) -> date:
    """Return the day on which a wound was first found closed."""
    return next((reading.on for reading in wound.course("width") if reading.value <= 0), NEVER)


def _is_open(wound: Part, on: date) -> bool:
    return wound.since <= on < min(_closed(wound), wound.gone or NEVER)


def paces(wounds: Iterable[tuple[Part, TreeState]], year: Year) -> Iterator[Pace]:
    """Yield how fast wounds closed in a year, by height on the tree, the lowest first.

    A wound counts from its last reading before the year, or its first in it, to its last in it, or to that which found
    it closed. Width over time of all together: a wound measured for a month weighs a twelfth of one measured for a year.
    """
    sums: defaultdict[Height, list[tuple[float, int]]] = defaultdict(list)
    for wound, state in wounds:
        course = _within(wound.course("width"), year)
        if len(course) < 2 or (days := (course[-1].on - course[0].on).days) < LEAST_DAYS:
            continue
        sums[_height(share_of_height(wound, state))].append((course[0].value - course[-1].value, days))
    for height in HEIGHTS:
        if some := sums[height]:
            years = sum(days for _, days in some) / YEAR_DAYS
            yield Pace(height, sum(mm for mm, _ in some) / years, len(some))


def _within(course: Sequence[Measure], year: Year) -> list[Measure]:
    """Return the readings of a year with the last before it; nothing once the wound is closed."""
    before = [reading for reading in course if reading.on <= year.after][-1:]
    inside = [reading for reading in course if reading.on in year]
    readings = [*before, *inside]
    shut = next((place for place, reading in enumerate(readings) if reading.value <= 0), len(readings))
    return readings[: shut + 1] if inside else []


def _height(share: float | None) -> Height:
    if share is None:
        return "height unknown"
    return "low" if share < THIRD else "top" if share > 1 - THIRD else "middle"


def _of_graft(graft: Part) -> list[Measure]:
    return [reading for reading in graft.measures if reading.what in ("entry", "exit")]


# -- trees ---------------------------------------------------------------------------------------------


def _losses(year: Year, states: Mapping[UUID, TreeState], gone: Mapping[UUID, Gone]) -> Iterator[Loss]:
    for tree, left in sorted(gone.items(), key=lambda lost: lost[1].on):
        if left.why != DIED or left.on not in year or tree not in states:
            continue
        before = year_to(left.on)
        done = sorted((done for done in states[tree].done if done.on in before), key=lambda done: done.on)
        yield Loss(tree, left.on, left.note, tuple(done))


def _moves(before: Mapping[UUID, int], after: Mapping[UUID, int]) -> Moves:
    steps = [after[tree] - vigour for tree, vigour in before.items() if tree in after]
    return Moves(sum(step > 0 for step in steps), steps.count(0), sum(step < 0 for step in steps))


def _looks(year: Year, states: Iterable[TreeState]) -> Looks:
    by_tree = [[review for review in state.reviews if review.on in year] for state in states]
    taken = [review for reviews in by_tree for review in reviews]
    minutes = [review.minutes for review in taken if review.minutes is not None]
    return Looks(sum(map(bool, by_tree)), len(taken), sum(minutes), len(minutes))


# -- dates ---------------------------------------------------------------------------------------------


def score(foretold: Iterable[Foretold]) -> DateScore:
    """Return how good dates were that were foretold of stages that were seen.

    Mean absolute error, mean error, and the share of events inside a range that is to hold eight in ten: the usual
    scores of forecasts of one number (Wilks, Statistical Methods in the Atmospheric Sciences, chapter on forecast
    verification; from memory).
    """
    every = list(foretold)
    errors = [told.error_days for told in every if told.error_days is not None]
    n = len(errors)
    if not n:
        return DateScore(0, None, None, None, len(every))
    inside = sum(told.inside for told in every) / n
    return DateScore(n, sum(map(abs, errors)) / n, sum(errors) / n, inside, len(every) - n)
