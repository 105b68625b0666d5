"""The form of config/choices.toml: questions on which growers differ."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from calendar_core.knowledge.forms.based import Based, Strict


class Option(Based):
    """One answer to a question on which growers differ."""

    text: str


class Choice(Strict):
    """A question on which sources disagree; ``why`` explains the default."""

    question: str
    default: str
    why: str
    options: dict[str, Option]

    @model_validator(mode="after")
    def _known(self) -> Self:
        if self.default not in self.options:
            raise ValueError(f"default is '{self.default}'; right would be one of {', '.join(self.options)}")
        return self
