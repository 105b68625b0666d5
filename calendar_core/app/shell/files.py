"""Files written whole or not at all."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from uuid import uuid4

from calendar_core.app.shell.errors import Refusal


def write_whole(path: Path, data: bytes) -> None:
    """Write a file beside its place and move it there."""
    part = path.parent / f".{path.name}.{uuid4().hex}"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(data)
        part.replace(path)
    except OSError as error:
        with suppress(OSError):
            part.unlink()
        raise Refusal(
            f"{path}: cannot be written ({error.strerror}); right would be a file in a folder you may write to"
        ) from None
