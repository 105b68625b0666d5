"""What speaks against a cut on parts that are to stay: they grow free, or are kept as backups."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.items import Reason

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from calendar_core.garden.parts import Part

CUTS = ("wood", "leaves")  # what work takes of a part that it should have kept
GROWN_FOR = ("sever graft", "separate air layer")
"""Work that a part grew free for."""


def kept(parts: Iterable[Part], operation: str, takes: str | None, on: date) -> tuple[Reason, ...]:
    """Return what speaks against work on some parts, after what had been said of them by a day."""
    if takes not in CUTS or operation in GROWN_FOR:
        return ()
    said = [part for part in parts if part.directed is not None and part.directed <= on]
    return tuple(
        Reason("grows_free" if part.directive == "grow free" else "kept_backup", found=part.name)
        for part in said
        if part.directive in ("grow free", "keep as backup")
    )
