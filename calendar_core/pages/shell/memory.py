"""Memory that a plan took, given back after it."""

from __future__ import annotations

import ctypes
from contextlib import suppress


def give_back() -> None:
    """Have the C library give back what is free: glibc would keep most of it (malloc_trim(3)); others are asked in vain."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)
