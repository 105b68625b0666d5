"""Wiring: from a database, a garden's name and a day to everything a command needs.

The planner and its knowledge are imported when they are asked for: a command that needs neither starts in half the
time.
"""

from __future__ import annotations

import weakref
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from platformdirs import user_data_path

from calendar_core.app.shell.clock import Clock, clock
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.lazy import lazy
from calendar_core.garden.departures import departures
from calendar_core.garden.entry_form import unknown_work
from calendar_core.garden.state import chosen, states, valid_entries
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.profiles.terms import Terms, load_terms
from calendar_core.storage import gardens, log
from calendar_core.storage.copy_folder import way_back
from calendar_core.storage.engine import Store, open_store
from calendar_core.storage.errors import StoreError
from calendar_core.wording.sentences import Speaker
from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.plan_weather import WeatherAt
    from calendar_core.garden.departures import Gone
    from calendar_core.garden.model import Entry, Garden, Spot, Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.items import Plan
    from calendar_core.planning.seasons.species_stages import Grove


def default_database() -> Path:
    """Return the database used when none is named: one file in the user's data folder."""
    return user_data_path("leafclock", appauthor=False) / "gardens.db"


@cache
def knowledge(only: frozenset[str] | None = None) -> Knowledge:
    """Return everything in config/, checked; with ``only``, of the species just these."""
    from calendar_core.knowledge.profiles.loading import load_knowledge

    return load_knowledge(folder("config"), only)


@cache
def terms() -> Terms:
    """Return what sentences name; far less than all knowledge."""
    return load_terms(folder("config"))


