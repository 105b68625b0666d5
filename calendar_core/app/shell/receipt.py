"""What was written, in the words that tell of it, and the entries by which it is taken back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from uuid import UUID


@dataclass(frozen=True)
class Receipt:
    """What a use case wrote: what it ``told``, the ``notes`` to that, and its ``entries``, which can be voided."""

    told: tuple[str, ...]
    notes: tuple[str, ...] = ()
    entries: tuple[UUID, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """All sentences, what was written first."""
        return (*self.told, *self.notes)
