"""Checks across the files of config/: every name exists, everything listed is used, cautions stand where due.

They read plain tables, so that they find what they can even where a table has other faults.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from calendar_core.species.names import plain

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    Table = Mapping[str, Any]
    Where = tuple[int | str, ...]

DORMANT = "dormant"  # the stage every profile has: the leaf fall, or first day, that begins its cycle


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong in a file of config/, at a key."""

    file: str
    where: Where
    message: str

    @property
    def line(self) -> str:
        """File, key and message in one line.

        >>> Fault("a.toml", ("work", 3, "opens"), "missing").line
        'a.toml: work[3].opens: missing'
        """
        key = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in self.where).lstrip(".")
        return ": ".join(part for part in (self.file, key, " ".join(self.message.split())) if part)


def cross_faults(tables: Mapping[str, Table]) -> list[Fault]:
    """Return the faults between files, given every file's table by its name in the config folder.

    Names that would stand in a file which could not be read are not checked.
    """
    species = {name: table for name, table in tables.items() if name.startswith("species/")}
    faults = [*_sources(tables), *_cautions(tables, species), *_same_names(species)]
    for name, table in species.items():
        faults += [*_stages(name, table), *_works(name, table)]
        if "operations.toml" in tables:
            faults += _operations(name, table, tables["operations.toml"])
    if "operations.toml" in tables and "cautions.toml" in tables:
        faults += _due_cautions(species, tables["operations.toml"], tables["cautions.toml"])
    return faults


def _leaves(value: object, where: Where = ()) -> Iterator[tuple[Where, object]]:
    """Yield every value below a table with its place."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from _leaves(part, (*where, key))
    elif isinstance(value, list):
        for index, part in enumerate(value):
            yield from _leaves(part, (*where, index))
    else:
        yield where, value


def _unknown(name: str, where: Where, found: object, known: Collection[str]) -> Fault:
    near = get_close_matches(str(found), known, n=3, cutoff=0.0)
    return Fault(
        name, where, f"found {found!r}; right would be a known name, such as {', '.join(near) or 'none yet'}"
    )


def _list(table: object, key: str) -> list[Any]:
    value = table.get(key, []) if isinstance(table, dict) else []
    return value if isinstance(value, list) else []


def _keys(table: Table, key: str) -> list[str]:
    value = table.get(key)
    return list(value) if isinstance(value, dict) else []


def _tables(table: Table, key: str) -> list[tuple[int, Table]]:
    return [(i, one) for i, one in enumerate(_list(table, key)) if isinstance(one, dict)]


def _sources(tables: Mapping[str, Table]) -> Iterator[Fault]:
    known = tables.get("sources.toml")
    if known is None:
        return
    used = set()
    for name, table in tables.items():
        for where, value in _leaves(table):
            if name != "sources.toml" and where[-1] == "source":
                used.add(value)
                if value not in known:
                    yield _unknown(name, where, value, known)
    for key in known:
        if key not in used:
            yield Fault("sources.toml", (key,), "used nowhere; right would be to cite it or to remove it")


def _cautions(tables: Mapping[str, Table], species: Mapping[str, Table]) -> Iterator[Fault]:
    known = tables.get("cautions.toml")
    if known is None:
        return
    used = set()
    for name, table in {**species, "operations.toml": tables.get("operations.toml", {})}.items():
        for where, value in _leaves(table):
            if where == ("toxic",) or (len(where) > 1 and where[-2] == "cautions"):
                used.add(value)
                if value not in known:
                    yield _unknown(name, where, value, known)
    for key in known:
        if key not in used:
            yield Fault("cautions.toml", (key,), "used nowhere; right would be to name it where it is due")


def _same_names(species: Mapping[str, Table]) -> Iterator[Fault]:
    owner: dict[str, str] = {}
    for name, table in species.items():
        names = [PurePath(name).stem, table.get("common"), table.get("latin"), *_list(table, "also")]
        for one in sorted({plain(str(n)) for n in names if n}):
            if owner.setdefault(one, name) != name:
                yield Fault(
                    name,
                    ("also",),
                    f"found '{one}', which {owner[one]} answers to; right would be one profile for a name",
                )


def _stages(name: str, table: Table) -> Iterator[Fault]:
    order = _keys(table, "stages")
    for where, other in _leaves(table.get("stages"), ("stages",)):
        if where[-1] != "stage":
            continue
        _, key, rule, *_ = where
        if other not in order:
            yield _unknown(name, where, other, order)
        elif (order.index(str(other)) < order.index(str(key))) != (rule == "after"):
            side = "above" if rule == "after" else "below"
            yield Fault(name, where, f"found '{other}'; right would be a stage that stands {side} this one")


def _works(name: str, table: Table) -> Iterator[Fault]:
    known = [*_keys(table, "stages"), DORMANT]
    seen: set[str] = set()
    for i, work in _tables(table, "work"):
        key = str(work.get("id", work.get("operation")))
        if key in seen:
            yield Fault(
                name,
                ("work", i, "id"),
                f"found '{key}' twice; right would be an id of its own for each window",
            )
        seen.add(key)
        for where, value in _leaves(work, ("work", i)):
            if where[-1] in ("stage", "fed_since", "after_stage") and value not in known:
                yield _unknown(name, where, value, known)
            if "growth_stop" not in known and (
                where[-2] == "before_first_frost" or where[-1] == "releaf_weeks"
            ):
                yield Fault(name, where, "hangs on stages.growth_stop; right would be a profile that has it")


def _operations(name: str, table: Table, known: Table) -> Iterator[Fault]:
    for where, value in _leaves(_list(table, "work"), ("work",)):
        if where[-1] in ("operation", "after") and value not in known:
            yield _unknown(name, where, value, known)


def _due_cautions(species: Mapping[str, Table], operations: Table, cautions: Table) -> Iterator[Fault]:
    """Yield cautions missing where their tools are used; of a toxic species, in the works of that species."""
    toxic = {str(table.get("toxic")) for table in species.values()}
    for key, caution in cautions.items():
        tools = set(_list(caution, "due_with"))
        with_tools = {op for op, table in operations.items() if tools & set(_list(table, "tools"))}
        if key not in toxic:
            for op in sorted(with_tools):
                if key not in _list(operations[op], "cautions"):
                    yield _missing("operations.toml", (op,), key)
            continue
        for name, table in species.items():
            for i, work in _tables(table, "work"):
                due = table.get("toxic") == key and work.get("operation") in with_tools
                if due and key not in _list(work, "cautions"):
                    yield _missing(name, ("work", i), key)


def _missing(name: str, where: Where, caution: str) -> Fault:
    return Fault(
        name, (*where, "cautions"), f"'{caution}' is due here and missing; right would be to list it"
    )
