"""The form of config/pests.toml."""

from __future__ import annotations

from calendar_core.knowledge.forms.based import Based
from calendar_core.knowledge.forms.species.anchors import Anchor
from calendar_core.knowledge.words import PestPlace


class Pest(Based):
    """A pest or disease to look for, and when."""

    label: str
    sign: str
    seen_on: tuple[PestPlace, ...]
    opens: Anchor
    closes: tuple[Anchor, ...]
    how: str
