"""What sentences need of config/: what operations are called and where numbers come from; far less than all knowledge."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class Term:
    """What an operation is called, and the verb that answers it."""

    label: str
    done: str


@dataclass(frozen=True, slots=True)
class Citation:
    """Where a number comes from, as it is named beside it."""

    organisation: str
    title: str
    year: int | str


@dataclass(frozen=True, slots=True)
class Terms:
    """Operations and sources by key."""

    operations: Mapping[str, Term]
    sources: Mapping[str, Citation]


def load_terms(config: Path) -> Terms:
    """Return the terms of a config folder as they stand; `loading` checks them with all else."""
    return Terms(_read(Term, config / "operations.toml"), _read(Citation, config / "sources.toml"))


def _read(kind: type[Any], file: Path) -> dict[str, Any]:
    names = [field.name for field in fields(kind)]
    tables = tomllib.loads(file.read_text("utf-8"))
    return {key: kind(**{name: table[name] for name in names}) for key, table in tables.items()}
