"""The form of config/sources.toml."""

from __future__ import annotations

from pydantic import TypeAdapter

from calendar_core.knowledge.forms.based import Strict


class Source(Strict):
    """Where a number comes from."""

    organisation: str
    title: str
    year: int | str
    address: str
    checked: str
    terms: str | None = None


SOURCES = TypeAdapter(dict[str, Source])
