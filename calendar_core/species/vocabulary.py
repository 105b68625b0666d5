"""What sentences name: operations, and where numbers come from."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, TypeAdapter

from calendar_core.species.based import Based, PartKind, Strict

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


class Operation(Based):
    """An operation of the grower's year."""

    label: str
    done: str  # the verb that answers it, in the past tense
    weight: Annotated[int, Field(ge=0, le=3)]  # how much it takes out of a tree; 2 and more is a heavy job
    minutes: Annotated[float, Field(gt=0, le=600)]
    again_weeks: Annotated[float, Field(gt=0, le=52)] | None = None  # work that comes again within one window
    counts_as: str | None = None  # the operation whose log it shares
    makes: PartKind | None = None  # the kind of part that begins with it
    takes: Literal["wood", "leaves", "roots"] | None = None  # what cannot be put back
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


class Source(Strict):
    """Where a number comes from."""

    organisation: str
    title: str
    year: int | str
    address: str
    checked: str
    terms: str | None = None


OPERATIONS, SOURCES = TypeAdapter(dict[str, Operation]), TypeAdapter(dict[str, Source])


@dataclass(frozen=True)
class Vocabulary:
    """Operations and sources by key."""

    operations: Mapping[str, Operation]
    sources: Mapping[str, Source]


def load_vocabulary(config: Path) -> Vocabulary:
    """Return operations and sources of a config folder, not checked against its other files: `loading` does that."""
    tables = [
        tomllib.loads((config / f"{name}.toml").read_text("utf-8")) for name in ("operations", "sources")
    ]
    return Vocabulary(OPERATIONS.validate_python(tables[0]), SOURCES.validate_python(tables[1]))
