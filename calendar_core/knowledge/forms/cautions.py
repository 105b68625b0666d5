"""The form of config/cautions.toml."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from calendar_core.knowledge.forms.based import Based


class Caution(Based):
    """A caution, shown with the operations, species or conditions that name it.

    It is due with every operation that uses one of the tools or supplies in ``due_with``; if it is
    ``of_species``, with the works of the species whose ``toxic`` it is. Before work it speaks against it where the
    forecast reaches ``from_c`` [degC] within so many days. With a warning of cold it is due where the worst of it
    goes down to ``down_to_c`` [degC].
    """

    text: str
    from_c: float | None = None
    down_to_c: float | None = None
    within_days: Annotated[int, Field(ge=0, le=14)] = 0
    of_species: bool = False
    due_with: tuple[str, ...] = ()
