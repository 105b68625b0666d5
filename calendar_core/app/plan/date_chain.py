"""What moved told dates: plans under what they rested on, in which one thing after another is let come true."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING
from uuid import uuid5

from calendar_core.app.plan.kept_plan import program_mark
from calendar_core.app.shell.plan_weather import WeatherThen, weather_at
from calendar_core.app.shell.session import knowledge
from calendar_core.garden.state import chosen, states, valid_entries
from calendar_core.knowledge.forms.operations import family_of
from calendar_core.knowledge.profiles.answers import answered
from calendar_core.knowledge.words import MOVE_CAUSES
from calendar_core.planning.moved_dates import (
    DateMove,
    MovePart,
    Spell,
    ToldDate,
    Written,
    day_of,
    differences,
    spell_of,
)
from calendar_core.planning.planner import axis_of, make_plan
from calendar_core.planning.seasons.species_stages import Grove
from calendar_core.storage.services import forecast_data, forecast_of
from calendar_core.storage.told_dates import Basis

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from uuid import UUID

    from calendar_core.app.shell.plan_weather import WeatherAt
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.knowledge.words import MoveCause
    from calendar_core.planning.items import Item
    from calendar_core.storage.services import StoredForecast
    from calendar_core.weather.daily import DailySeries


@dataclass(frozen=True)
class Moving:
    """An item of today with a date that was told otherwise, and its day now."""

    item: Item
    told: ToldDate
    day: date


def basis_of(session: Session) -> Basis:
    """Return what the dates of today's plan rest on."""
    known = session.weather.sky.traces.known
    recorded = max((entry.recorded_at for entry in session.entries), default=None)
    measured_to, run = known.measured_to, _forecast_in(session.weather)
    measured = session.weather.measured
    if measured is not None:
        measured = None if measured_to is None else measured.until(measured_to)
    record = _record(session, measured, len(session.entries))
    mark = repr((session.today, measured_to, recorded, record, program_mark(), _named(run)))
    return Basis(
        uuid5(session.garden.id, mark),
        session.today, measured_to, recorded, record, program_mark(),
        None if run is None else forecast_data(run),
    )  # fmt: skip


def _forecast_in(weather: WeatherAt) -> StoredForecast | None:
    """Return the run that the possible years hold; one that is over has no part in them."""
    return weather.forecast if weather.sky.traces.known.forecast is not None else None


def _record(session: Session, measured: DailySeries | None, entries: int) -> str:
    """Return a mark of all that is changed in place: no entry tells of it."""
    digest = hashlib.sha256(repr((session.garden, sorted(session.spots.items()), entries)).encode())
    if measured is not None:
        digest.update(repr(measured.start).encode())
        digest.update(measured.t_min_c.tobytes() + measured.t_max_c.tobytes())
    return digest.hexdigest()[:16]


def explained(session: Session, basis: Basis, moving: Sequence[Moving]) -> list[DateMove]:
    """Return why dates moved that were told together; of work that was done since the date is its next time's."""
    chain = _Chain(session, basis, {date_moving.item.tree_id for date_moving in moving})
    still = [date_moving for date_moving in moving if not chain.was_done(date_moving.item)]
    return [_explained(session.today, chain, date_moving) for date_moving in still]


def _explained(today: date, chain: _Chain, moving: Moving) -> DateMove:
    item, told = moving.item, moving.told
    steps = [(cause, _day(items.get(item.id), told)) for cause, items in chain.steps]
    moved = differences(told.day, [*steps, (chain.causes[-1], moving.day)])
    parts = tuple(chain.part(cause, days, item.tree_id) for cause, days in moved.items())
    return DateMove(
        item.id, told.side, item.tree_id, told.told_on, today, told.day, moving.day, parts,
        item.operation, item.rule, item.cycle, item.label, item.part,
    )  # fmt: skip


def _day(item: Item | None, told: ToldDate) -> date | None:
    return None if item is None else day_of(item, told.side)


