"""What is fetched while somebody reads: a garden's weather, and of a far place the years without which it has no plan."""

from __future__ import annotations

from dataclasses import dataclass, field
from threading import Lock, Thread
from typing import TYPE_CHECKING

from calendar_core.app.first_day.beginning import begin
from calendar_core.app.first_day.first_weather import services_in_memory
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.weather.behind import fetch_all
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.app.garden.garden_file import GardenFile
    from calendar_core.storage.engine import Store


@dataclass
class Fetching:
    """Fetches in a thread of its own, one thing at a time; ``faults`` are those of the last.

    ``founds`` is True while a garden waits for its first years.
    """

    faults: tuple[str, ...] = ()
    founds: bool = False
    _lock: Lock = field(default_factory=Lock, repr=False)
    _going: Thread | None = field(default=None, repr=False)

    @property
    def goes_on(self) -> bool:
        """Tell whether something is being fetched."""
        return self._going is not None and self._going.is_alive()

    def fetch(self, store: Store, garden: str) -> None:
        """Begin to fetch a garden's weather, where nothing is being fetched yet. What is in stays, whenever the service ends."""
        self._begin(lambda: fetch_all(store, garden))

    def found(self, store: Store, wanted: GardenFile) -> None:
        """Begin to found a garden whose first years have to be fetched before there is a plan."""

        def found() -> list[str]:
            asked = services_in_memory(utc_now)
            garden = begin(store, wanted, None, asked)
            return fetch_all(store, garden.name, asked, self._founded)

        with self._lock:
            self.founds = self.founds or not self.goes_on
        self._begin(found)

    def _founded(self) -> None:
        self.founds = False

    def _begin(self, work: Callable[[], list[str]]) -> None:
        with self._lock:
            if self.goes_on:
                return
            self.faults = ()
            self._going = Thread(target=self._run, args=(work,), name="weather", daemon=True)
            self._going.start()

    def _run(self, work: Callable[[], list[str]]) -> None:
        try:
            self.faults = tuple(work())
        except Refusal as refusal:
            self.faults = tuple(refusal.lines)
        except StoreError as error:
            self.faults = (str(error),)
        finally:
            self.founds = False

    def wait(self, seconds: float) -> None:
        """Wait until what is being fetched is in, so long at most."""
        if self._going is not None:
            self._going.join(seconds)
