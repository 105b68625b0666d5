"""What was measured of a tree and its parts as small pictures, with what that foretells."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.cycle import YEAR_DAYS
from calendar_core.garden.parts import MEASURES
from calendar_core.publishing.pictures.measures import (
    Forecast,
    Measured,
    MeasurePicture,
    measure_picture,
)
from calendar_core.wording.garden.log_text import size
from calendar_core.wording.pages.tree_text import measured_sentence

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.parts import Measure
    from calendar_core.planning.items import Item, Reason

TOGETHER = (("entry", "exit"),)
"""Measures that are read against each other: of a graft its thickness before and behind the trunk."""
CLOSES = ("closes_by", "usually_closes_by", "closes_in_years", "usually_closes_in_years")
FORETOLD = (
    *CLOSES, "closed_by_now", "usually_closed_by_now", "graft_ratio", "graft_ready", "graft_waits", "leader_ratio", "rivals",
)  # fmt: skip
"""Reasons of looks that tell what measurements foretell."""


@dataclass(frozen=True, slots=True)
class MeasureStrip:
    """A picture of measures and its sentence."""

    svg: str
    sentence: str


def measure_strips(
    session: Session, name: str, measures: Sequence[Measure], reasons: Sequence[Reason] = ()
) -> Iterator[MeasureStrip]:
    """Give a picture for each thing that was measured, those that are read against each other in one."""
    left = [what for what in MEASURES if any(measure.what == what for measure in measures)]
    for pair in TOGETHER:
        if set(pair) <= set(left):
            left = [what for what in left if what not in pair]
            yield _strip(session, name, pair, measures, reasons)
    for what in left:
        yield _strip(session, name, (what,), measures, reasons)


def foretold(items: Sequence[Item], part: object) -> list[Reason]:
    """Return what the measurements of a part foretell, as its looks tell it, each once."""
    mine = (reason for item in items if item.part_id == part for reason in item.reasons)
    return list(dict.fromkeys(reason for reason in mine if reason.code in FORETOLD))


def _strip(
    session: Session, name: str, whats: Sequence[str], measures: Sequence[Measure], reasons: Sequence[Reason]
) -> MeasureStrip:
    style = session.style
    courses = {what: [measure for measure in measures if measure.what == what] for what in whats}
    sentence = " ".join(
        measured_sentence(style, what, name, course, session.today) for what, course in courses.items()
    )
    forecast = next((_forecast(reason, session.today) for reason in reasons if reason.code in CLOSES), None)
    days = {course[0].on for course in courses.values()} | {course[-1].on for course in courses.values()}
    days |= {forecast.likely} if forecast and "width" in whats else set()
    picture = MeasurePicture(
        sentence,
        tuple(
            Measured(
                what,
                tuple((measure.on, _shown(session, what, measure.value)) for measure in course),
                size(style, what, course[-1].value),
            )
            for what, course in courses.items()
        ),
        session.today,
        "" if whats[0] == "pairs" else ("in" if style.units == "us" else "mm"),
        forecast if "width" in whats else None,
        days=tuple((day, style.short_day(day, session.today)) for day in sorted(days)),
    )
    return MeasureStrip(measure_picture(picture), sentence)


def _shown(session: Session, what: str, value: float) -> float:
    return value / 25.4 if session.style.units == "us" and what != "pairs" else value


def _forecast(reason: Reason, today: date) -> Forecast | None:
    """Return when a wound is closed, as its reason tells it: by a day, or in so many years."""
    early, late = reason.found, reason.needed
    if isinstance(early, date) and isinstance(late, date):
        return Forecast(0.0, early, date.fromisoformat(reason.subject), late)
    if isinstance(early, float) and isinstance(late, float):
        first, middle, last = (
            today + timedelta(days=round(years * YEAR_DAYS)) for years in (early, (early + late) / 2, late)
        )
        return Forecast(0.0, first, middle, last)
    return None
