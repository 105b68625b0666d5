"""The form of config/pests.toml."""

from __future__ import annotations

from calendar_core.species.anchor_rules import Anchor
from calendar_core.species.based import Based


class Pest(Based):
    """A pest or disease to look for, and when."""

    label: str
    sign: str
    opens: Anchor
    closes: tuple[Anchor, ...]
    how: str