@dataclass
class Session:
    """One garden in one database on one day."""

    store: Store
    garden: Garden
    clock: Clock

    @property
    def today(self) -> date:
        """The garden's local day."""
        return self.clock.today

    @property
    def zone(self) -> ZoneInfo:
        """The garden's zone."""
        return ZoneInfo(self.garden.zone)

    @lazy
    def knowledge(self) -> Knowledge:
        """What config/ holds for the garden's species, as its grower answers where sources disagree."""
        from calendar_core.knowledge.profiles.answers import answered

        known = knowledge(frozenset(tree.species for tree in self.every_tree))
        self._refuse_strangers(known)
        return answered(known, chosen(self._garden_entries(), self.today))

    @lazy
    def absences(self) -> tuple[tuple[date, date], ...]:
        """The first and the last day of each time that the grower is away."""
        from calendar_core.garden.hours import absences

        return absences(self._garden_entries(), self.today)

    def _garden_entries(self) -> tuple[Entry, ...]:
        """Return what is written of the garden itself; that of all its trees may take seconds to read."""
        if "entries" in self.__dict__:
            return self.entries
        with self.store.read() as connection:
            return self._known(log.entries(connection, self.garden.id, upto=self.today, trees=()))

    def _known(self, found: tuple[Entry, ...]) -> tuple[Entry, ...]:
        """Return entries without those of work that this program does not know: they are set aside too."""
        odd = {entry.id: faults for entry in found if (faults := unknown_work(entry, terms().operations))}
        if not odd:
            return found
        kept = valid_entries(found, self.today)
        for entry in (entry for entry in kept if entry.id in odd):
            log.set_aside(entry, odd[entry.id])
        return tuple(entry for entry in found if entry.id not in odd)

    def _refuse_strangers(self, known: Knowledge) -> None:
        """Refuse trees of a species without a profile, as another version of the program may have left them."""
        strangers = [tree for tree in self.every_tree if tree.species not in known.profiles]
        if strangers:
            right = "right would be the program that knows it, or a copy from before: leafclock restore"
            raise Refusal(
                *(f"{tree.label}: its species '{tree.species}' is not known; {right}" for tree in strangers)
            )

    @lazy
    def every_tree(self) -> tuple[Tree, ...]:
        """The trees that the garden has or had: those that are gone keep their log and their label."""
        with self.store.read() as connection:
            return gardens.list_trees(connection, self.garden.id)

    @lazy
    def gone(self) -> dict[UUID, Gone]:
        """The trees that have left the garden by today."""
        with self.store.read() as connection:
            told = log.entries_of_kind(connection, self.garden.id, "gone", self.today)
        return departures(told, self.today)

    @lazy
    def trees(self) -> tuple[Tree, ...]:
        """The garden's trees, without those that are gone."""
        return tuple(tree for tree in self.every_tree if tree.id not in self.gone)

    @lazy
    def spots(self) -> dict[UUID, Spot]:
        """The garden's spots."""
        with self.store.read() as connection:
            return {spot.id: spot for spot in gardens.list_spots(connection, self.garden.id)}

    @lazy
    def entries(self) -> tuple[Entry, ...]:
        """The log up to today: what was written for later days is not known yet."""
        with self.store.read() as connection:
            return self._known(log.entries(connection, self.garden.id, upto=self.today))

    @property
    def set_aside(self) -> tuple[Entry, ...]:
        """The entries up to today that cannot be read, or are of work that this program does not know."""
        with self.store.read() as connection:
            odd = log.unreadable(connection, self.garden.id, self.today)
            found = log.entries(connection, self.garden.id, upto=self.today)
        strange = (
            entry for entry in valid_entries(found, self.today) if unknown_work(entry, terms().operations)
        )
        return (*odd, *strange)

    @lazy
    def grove(self) -> Grove:
        """The garden with its trees and their states today."""
        from calendar_core.planning.seasons.species_stages import Grove

        return Grove(
            self.garden, self.spots, self.trees, {tree.id: self.states[tree.id] for tree in self.trees}
        )

    @lazy
    def states(self) -> dict[UUID, TreeState]:
        """What the log says of each tree today; of one that is gone, what it last said."""
        return states([tree.id for tree in self.every_tree], self.entries, self.today)

    def part(self, trees: Sequence[Tree]) -> Session:
        """Return a session of some of the trees, under the same weather: their log alone is read."""
        part = Session(self.store, self.garden, self.clock)
        with self.store.read() as connection:
            known = self._known(
                log.entries(connection, self.garden.id, self.today, [tree.id for tree in trees])
            )
        shared = {name: getattr(self, name) for name in ("spots", "weather", "knowledge")}
        part.__dict__.update(shared, every_tree=tuple(trees), trees=tuple(trees), entries=known)
        return part

    def as_of(self, on: date) -> Session:
        """Return the garden as it stood on an earlier day; what was taken back since does not count."""
        then = Session(self.store, self.garden, replace(self.clock, today=on))
        kept = (logged for logged in valid_entries(self.entries, self.today) if logged.happened <= on)
        then.__dict__["entries"] = tuple(kept)
        return then

    def suppose(self, more: Sequence[Entry]) -> None:
        """Take entries for written, though they are not yet: what is typed after them may build on them."""
        entries = (*self.entries, *more)
        for name in ("grove", "states", "plan", "knowledge"):
            self.__dict__.pop(name, None)
        self.__dict__["entries"] = entries

    @lazy
    def weather(self) -> WeatherAt:
        """The weather that a plan of today rests on."""
        from calendar_core.app.shell.plan_weather import weather_at
        from calendar_core.planning.planner import axis_of

        return weather_at(self.store, self.garden, self.today, axis_of(self.garden, self.today))

    @lazy
    def plan(self) -> Plan:
        """The plan of today."""
        return self.plan_anew()

    def plan_anew(self) -> Plan:
        """Return the plan of today, worked out anew."""
        from calendar_core.planning.planner import make_plan

        return make_plan(self.grove, self.weather.sky, self.knowledge, self.today)

    @lazy
    def style(self) -> Style:
        """How values are written."""
        return Style(self.garden.units)

    @lazy
    def speaker(self) -> Speaker:
        """The maker of sentences."""
        known = terms()
        return Speaker(self.style, self.today, known.operations, known.sources)

    @lazy
    def labels(self) -> dict[UUID, str]:
        """Labels by tree, also of those that are gone."""
        return {tree.id: tree.label for tree in self.every_tree}


def open_database(db: str | None) -> Store:
    """Open the database named, or the default one; it is made if it is not there."""
    return open_store(db if db is not None else default_database())


def no_database(where: str) -> Refusal:
    """Return the refusal of a database that is not there, with what brings it back if it was there once."""
    if back := way_back(Path(where).expanduser()):
        return Refusal(f"{where}: this database is gone; {back}")
    return Refusal(f"{where}: there is no such database yet; right would be another, or: leafclock start")


def open_session(db: str | None, garden: str | None, today: date | None) -> Session:
    """Open a garden; its database is closed when the session is no longer used.

    Raises
    ------
    Refusal
        Where there is no database: one made by a slip of the pen would be found empty later.
    StoreError
        If there is no garden, or several and none is named.
    """
    where = db if db is not None else str(default_database())
    if "://" not in where and not Path(where).expanduser().exists():
        raise no_database(where)
    store = open_database(db)
    try:
        with store.read() as connection:
            found = gardens.get_garden(connection, garden)
    except StoreError:
        store.close()
        raise
    session = Session(store, found, clock(found.zone, today))
    weakref.finalize(session, store.close)
    return session