class _Chain:
    """From what some trees' dates rested on to what is known today, a step for each cause that has changed."""

    def __init__(self, session: Session, basis: Basis, trees: Collection[UUID]) -> None:
        self.session, self.basis = session, basis
        self.trees = [tree for tree in session.trees if tree.id in trees]
        run = None if basis.forecast is None else forecast_of(basis.forecast)
        self.then = WeatherThen(basis.measured_to, run)
        self.measured_to = session.weather.sky.traces.known.measured_to
        told = [entry for entry in session.entries if self._was_known(entry)]
        self.n_known = len(told)
        concern = [entry for entry in session.entries if _concerns(entry, trees)]
        self.known = [entry for entry in concern if self._was_known(entry)]
        self.since = [entry for entry in concern if not self._was_known(entry)]

    def _was_known(self, entry: Entry) -> bool:
        recorded = self.basis.recorded
        return recorded is not None and entry.recorded_at <= recorded and entry.happened <= self.basis.told_on

    def was_done(self, item: Item) -> bool:
        """Tell whether an item's work was done to its tree since it was told."""
        operations = self.session.knowledge.operations
        new = valid_entries(self.since, self.session.today)
        done = (e.data["operation"] for e in new if e.kind == "work" and item.tree_id in e.tree_ids)
        return family_of(item.operation, operations) in {family_of(work, operations) for work in done}

    @cached_property
    def causes(self) -> list[MoveCause]:
        """What has changed since, in the order in which it is let come true."""
        found: set[MoveCause] = set()
        if self.basis.program != program_mark():
            found.add("knowledge")
        elif self.basis.record != _record(self.session, self.weather_then.measured, self.n_known):
            found.add("record")
        if self.basis.told_on != self.session.today:
            found.add("time")
        if self.basis.measured_to != self.measured_to:
            found.add("weather")
        if _named(self.then.forecast) != _named(_forecast_in(self.session.weather)):
            found.add("forecast")
        found |= {"sight" if entry.kind == "seen" else "entry" for entry in self.since}
        return [cause for cause in MOVE_CAUSES if cause in found] or ["record"]

    @cached_property
    def steps(self) -> list[tuple[MoveCause, Mapping[UUID, Item]]]:
        """The items under each cause but the last: that one leads to today's plan."""
        return [(cause, self._items(cause)) for cause in self.causes[:-1]]

    def _items(self, cause: MoveCause) -> Mapping[UUID, Item]:
        true = set(MOVE_CAUSES[: MOVE_CAUSES.index(cause) + 1])
        today = self.session.today if "time" in true else self.basis.told_on
        entries = [*self.known, *(e for e in self.since if e.kind == "seen" and "sight" in true)]
        states_now = states([tree.id for tree in self.trees], entries, today)
        grove = Grove(self.session.garden, self.session.spots, self.trees, states_now)
        plan = make_plan(grove, self._weather(true, today).sky, self._knowledge(entries, today), today)
        return {item.id: item for item in plan.items}

    def _weather(self, true: set[MoveCause], today: date) -> WeatherAt:
        """Return the weather of a step: as it was, with the days measured since, with the forecast of now as well."""
        if "time" not in true or ("weather" in self.causes and "weather" not in true):
            return self._weather_at(self.basis.told_on, today, self.then)
        if "forecast" in self.causes and "forecast" not in true:
            return self._weather_at(today, today, WeatherThen(self.measured_to, self.then.forecast))
        return self.session.weather

    def _weather_at(self, day: date, today: date, known: WeatherThen) -> WeatherAt:
        session = self.session
        return weather_at(session.store, session.garden, day, axis_of(session.garden, today), known)

    @cached_property
    def weather_then(self) -> WeatherAt:
        """The weather as it was known when the dates were told."""
        return self._weather_at(self.basis.told_on, self.session.today, self.then)

    def _knowledge(self, entries: Iterable[Entry], today: date) -> Knowledge:
        answers = chosen(entries, today)
        if answers == chosen(self.session.entries, self.session.today):
            return self.session.knowledge
        return answered(knowledge(frozenset(tree.species for tree in self.session.every_tree)), answers)

    def part(self, cause: MoveCause, days: int, tree: UUID) -> MovePart:
        """Return a part of a move with its facts."""
        if cause == "weather":
            return MovePart(cause, days, spell=self._spell)
        if cause in {"sight", "entry"}:
            since = [entry for entry in self.since if _concerns(entry, {tree})]
            return MovePart(cause, days, written=_written(since, cause, self.session))
        return MovePart(cause, days)

    @cached_property
    def _spell(self) -> Spell | None:
        measured, last, before = self.session.weather.measured, self.measured_to, self.then.measured_to
        if measured is None or last is None or before is None or last <= before:
            return None
        first, then = before + timedelta(days=1), self.weather_then.sky
        at = [(day - then.traces.start).days for day in (first, last)]
        if at[0] < 0:
            return None
        since = slice(at[0], at[1] + 1)
        usual = then.climate_c(axis_of(self.session.garden, self.session.today))[since]
        expected = (then.traces.t_min_c + then.traces.t_max_c)[:, since].mean(axis=0) / 2
        foretold = then.traces.known.forecast is not None
        return spell_of(measured.window(first, last), usual, expected if foretold else usual)


def _named(run: StoredForecast | None) -> tuple[str, datetime] | None:
    """Return what tells a run from others."""
    return None if run is None else (run.source, run.issued)


def _concerns(entry: Entry, trees: Collection[UUID]) -> bool:
    """Tell whether an entry may change the dates of trees: their own, a choice of the garden, or what takes one back."""
    own = any(tree in trees for tree in entry.tree_ids)
    return own or (not entry.tree_ids and (entry.kind == "choice" or entry.voids is not None))


def _written(since: Sequence[Entry], cause: MoveCause, session: Session) -> tuple[Written, ...]:
    """Return the entries since that are of a cause; of one that was written and taken back nothing is told."""
    valid = {entry.id for entry in valid_entries(since, session.today)}
    new = {entry.id for entry in since}
    told = []
    for entry in since:
        if ("sight" if entry.kind == "seen" else "entry") != cause:
            continue
        what = str(entry.data.get("stage") or entry.data.get("operation") or "")
        if entry.id in valid:
            told.append(Written(entry.kind, what, entry.happened))
        elif entry.voids is not None and entry.voids not in new:
            told.append(Written("void", what, entry.happened))
    return tuple(told)
