"""A sender that is killed at its n-th step, and started again until all is sent.

A step is a statement, a commit, or the begin or end of a delivery. Run as a program it waits for orders on
standard input, one JSON a line, forks for each, and answers how the child ended: so that the imports are
paid once. Only here, never in the program, does anything know of kills.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

from sqlalchemy import event

from alerts.delivery.carrier import Carrier
from alerts.delivery.hook import new_secret
from alerts.delivery.mail import MailServer
from alerts.notices import Channel, Message, Notice, Result
from alerts.outbox import queue, standing
from alerts.outbox.channels import add_channel
from alerts.outbox.sending import send_due
from calendar_core.garden.model import Garden, MonthDay
from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import IO

    from calendar_core.storage.engine import Store

START = datetime.fromisoformat("2015-06-25T01:00:00+00:00")
LATER = queue.LEASE + timedelta(seconds=1)
"""Between one start and the next: the lease of who was killed is over."""
ACTIONS: tuple[Any, ...] = ("new", "update", "withdraw")


def found_garden(store: Store, host: str, hook_port: int) -> tuple[UUID, list[Channel]]:
    """Store an invented garden with a mail channel and a web hook; return its id and the channels."""
    zone, fall, cold = "America/Los_Angeles", MonthDay(11, 9), MonthDay(12, 17)
    garden = Garden(uuid4(), "Court", "Seattle", 47.45, -122.31, 130.0, zone, "metric", fall, cold)
    hook = f"http://{host}:{hook_port}/hook"
    channels = [
        Channel(uuid4(), garden.id, "mail", "ines@leafclock.example"),
        Channel(uuid4(), garden.id, "hook", hook, new_secret(), private_ok=True),
    ]
    with store.begin() as connection:
        gardens.add_garden(connection, garden)
        for channel in channels:
            add_channel(connection, channel)
    return garden.id, channels


def notices() -> list[Notice]:
    """Return three revisions of a warning that lasts, and a warning that lapses while kills go on."""
    lasting, brief = UUID(int=1), UUID(int=2)
    long, short = START + timedelta(days=2), START + timedelta(minutes=8)
    made = [
        Notice(lasting, n, action, "Severe", START, long, f"lasting {n}", "Into the shade.")
        for n, action in enumerate(ACTIONS, start=1)
    ]
    return [*made, Notice(brief, 1, "new", "Minor", START, short, "brief 1", "Water.")]


def run_once(order: dict[str, Any]) -> None:
    """Announce what is to be announced, then send: killed at the n-th step of it."""
    left = order["kill_at"]

    def step(*_: object) -> None:
        nonlocal left
        left -= 1
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)

    store, now = open_store(order["database"]), datetime.fromisoformat(order["now"])
    event.listen(store.engine, "before_cursor_execute", step)
    event.listen(store.engine, "commit", step)
    carrier = Carrier(MailServer("127.0.0.1", "garden@leafclock.example", order["smtp"], "none"), lambda: now)

    def deliver(message: Message) -> Result:
        step()
        result = carrier(message)
        step()
        return result

    garden = UUID(order["garden"])
    for notice in [notices()[number] for number in order["announce"]]:
        state: Any = "withdrawn" if notice.action == "withdraw" else "active"
        head = (notice.warning_id, garden, "heat", notice.severity, notice.onset, notice.expires, state)
        with store.begin() as connection:
            warning = standing.StandingWarning(*head, notice.revision, {}, now)
            standing.announce(connection, warning, notice, now)
    send_due(store, deliver, f"{os.getpid()}", lambda: now)
    store.close()
    print(json.dumps({"unused": left}), flush=True)


def serve() -> None:
    """Fork a child for each order; say whether it was killed."""
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            run_once(json.loads(line))
            os._exit(0)
        _, status = os.waitpid(child, 0)
        print(json.dumps({"killed": os.WIFSIGNALED(status), "code": status}), flush=True)


class Starter:
    """Gives orders to the program above."""

    def __init__(self, orders: IO[str], answers: IO[str]) -> None:
        self._orders, self._answers = orders, answers

    def run(self, **order: Any) -> tuple[bool, int]:
        """Return whether the child was killed, and how many steps before its kill it ended."""
        print(json.dumps(order), file=self._orders, flush=True)
        unused, answer = 0, json.loads(self._answers.readline())
        if "unused" in answer:
            unused, answer = answer["unused"], json.loads(self._answers.readline())
        assert answer["killed"] or answer["code"] == 0, answer
        return answer["killed"], unused


PHASES = ([0, 3], [1], [2])
"""What each start announces before it sends: the new warnings, the update, the withdrawal."""
FREE = 10**9


@dataclass
class Season:
    """One run through the phases; a kill at the n-th step of all, and one at a step of the next start."""

    starter: Starter
    database: str
    garden: UUID
    smtp: int
    kills: int = 0
    steps: int = 0

    def run(self, kill_at: int, again_at: int = 1) -> None:
        """Start again after each kill, with the clock moved past the lease."""
        now, left = START, kill_at
        for announce in PHASES:
            killed, unused = self._start(announce, now, left)
            left = unused if not killed else FREE
            for next_kill in (again_at, FREE):
                if killed:
                    now += LATER
                    killed, _ = self._start(announce, now, next_kill)

    def _start(self, announce: list[int], now: datetime, kill_at: int) -> tuple[bool, int]:
        killed, unused = self.starter.run(
            database=self.database,
            garden=str(self.garden),
            smtp=self.smtp,
            announce=announce,
            now=now.isoformat(),
            kill_at=kill_at,
        )
        self.kills += killed
        self.steps += 0 if killed else kill_at - unused
        return killed, unused


@contextmanager
def starter() -> Iterator[Starter]:
    """Run the program that forks senders."""
    command = [sys.executable, "-m", "tests.alerts.kills"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as program:
        assert program.stdin is not None
        assert program.stdout is not None
        yield Starter(program.stdin, program.stdout)
        program.stdin.close()


if __name__ == "__main__":
    serve()
