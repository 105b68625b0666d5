"""Loading of config/: every file is read and checked, and all faults are told together."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from calendar_core.species.cross_checks import Fault, cross_faults
from calendar_core.species.schema import Caution, Hazards, Knowledge, Operation, Profile, Source

OPERATIONS, CAUTIONS, SOURCES, HAZARDS = "operations.toml", "cautions.toml", "sources.toml", "hazards.toml"
SPECIES = "species"

_FORMS: dict[str, TypeAdapter[Any]] = {
    OPERATIONS: TypeAdapter(dict[str, Operation]),
    CAUTIONS: TypeAdapter(dict[str, Caution]),
    SOURCES: TypeAdapter(dict[str, Source]),
    HAZARDS: TypeAdapter(Hazards),
    SPECIES: TypeAdapter(Profile),
}


class KnowledgeError(ValueError):
    """Faults in config/, one line each in ``faults``: file, key, what was found, what would be right."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


def load_knowledge(config: Path) -> Knowledge:
    """Return everything in a config folder, checked as a whole.

    Raises
    ------
    KnowledgeError
        With all faults of all files.
    """
    tables, faults = _read(config)
    parts: dict[str, Any] = {}
    for name, table in tables.items():
        try:
            parts[name] = _form(name).validate_python(table)
        except ValidationError as error:
            faults += [_fault(name, dict(one)) for one in error.errors(include_url=False)]
    faults += cross_faults(tables)
    if faults:
        raise KnowledgeError(tuple(f"{config.name}/{fault.line}" for fault in faults))
    return Knowledge(
        profiles={Path(name).stem: part for name, part in parts.items() if name.startswith(SPECIES)},
        operations=parts[OPERATIONS],
        cautions=parts[CAUTIONS],
        sources=parts[SOURCES],
        hazards=parts[HAZARDS],
    )


def _form(name: str) -> TypeAdapter[Any]:
    return _FORMS[name if name in _FORMS else SPECIES]


def _read(config: Path) -> tuple[dict[str, dict[str, Any]], list[Fault]]:
    species = sorted((config / SPECIES).glob("*.toml"))
    faults = (
        []
        if species
        else [Fault(SPECIES, (), "found no profile; right would be one TOML file for each species")]
    )
    tables = {}
    for path in (*species, *(config / name for name in (OPERATIONS, CAUTIONS, SOURCES, HAZARDS))):
        name = path.relative_to(config).as_posix()
        try:
            tables[name] = tomllib.loads(path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            faults.append(Fault(name, (), "the file is missing"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            faults.append(Fault(name, (), f"not a TOML file: {error}"))
    return tables, faults


def _fault(name: str, error: dict[str, Any]) -> Fault:
    """Put one of pydantic's findings into our form."""
    kind, found = error["type"], error["input"]
    if kind == "missing":
        message = "missing; right would be a value here"
    elif kind == "extra_forbidden":
        message = (
            f"found {found!r}; there is no such key, right would be to leave it out or to spell it otherwise"
        )
    elif kind == "value_error":
        message = str(error["ctx"]["error"])
    else:
        right = error["msg"].removeprefix("Input should be ")
        message = f"found {found!r}; right would be {right}"
    return Fault(name, tuple(error["loc"]), message)
