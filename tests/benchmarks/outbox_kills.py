"""kill -9 at 200 points of the outbox, with a second kill in the next start: counts of what arrived.

Run by hand: ``python -m tests.benchmarks.outbox_kills``. Goal: none missing, none too late, at most one repeat
a kill; a point that breaks this ends the run with what was wrong.
"""

from __future__ import annotations

import tempfile

from aiosmtpd.controller import Controller
from pytest_httpserver import HTTPServer

from alerts.delivery.mail import MailServer
from tests.alerts.conftest import MailBox, free_port
from tests.alerts.kills import starter
from tests.alerts.outbox.test_kills import killed_at, steps_in_all

POINTS = 200


def main() -> None:
    """Print how many kills there were, and how many messages came in and were repeats."""
    box, hook = MailBox(), HTTPServer(host="127.0.0.1")
    mail = Controller(box, hostname="127.0.0.1", port=free_port())
    hook.start()
    mail.start()
    hook.expect_request("/hook").respond_with_data("")
    server = MailServer("127.0.0.1", "garden@leafclock.example", mail.port, "none")
    kills = repeats = lapsed = 0
    with tempfile.TemporaryDirectory() as folder, starter() as forks:
        steps, *_ = steps_in_all(forks, f"{folder}/whole.db", server, hook)
        for point in range(POINTS):
            box.mails.clear()
            hook.clear_log()
            file, again = f"{folder}/{point}.db", 1 + point % 37
            told = killed_at((1 + point * steps // POINTS, again), file, forks, server, box, hook)
            kills, repeats, lapsed = kills + told[0], repeats + told[1], lapsed + told[2]
    print(f"{steps} steps, {POINTS} points, {kills} kills: none missing, none too late")
    print(f"{repeats} repeats, {lapsed} dropped because they lapsed meanwhile")
    mail.stop()
    hook.stop()


if __name__ == "__main__":
    main()
