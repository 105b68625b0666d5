"""Which schema this program writes, and where a database says which one it has."""

from __future__ import annotations

HEAD = "0016"  # the newest migration; four digits, so that a higher number is a newer program's
VERSION_TABLE = "leafclock_version"
