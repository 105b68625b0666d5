"""Kinds: what species have in common, written once in config/kinds; a profile says only what is its own.

A profile names its ``kind``, a kind may name the one it is ``of``. What stands nearer to the species wins:
stages, lines of ``tolerance``, ``aftercare`` and ``never`` by their key, works by their id or operation,
anything else as a whole. ``without`` leaves out works of the kind. These are plain tables, merged before they
are checked, and each part remembers the file it was written in.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    Table = Mapping[str, Any]
    Where = tuple[int | str, ...]
    Place = tuple[str, Where]  # file and key
    Works = dict[str, list[tuple[Place, Any]]]  # by id or operation

KINDS, PESTS = "kinds", "pests.toml"
KEYED = ("stages", "tolerance", "aftercare", "never")
PEST_LOOK = "pest look"
LINE_KEYS = frozenset({"line", "shift_c"})
WITH_LINES = ("work", "shelter", "shade")  # parts of a profile that may name its lines of heat and cold


@dataclass
class Merged:
    """The whole table of a profile, and where its parts were written if not in its own file.

    ``odd`` are the places and messages of what could not be merged.
    """

    file: str
    table: dict[str, Any]
    whole: bool = True  # False where a kind is missing: what hangs on it is then no fault of its own
    origin: dict[Where, Place] = field(default_factory=dict)
    odd: list[tuple[str, Where, str]] = field(default_factory=list)

    def place(self, where: Where) -> Place:
        """Return the file and key in which a key of the whole table was written."""
        for n in range(len(where), 0, -1):
            if where[:n] in self.origin:
                file, start = self.origin[where[:n]]
                return file, (*start, *where[n:])
        return self.file, where


def merge(file: str, own: Table, kinds: Mapping[str, Table], tables: Mapping[str, Table]) -> Merged:
    """Return a profile's table upon those of its kinds, with its looks for pests and the cautions for its sap.

    ``tables`` are those of all files, of which pests, cautions and operations are read.
    """
    out = Merged(file, {})
    works: Works = {}
    for name, table in _chain(out, own, kinds):
        _lay(out, name, table, works)
    _lay_pest_looks(out, tables.get(PESTS, {}), works)
    out.table["work"] = []
    for i, (place, work) in enumerate(placed for named in works.values() for placed in named):
        out.origin["work", i] = place
        out.table["work"].append(_with_caution(out, work, tables))
    out.odd += [(*out.place(where), message) for where, message in unknown_lines(out.table)]
    return out


def _chain(out: Merged, own: Table, kinds: Mapping[str, Table]) -> Iterator[tuple[str, Table]]:
    """Yield the tables to lay upon one another with their files, the most general first."""
    chain, name, key = [(out.file, own)], own.get("kind"), "kind"
    while name is not None:
        file, at = f"{KINDS}/{name}.toml", chain[-1][0]
        met = {known for known, _ in chain}
        if file not in kinds or file in met:
            right = sorted(k.removeprefix(f"{KINDS}/").removesuffix(".toml") for k in kinds.keys() - {at})
            out.odd.append((at, (key,), f"found {name!r}; right would be one of: {', '.join(right)}"))
            out.whole = False
            break
        chain.append((file, kinds[file]))
        name, key = kinds[file].get("of"), "of"
    return reversed(chain)


def _lay(out: Merged, file: str, table: Table, works: Works) -> None:
    """Lay one table upon what there is."""
    if not isinstance(table.get("without", []), list):
        out.odd.append((file, ("without",), 'right would be a list, such as ["repot"]'))
    for name in _texts(table.get("without")):
        if works.pop(name, None) is None:
            names = ", ".join(works)
            out.odd.append(
                (file, ("without",), f"found '{name}'; right would be a work of its kind: {names}")
            )
    for key, value in table.items():
        if key == "without" or (key in ("of", "label") and file.startswith(KINDS)):
            continue
        if key == "work" and isinstance(value, list):
            _lay_works(file, value, works)
        elif key == "work":
            out.odd.append((file, ("work",), "right would be tables that begin with [[work]]"))
        elif key in KEYED and isinstance(value, dict):
            _lay_keyed(out, file, key, value)
        else:
            out.table[key] = value
            out.origin[key,] = (file, (key,))


def _lay_works(file: str, value: Sequence[Any], works: Works) -> None:
    """Lay works over those of the same id or operation, whatever answer these stand for."""
    own: Works = {}
    for i, work in enumerate(value):
        name = str(work.get("id", work.get("operation"))) if isinstance(work, dict) else repr(work)
        own.setdefault(name, []).append(((file, ("work", i)), work))
    works |= own


def _lay_keyed(out: Merged, file: str, key: str, value: Mapping[str, Any]) -> None:
    """Lay a table key by key; a new stage goes behind the one above it, the first behind that it comes ``after``."""
    have = out.table.get(key)
    names = list(have) if isinstance(have, dict) else []
    at = 0
    for name, part in value.items():
        rule = part.get("after") if isinstance(part, dict) else None
        if at == 0 and isinstance(rule, dict) and rule.get("stage") in names:
            at = names.index(rule["stage"]) + 1
        if name in names:
            at = names.index(name) + 1
        else:
            names.insert(at if key == "stages" else len(names), name)
            at += 1
        out.origin[key, name] = (file, (key, name))
    both = {**(have if isinstance(have, dict) else {}), **value}
    out.table[key] = {name: both[name] for name in names}


def _lay_pest_looks(out: Merged, pests: Table, works: Works) -> None:
    for i, name in enumerate(_texts(out.table.get("pests"))):
        pest = pests.get(name)
        if not isinstance(pest, dict):
            file, where = out.place(("pests", i))
            message = f"found '{name}'; right would be one of {PESTS}: {', '.join(pests)}"
            out.odd.append((file, where, message))
            continue
        key = f"look for {name}"
        look = {k: v for k, v in pest.items() if k not in ("label", "sign", "seen_on")}
        work = {"operation": PEST_LOOK, "id": key, "due": "season", "shared": True, **look}
        works[key] = [((PESTS, (name,)), work)]


def with_lines(table: Table) -> dict[str, Any]:
    """Return a whole profile with its own lines of heat and cold in place of ``{ line = NAME, shift_c = X }``.

    ``NAME`` is a line of one value, or one of several as in ``chill.danger_c``.
    """
    return {**table, **{key: _resolved(table[key], table) for key in WITH_LINES if key in table}}


def _resolved(value: Any, table: Table) -> Any:
    if isinstance(value, list):
        return [_resolved(part, table) for part in value]
    if not isinstance(value, dict):
        return value
    if "line" not in value:
        return {key: _resolved(part, table) for key, part in value.items()}
    return _line(value, table) or 0.0  # a line that is not there is told by unknown_lines


def _line(value: Mapping[str, Any], table: Table) -> float | None:
    lines, name, shift = table.get("tolerance"), value["line"], value.get("shift_c", 0)
    name, _, key = name.partition(".") if isinstance(name, str) else ("", "", "")
    line = lines.get(name) if isinstance(lines, dict) else None
    number = line.get(key or "value") if isinstance(line, dict) else None
    known = isinstance(number, int | float) and isinstance(shift, int | float) and value.keys() <= LINE_KEYS
    return number + shift if known else None


def unknown_lines(table: Table) -> Iterator[tuple[Where, str]]:
    """Yield where a part names a line that the profile does not have, with what would be right."""
    for key in WITH_LINES:
        for where, value in _tables_with_line(table.get(key), (key,)):
            if _line(value, table) is None:
                yield (
                    where,
                    f"found {dict(value)!r}; right would be a line of [tolerance] that is one value",
                )


def _tables_with_line(value: Any, where: Where) -> Iterator[tuple[Where, Mapping[str, Any]]]:
    if isinstance(value, dict):
        if "line" in value:
            yield where, value
        for key, part in value.items():
            yield from _tables_with_line(part, (*where, key))
    elif isinstance(value, list):
        for i, part in enumerate(value):
            yield from _tables_with_line(part, (*where, i))


def _with_caution(out: Merged, work: Any, tables: Mapping[str, Table]) -> Any:
    """Add the caution for the species' sap or leaves to a work whose tools make it due."""
    toxic = out.table.get("toxic")
    caution = tables.get("cautions.toml", {}).get(str(toxic))
    if not isinstance(work, dict) or not isinstance(caution, dict):
        return work
    operation = tables.get("operations.toml", {}).get(str(work.get("operation")))
    tools = _texts(operation.get("tools")) if isinstance(operation, dict) else ()
    cautions = work.get("cautions", [])
    if (
        not isinstance(cautions, list)
        or toxic in cautions
        or not set(tools) & set(_texts(caution.get("due_with")))
    ):
        return work
    return {**work, "cautions": [*cautions, toxic]}


def _texts(value: object) -> Sequence[str]:
    return [text for text in value if isinstance(text, str)] if isinstance(value, list) else []
