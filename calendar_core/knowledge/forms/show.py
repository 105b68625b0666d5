"""The form of config/show.toml: work counted back from the day a tree is shown."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from calendar_core.knowledge.forms.based import Based


class ShowStep(Based):
    """Work so many days before a tree is shown."""

    days: Annotated[int, Field(ge=0, le=400)]
    how: str
