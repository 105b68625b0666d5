"""What pages show and takes long to work out: kept until something changes, and shown as it stood while it is worked out anew."""

from __future__ import annotations

from concurrent.futures import CancelledError, Future
from concurrent.futures import TimeoutError as NotYetError
from dataclasses import dataclass
from queue import SimpleQueue
from threading import Lock, Thread
from typing import TYPE_CHECKING, Generic, TypeVar

from calendar_core.pages.shell.memory import give_back

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.app.shell.session import Session

T = TypeVar("T")
PATIENCE_S = 0.8  # so long one waits before being shown what stood before (estimate: longer feels broken)
AT_FIRST_S = 8.0  # and, where nothing stood before, before being told that it takes long (estimate: 300 trees take half)


class BeingWorkedOutError(Exception):
    """What is asked for takes long, and nothing stood before."""


@dataclass(frozen=True, slots=True)
class Shown(Generic[T]):
    """A value with the session it was worked out from; it is ``stale`` where something was written since."""

    session: Session
    value: T
    stale: bool = False


class Keeper:
    """Works one thing out at a time, whoever asks for it, and keeps the newest of each."""

    def __init__(self) -> None:
        self._asked: SimpleQueue[Callable[[], None]] = SimpleQueue()
        # Of its own accord it ends with the service: a pool would hold that up until a long plan is made.
        Thread(target=self._work, name="keeper", daemon=True).start()
        self._lock = Lock()
        self._kept: dict[object, Shown[object]] = {}
        self._coming: dict[object, tuple[Session, Future[object]]] = {}

    def shown(self, session: Session, compute: Callable[[Session], T]) -> Shown[T]:
        """Return what ``compute`` makes of a session: as it is, or of the same day as it was while it is worked out anew.

        Raises
        ------
        BeingWorkedOutError
            Where nothing of the day stood before, and it takes long.
        """
        with self._lock:
            kept: Shown[T] | None = self._kept.get(compute)  # type: ignore[assignment]  # kept by what made it
            if kept is not None and kept.session is session:
                return kept
            coming = self._coming.get(compute)
            if coming is None or coming[0] is not session:
                if coming is not None:
                    coming[1].cancel()  # what has not begun is of no use any more
                coming = self._coming[compute] = (session, self._order(session, compute))
        of_today = (
            kept is not None and kept.session.today == session.today and kept.session.garden == session.garden
        )
        try:
            value: T = coming[1].result(PATIENCE_S if of_today else AT_FIRST_S)  # type: ignore[assignment]  # as above
        except (NotYetError, CancelledError):
            if kept is None or not of_today:
                raise BeingWorkedOutError from None
            return Shown(kept.session, kept.value, stale=True)
        except Exception:
            with self._lock:  # the next one who asks has it tried again
                self._coming.pop(compute, None)
            raise
        return Shown(session, value)

    def _order(self, session: Session, compute: Callable[[Session], T]) -> Future[object]:
        """Have something worked out after what was ordered before."""
        coming: Future[object] = Future()

        def work_out() -> None:
            if not coming.set_running_or_notify_cancel():
                return
            try:
                value = compute(session)
            except BaseException as error:  # noqa: BLE001 - whoever asks is told
                coming.set_exception(error)
                return
            with self._lock:
                self._kept[compute] = Shown(session, value)
            coming.set_result(value)

        self._asked.put(work_out)
        return coming

    def _work(self) -> None:
        while True:
            self._asked.get()()
            give_back()
