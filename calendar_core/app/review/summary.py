"""The summary of a garden's year beside the year before, and how good the dates were that the program told."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.progress import progress
from calendar_core.app.shell.session import Session
from calendar_core.garden.cycle import calendar_of
from calendar_core.garden.departures import departures
from calendar_core.garden.state import states
from calendar_core.planning.review.summary import (
    LEAD,
    Foretold,
    Year,
    YearFigures,
    figures,
    year_to,
    years_before,
)
from calendar_core.wording.review.summary_text import SUMMARY

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.model import Tree
    from calendar_core.garden.state import Sight

Sighting = tuple["Tree", "Sight"]
HALF_YEAR = timedelta(days=182)


@dataclass(frozen=True)
class Summary:
    """Two years of a garden; ``before`` None where the log holds nothing of it."""

    this: YearFigures
    before: YearFigures | None


def summary(session: Session, *, quiet: bool = False) -> Summary:
    """Return the figures of the year up to today and of the one before."""
    this, before = year_to(session.today), year_to(years_before(session.today, 1))
    told = foretold(session, [this, before], quiet=quiet)
    last = _figures(session, before, told)
    return Summary(_figures(session, this, told), None if last.empty else last)


def _figures(session: Session, year: Year, told: Sequence[Foretold]) -> YearFigures:
    known = states([tree.id for tree in session.every_tree], session.entries, year.last)
    gone = departures(session.entries, year.last)
    vigours = _vigours(session, year.after), _vigours(session, year.last)
    return figures(year, known, vigours, gone, told)


def _vigours(session: Session, day: date) -> dict[UUID, int]:
    """Return the vigour of the trees of which it was written down by a day, and which were there on it."""
    gone = departures(session.entries, day)
    written = {
        tree
        for entry in session.entries
        if entry.kind == "state" and "vigour" in entry.data and entry.happened <= day
        for tree in entry.tree_ids
    }
    here = [tree.id for tree in session.every_tree if tree.id in written and tree.id not in gone]
    return {tree: state.vigour for tree, state in states(here, session.entries, day).items()}


def foretold(session: Session, years: Sequence[Year], *, quiet: bool = False) -> list[Foretold]:
    """Return what plans said of each stage that was seen, so long before it: made again as they were on those days."""
    by_day: defaultdict[date, list[Sighting]] = defaultdict(list)
    for tree, sight in _sightings(session):
        if any(sight.on in year for year in years):
            by_day[sight.on - LEAD].append((tree, sight))
    out = []
    for day, seen in progress(sorted(by_day.items()), session.style.say(SUMMARY["looking"]), quiet=quiet):
        trees = list({tree.id: tree for tree, _ in seen}.values())
        then = Session(session.store, session.garden, clock(session.garden.zone, day)).part(trees)
        out += [_told(then, tree, sight) for tree, sight in seen]
    return out


def _sightings(session: Session) -> Iterator[Sighting]:
    """Yield each stage that was seen once a season, as it was written last."""
    for tree in session.every_tree:
        calendar = calendar_of(session.garden, session.knowledge.profiles[tree.species])
        seen = sorted(session.states[tree.id].seen, key=lambda sight: sight.written)
        for sight in {(sight.stage, calendar.cycle(sight.on)): sight for sight in seen}.values():
            yield tree, sight


def _told(then: Session, tree: Tree, sight: Sight) -> Foretold:
    """Return what a day's plan said: the day of the stage nearest to that on which it was seen, if it had not come."""
    days = [
        told.range
        for told in then.plan.stages[tree.id]
        if told.stage == sight.stage
        and told.range is not None
        and not told.seen
        and abs(told.range.likely - sight.on) < HALF_YEAR  # farther off it is another season's
    ]
    nearest = min(days, key=lambda told: abs(told.likely - sight.on), default=None)
    return Foretold(tree.id, sight.stage, sight.on, then.today, nearest)
