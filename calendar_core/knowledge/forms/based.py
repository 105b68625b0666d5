"""What every table of config/ is made of: no unknown keys, and a basis for each number."""

from __future__ import annotations

from typing import Self

from pydantic import BaseModel, ConfigDict, model_validator

from calendar_core.knowledge.words import Basis

MONTH_DAY = r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$"


class Strict(BaseModel):
    """A table in which an unknown key is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False, defer_build=True)


class Based(Strict):
    """A table whose numbers say what they rest on.

    ``published`` and ``fitted`` name a key of sources.toml; ``estimate`` says in a note how it was made.
    """

    basis: Basis
    source: str | None = None
    note: str | None = None

    @model_validator(mode="after")
    def _support(self) -> Self:
        if self.basis in ("published", "fitted") and not self.source:
            raise ValueError(f"basis '{self.basis}' needs a source key")
        if self.basis == "estimate" and not self.note:
            raise ValueError("basis 'estimate' needs a note that says how it was estimated")
        return self


class Quantity(Based):
    """One number."""

    value: float


class Span(Based):
    """A range of a number, ``low`` to ``high``."""

    low: float
    high: float

    @model_validator(mode="after")
    def _order(self) -> Self:
        if self.low > self.high:
            raise ValueError(f"low is {self.low:g} and high {self.high:g}; right would be low first")
        return self
