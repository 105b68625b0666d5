"""Values that pass between what is typed about a look and the log."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from uuid import UUID

    from calendar_core.garden.model import EntryKind

Value = str | float


@dataclass(frozen=True)
class Draft:
    """An entry before it has an id: what it says, and the answers it stands for."""

    kind: EntryKind
    data: Mapping[str, Any]
    answers: Mapping[str, Value]
    parts: tuple[UUID, ...] = ()


@dataclass(frozen=True)
class Note:
    """What follows from an answer and does not show in the plan: a code of its sentence, and what is filled in."""

    code: str
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Decided:
    """A decision as it was understood: of what (``key``), which (``value``), and what it writes.

    ``ends`` where the tree is no longer the grower's after it.
    """

    key: str
    value: str
    drafts: tuple[Draft, ...]
    notes: tuple[Note, ...] = ()
    ends: bool = False
