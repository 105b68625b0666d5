"""The form of config/pests.toml."""

from __future__ import annotations

from calendar_core.knowledge.forms.based import Based
from calendar_core.knowledge.forms.species.anchors import Anchor


class Pest(Based):
    """A pest or disease to look for, and when."""

    label: str
    sign: str
    opens: Anchor
    closes: tuple[Anchor, ...]
    how: str
