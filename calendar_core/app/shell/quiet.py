"""Keeping the solver's library quiet: some of its releases print lines of their own, amid what the program prints."""

from __future__ import annotations

import ctypes
import os
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

STDOUT = 1


@contextmanager
def quiet_library() -> Iterator[None]:
    """Lead what libraries write to the standard output of this process nowhere; Python should write nothing inside."""
    kept, nowhere = os.dup(STDOUT), os.open(os.devnull, os.O_WRONLY)
    try:
        _flush()
        os.dup2(nowhere, STDOUT)
        yield
    finally:
        _flush()
        os.dup2(kept, STDOUT)
        os.close(nowhere)
        os.close(kept)


def _flush() -> None:
    """Write out what the C library holds back, where it can be reached."""
    with suppress(OSError, TypeError, AttributeError):
        ctypes.CDLL(None).fflush(None)
