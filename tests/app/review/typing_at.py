"""A program at a real terminal: what it shows is waited for before the next key is pressed."""

from __future__ import annotations

import os
import pty
import re
import select
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
from contextlib import contextmanager

ROOT = Path(__file__).parents[3]
PROGRAM = "from calendar_core.app.main import main; main()"
SECONDS = 60.0  # for a slow machine
PAUSE_S = 0.1  # with nothing more to read a question is whole, though a colon stands in the middle of it


class Typist:
    """Reads a terminal and presses keys at it."""

    def __init__(self, terminal: int, process: subprocess.Popen[bytes]) -> None:
        self.terminal, self.process, self.shown = terminal, process, ""

    def sees(self, text: str) -> str:
        """Wait until a text is shown, and return what stood before it; the rest waits."""
        end = time.monotonic() + SECONDS
        while text not in self.shown:
            if not self._read(end):
                raise AssertionError(f"{text!r} was not shown, but {self.shown!r}")
        before, _, self.shown = self.shown.partition(text)
        return before

    def asked(self) -> str:
        """Wait until the program waits for an answer, and return the question."""
        end = time.monotonic() + SECONDS
        while not (self.shown.endswith(": ") and not self._waiting(PAUSE_S)):
            if not self._read(end):
                raise AssertionError(f"nothing was asked after {self.shown!r}")
        question, self.shown = re.split(r"[\r\n]", self.shown)[-1], ""
        return question

    def press(self, keys: str) -> None:
        """Press keys; a key of its own is taken at once, a line wants its end."""
        os.write(self.terminal, keys.encode())

    def ends(self) -> tuple[int, str]:
        """Wait for the end, and return the status and what was shown last."""
        end = time.monotonic() + SECONDS
        while self._read(end):
            pass
        return self.process.wait(SECONDS), self.shown

    def _waiting(self, seconds: float) -> bool:
        """Tell whether there is more to read within some seconds."""
        return bool(select.select([self.terminal], [], [], max(0.0, seconds))[0])

    def _read(self, end: float) -> bool:
        try:
            more = os.read(self.terminal, 4096) if self._waiting(end - time.monotonic()) else b""
        except OSError:  # the program's end of the terminal is closed
            more = b""
        self.shown += more.decode(errors="replace")
        return bool(more)


@contextmanager
def at_terminal(*words: str, folder: Path) -> Iterator[Typist]:
    """Run the program at a terminal of its own."""
    own, others = pty.openpty()
    known = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "TERM": "dumb",
        "COLUMNS": "100",
        "LEAFCLOCK_WEATHER": "off",
    }
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, *words], stdin=others, stdout=others, stderr=others, cwd=folder, env=known,
        close_fds=True, start_new_session=True,
    )  # fmt: skip
    os.close(others)
    try:
        yield Typist(own, process)
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()
        os.close(own)
