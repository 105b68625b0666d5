"""The service file by which systemd runs the pages day and night, for one's own account."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from calendar_core.app.shell.session import default_database
from calendar_core.wording.pages.serving_text import UNIT
from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

# Source: systemd.exec(5). What the service never needs: more rights, other people's files, devices, odd networks.
HARDENED = (
    "NoNewPrivileges=yes",
    "ProtectSystem=strict",
    "ProtectHome=read-only",
    "PrivateTmp=yes",
    "ProtectKernelTunables=yes",
    "ProtectControlGroups=yes",
    "RestrictAddressFamilies=AF_UNIX AF_INET AF_INET6",
    "RestrictNamespaces=yes",
    "RestrictRealtime=yes",
    "RestrictSUIDSGID=yes",
    "LockPersonality=yes",
    "SystemCallArchitectures=native",
    "UMask=0077",
)
STOPS_S = 60  # given to answers and jobs before they are ended by force (estimate: a slow weather service)


def service_file(words: Sequence[str], db: str | None) -> str:
    """Return the service file that runs ``leafclock serve`` with some words on a database."""
    return "\n".join(_lines(list(words), db)) + "\n"


def _lines(words: list[str], db: str | None) -> Iterator[str]:
    say = Style().say
    named = db if db is not None else str(default_database())
    yield f"# {say(UNIT['install'])}"
    yield f"# {say(UNIT['linger'])}"
    yield f"# {say(UNIT['settings'])}"
    folder = None
    if "://" in named:
        yield f"# {say(UNIT['url'])}"
    else:
        file = Path(named).expanduser().resolve()
        words, folder = [*words, "--db", str(file)], file.parent
        if not folder.is_dir():
            yield f"# {say(UNIT['folder'], folder=folder)}"
    yield "[Unit]"
    yield f"Description={say(UNIT['what'])}"
    yield ""
    yield "[Service]"
    yield f"ExecStart={' '.join(quoted(word) for word in (*_program(), 'serve', *words))}"
    yield "EnvironmentFile=-%E/leafclock/environment"
    yield "Restart=on-failure"
    yield "RestartSec=10"
    yield f"TimeoutStopSec={STOPS_S}"
    yield from HARDENED
    if folder is not None:
        yield f"ReadWritePaths={quoted(str(folder))}"
    yield ""
    yield "[Install]"
    yield "WantedBy=default.target"


def _program() -> tuple[str, ...]:
    """Return how this program is called, wherever one stands."""
    called = Path(sys.argv[0])
    if called.is_file() and called.suffix != ".py":
        return (str(called.resolve()),)
    return (sys.executable, "-m", "calendar_core")


def quoted(word: str) -> str:
    r"""Return a word as systemd reads it back: its percent and dollar signs stand for nothing.

    >>> print(quoted("/home/me/my garden.db"), quoted("50%"), quoted("plain"))
    "/home/me/my garden.db" 50%% plain
    """
    safe = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%").replace("$", "$$")
    return f'"{safe}"' if safe != word.replace("%", "%%") or " " in word or not word else safe
