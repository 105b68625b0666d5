"""What was entered in a form, to be read and, where it is refused, shown again."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated
from uuid import UUID, uuid5

from fastapi import Depends, Request

from calendar_core.app.shell.errors import Refusal
from calendar_core.pages.shell.access import TOKEN

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

ENTRY_ID = "entry_id"
UNSAID = (TOKEN, ENTRY_ID, "yes", "back")
"""Fields that say nothing of what is written down."""
OPTION = re.compile(r"(?<!\w)--([a-z])")


@dataclass(frozen=True)
class Entered:
    """The texts of a form by the names of their fields, as they were sent; ``trimmed`` of blanks where they are read."""

    texts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def one(self, name: str, default: str = "") -> str:
        """Return the text of a field, without the blanks around it."""
        return self.texts[name][-1].strip() if self.texts.get(name) else default

    def every(self, name: str) -> tuple[str, ...]:
        """Return the texts of a field that may come again."""
        return tuple(text.strip() for text in self.texts.get(name, ()))

    def ids(self, name: str) -> list[UUID]:
        """Return the ids of a field. Raises Refusal for what is none."""
        try:
            return [UUID(text) for text in self.every(name)]
        except ValueError:
            raise Refusal("the form names what is not there; right would be the page as it is now") from None

    @property
    def entry_id(self) -> UUID | None:
        """The id under which this is written down, None where the form brought none.

        It is made of the id that came with the form and of what the form says: sent again, it is the same; shown again by
        the browser and filled in otherwise, it is another.
        """
        sent = self.ids(ENTRY_ID) if self.one(ENTRY_ID) else []
        said = sorted((name, texts) for name, texts in self.texts.items() if name not in UNSAID)
        return uuid5(sent[-1], repr(said)) if sent else None

    def pairs(self, name: str, value: str) -> list[str]:
        """Return two fields that come again together as "name=value", without those that are left empty."""
        both = zip(self.every(name), self.every(value), strict=False)
        return [f"{what}={size}" for what, size in both if what and size]


async def _read(request: Request) -> Entered:
    texts: dict[str, list[str]] = {}
    for name, text in (await request.form()).multi_items():
        if isinstance(text, str):
            texts.setdefault(name, []).append(text)
    return Entered({name: tuple(some) for name, some in texts.items()})


Sent = Annotated[Entered, Depends(_read)]


def without_options(lines: Sequence[str]) -> list[str]:
    """Return lines of a refusal with the names of fields, where it names options of the command line.

    >>> without_options(["--share 200: right would be less", "a--b"])
    ['share 200: right would be less', 'a--b']
    """
    return [OPTION.sub(r"\1", line) for line in lines]
