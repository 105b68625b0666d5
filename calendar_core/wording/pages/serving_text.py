"""Words of the service in its journal, and of the file by which a machine's supervisor runs it."""

from __future__ import annotations

SERVING: dict[str, str] = {
    "made": "made {file}: a new database, without a garden",
    "at": "serving {file} at {address}",
    "begin": "there is no garden yet: found one at {address}",
    "bare": "other machines reach these pages without TLS: whoever is on the way can read them, and the key; "
    "three ways to put it in front: leafclock about serving",
    "named": "others reach these pages through a program on this machine, which has to speak TLS; see: leafclock about serving",
    "stopped": "stopped",
}

UNIT: dict[str, str] = {
    "what": "Leafclock: pages, calendar and warnings of a garden",
    "install": "Kept as ~/.config/systemd/user/leafclock.service, then: systemctl --user enable --now leafclock",
    "linger": "To run while nobody is logged in: loginctl enable-linger",
    "settings": "Settings such as LEAFCLOCK_SMTP, one NAME=VALUE a line, readable by you alone: ~/.config/leafclock/environment",
    "folder": "The folder has to be there first: mkdir -p {folder}",
    "url": "The database's address stands there as well, since it may hold a password: LEAFCLOCK_DB=...",
}
