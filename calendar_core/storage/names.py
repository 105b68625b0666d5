"""Names and labels as growers type them: one key for all spellings, and the nearest when unknown."""

from __future__ import annotations

import re
import unicodedata
from difflib import get_close_matches
from typing import TYPE_CHECKING

from calendar_core.garden.labels import plain
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Iterable


def key_of(name: str) -> str:
    """Return what is the same for every spelling of a name, whatever its case, width and spaces.

    >>> key_of("  Old  MAPLE ") == key_of("old maple")
    True
    """
    if any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in name):
        raise StoreError(f"the name {name!r} holds a control character: use letters, digits and spaces")
    key = " ".join(unicodedata.normalize("NFKC", plain(name)).casefold().split())
    if not key:
        raise StoreError("a name or label is empty: give at least one letter or digit")
    return key


def in_order(name: str) -> list[str | int]:
    """Sort key under which numbers count as numbers, the same on every database.

    >>> sorted(["Maple 10", "maple 9"], key=in_order)
    ['maple 9', 'Maple 10']
    """
    return by_number(key_of(name))


def by_number(key: str) -> list[str | int]:
    """Sort key of what `key_of` made of a name."""
    return [int(part) if part.isdecimal() else part for part in re.split(r"(\d+)", key)]


def nearest(name: str, known: Iterable[str]) -> list[str]:
    """Return the three known names most like the one given, the likest first.

    >>> nearest("mapel", ["Fig", "Maple", "Pine", "Maple 2"])[:2]
    ['Maple', 'Maple 2']
    """
    by_key = {key_of(each): each for each in known}
    return [by_key[key] for key in get_close_matches(key_of(name), by_key, n=3, cutoff=0.0)]
