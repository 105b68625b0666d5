"""Breaking of files and reading of what is told of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import pytest

from calendar_core.knowledge.profiles.errors import KnowledgeError
from calendar_core.knowledge.profiles.loading import load_knowledge

if TYPE_CHECKING:
    from pathlib import Path


class Bad(NamedTuple):
    """A change of one file, added at its end where ``before`` is empty, and the start of the line it must cause."""

    what: str
    file: str
    before: str
    after: str
    line: str


def change(file: Path, before: str, after: str) -> None:
    """Replace the first ``before`` in a file, which must be there."""
    text = file.read_text(encoding="utf-8")
    assert before in text, (file.name, before)
    file.write_text(text.replace(before, after, 1), encoding="utf-8")


def add(file: Path, text: str) -> None:
    """Write at the end of a file, which is made where it is not there."""
    with file.open("a", encoding="utf-8") as out:
        out.write(text)


def breaks(config: Path, bad: Bad) -> None:
    if bad.before:
        change(config / bad.file, bad.before, bad.after)
    else:
        add(config / bad.file, bad.after)


def faults(config: Path) -> tuple[str, ...]:
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge(config)
    return caught.value.faults


def faults_of_one(config: Path) -> tuple[str, ...]:
    """Return what is told where one species alone is read: a part of what is told of all, in a quarter of the time."""
    try:
        load_knowledge(config, ["acer-palmatum"])
    except KnowledgeError as error:
        return error.faults
    return ()


def is_told(config: Path, bad: Bad) -> None:
    """Break a file, and look that a line begins as it must."""
    breaks(config, bad)
    begins = f"{config.name}/{bad.line}"
    if not any(line.startswith(begins) for line in faults_of_one(config)):
        found = faults(config)
        assert any(line.startswith(begins) for line in found), found
