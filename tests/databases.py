"""SQLite databases for tests: migrated once in each process of the tests, then copied as files."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

from calendar_core.storage.engine import open_store


def migrated(file: Path) -> Path:
    """Make a file a migrated database without rows, as opening it anew would; return it."""
    file.write_bytes(_template())
    return file


@cache
def _template() -> bytes:
    """Return a database as the program makes it; the last to close it has put all it wrote into the one file."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "garden.db"
        open_store(file).close()
        return file.read_bytes()
