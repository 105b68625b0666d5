"""Breaking of files and reading of what is told of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from calendar_core.species.loading import KnowledgeError, load_knowledge

if TYPE_CHECKING:
    from pathlib import Path


def change(file: Path, before: str, after: str) -> None:
    """Replace the first ``before`` in a file, which must be there."""
    text = file.read_text(encoding="utf-8")
    assert before in text, (file.name, before)
    file.write_text(text.replace(before, after, 1), encoding="utf-8")


def add(file: Path, text: str) -> None:
    """Write at the end of a file, which is made where it is not there."""
    with file.open("a", encoding="utf-8") as out:
        out.write(text)


def faults(config: Path) -> tuple[str, ...]:
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge(config)
    return caught.value.faults
