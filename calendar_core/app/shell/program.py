"""The program as it was called."""

from __future__ import annotations

import sys
from pathlib import Path


def program() -> str:
    """Return the program as it was called, to be called again: ``leafclock``, or with its folder."""
    return sys.argv[0] if Path(sys.argv[0]).name == "leafclock" else "leafclock"
