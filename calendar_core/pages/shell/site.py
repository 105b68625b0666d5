"""The site: one garden's pages, for as long as the service lives."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock
from typing import TYPE_CHECKING, TypeVar

from sqlalchemy import text

from calendar_core.app.keys.keys import key_shown, list_keys, role_of
from calendar_core.app.plan.replanning import LastingSession
from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.session import Session
from calendar_core.pages.shell.fetching import Fetching
from calendar_core.pages.shell.keeping import Keeper, Shown
from calendar_core.pages.shell.tries import WrongTries
from calendar_core.storage import gardens
from calendar_core.storage.transactions import in_one_line

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence
    from datetime import date
    from uuid import UUID

    from sqlalchemy import Connection

    from calendar_core.garden.model import Garden
    from calendar_core.knowledge.words import Role
    from calendar_core.storage.engine import Store

T = TypeVar("T")
HERE = ("localhost", "127.0.0.1", "::1")
NEWS = 15  # minutes after which what hangs on the hour is worked out anew: what is past, how old a judgement is (estimate)
MOST_TOLD = (
    500  # readers of whom it is remembered what they were told last (estimate: many more than a garden has)
)


@dataclass(frozen=True, slots=True)
class Told:
    """What was told of what somebody wrote down, and the entries that take it back."""

    lines: tuple[str, ...] = ()
    entries: tuple[UUID, ...] = ()


@dataclass
class Site:
    """A garden of an open database.

    ``garden_name`` is None for the only one, ``day`` the day that is taken for today, None for the real one. ``hosts`` are the
    names under which the pages may be asked for; ``demands_key`` is False where only this machine can ask.
    """

    store: Store
    garden_name: str | None = None
    day: date | None = None
    hosts: Sequence[str] = HERE
    demands_key: bool = False
    tries: WrongTries = field(default_factory=WrongTries, init=False, repr=False)
    fetching: Fetching = field(default_factory=Fetching, init=False, repr=False)
    _lock: Lock = field(default_factory=Lock, init=False, repr=False)
    _kept: tuple[object, LastingSession] | None = field(default=None, init=False, repr=False)
    _keeper: Keeper = field(default_factory=Keeper, init=False, repr=False)
    _texts: dict[object, tuple[object, str]] = field(default_factory=dict, init=False, repr=False)
    _answered: set[UUID] = field(default_factory=set, init=False, repr=False)
    _told: OrderedDict[str, Told] = field(default_factory=OrderedDict, init=False, repr=False)
    _watching: Connection | None = field(default=None, init=False, repr=False)

    def garden(self) -> Garden | None:
        """Return the garden, None in a database that has none yet. Raises StoreError where it is not clear which."""
        with self.store.read() as connection:
            if self.garden_name is None and not gardens.list_gardens(connection):
                return None
            return gardens.get_garden(connection, self.garden_name)

    def role_of(self, secret: str, bearer: str = "", *, from_outside: bool = False) -> Role | None:
        """Return what somebody may do who has the ``secret`` of a visit, or shows a key; None for a stranger.

        Where only this machine can ask, and no key was made, whoever uses it owns the garden; but not whoever asks
        ``from_outside``, through a program here that passes questions on.
        """
        garden = self.garden()
        demands_key = self.demands_key or from_outside
        if garden is None:
            return None if demands_key else "owner"
        if bearer:
            shown = key_shown(self.store, garden.id, bearer)
            return None if shown is None else shown.role
        if not demands_key and not list_keys(self.store, garden.id):
            return "owner"
        return role_of(self.store, garden.id, secret, clock(garden.zone).now)

    def fresh(self, garden: Garden) -> Session:
        """Return a session that nobody else has: for writing."""
        return Session(self.store, garden, clock(garden.zone, self.day))

    def session(self) -> LastingSession | None:
        """Return the session of now: the same for all who only read, until something is written or time has passed."""
        garden = self.garden()
        if garden is None:
            return None
        now = clock(garden.zone, self.day)
        with self._lock:
            mark = (self.changes(), garden, now.today, int(now.now.timestamp()) // (60 * NEWS))
            if self._kept is None or self._kept[0] != mark:
                last = self._kept and self._kept[1]
                new = last.followed_by(now, garden) if last else LastingSession(self.store, garden, now)
                self._kept = (mark, new)
            return self._kept[1]

    def kept(self, session: Session, what: Callable[[Session], T]) -> Shown[T]:
        """Return what is made of a session, worked out once for all who ask."""
        return self._keeper.shown(session, what)

    def text_of(self, page: object, made_of: object, write: Callable[[], str]) -> str:
        """Return a page as text, written once while what it is made of lasts."""
        kept = self._texts.get(page)
        if kept is None or kept[0] is not made_of:
            kept = self._texts[page] = (made_of, write())
        return kept[1]

    def note_answered(self, items: Collection[UUID]) -> None:
        """Remember items that were answered, until they are seen to be gone: a page may still show how it stood before."""
        with self._lock:
            self._answered |= set(items)

    def forget_answered(self) -> None:
        """Show all items again: the page stands as it is, or an answer was taken back."""
        with self._lock:
            self._answered.clear()

    def is_answered(self, item: UUID) -> bool:
        """Tell whether an item was answered lately."""
        return item in self._answered

    def changes(self) -> object:
        """Return a mark that is another once anybody has written to the database.

        SQLite tells of the writes of other connections, so this asks over one that never writes itself. PostgreSQL tells
        which transactions of its databases are over: one that writes is not among them before, and is after. Raises
        StoreError.
        """
        of_sqlite = self.store.engine.dialect.name == "sqlite"
        asked = "PRAGMA data_version" if of_sqlite else "SELECT pg_current_snapshot()::text"
        with in_one_line(self.store.name):
            if self._watching is None:
                self._watching = self.store.engine.connect()
            try:
                found: object = self._watching.execute(text(asked)).scalar()
                self._watching.rollback()
            except BaseException:  # a line that is lost is opened anew
                self._watching.invalidate()
                self._watching.close()
                self._watching = None
                raise
        return found

    def tell_next(self, reader: str, told: Told) -> None:
        """Keep what a reader is to be told on the next page."""
        with self._lock:
            self._told[reader] = told
            if len(self._told) > MOST_TOLD:
                self._told.popitem(last=False)

    def told(self, reader: str) -> Told:
        """Return what a reader is to be told, once."""
        with self._lock:
            return self._told.pop(reader, Told())

    def close(self) -> None:
        """Close the database."""
        if self._watching is not None:
            self._watching.close()
        self.store.close()
