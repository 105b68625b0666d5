"""Checks across the files of config/: every name exists, everything listed is used, cautions stand where due.

They read plain tables, so that they find what they can even where a table has other faults. Names that would
stand in a file which could not be read are not checked.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from calendar_core.knowledge.forms.species.stages import LEAST_SPREAD
from calendar_core.knowledge.profiles.names import plain

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    Table = Mapping[str, Any]
    Where = tuple[int | str, ...]

DORMANT = "dormant"  # the stage every profile has: the leaf fall, or first day, that begins its cycle


@dataclass(frozen=True, slots=True)
class ProfileFault:
    """Something wrong in a file of config/, at a key; ``seen_in`` is the profile that shows it, if another file's."""

    file: str
    where: Where
    message: str
    seen_in: str = ""

    @property
    def line(self) -> str:
        """File, key and message in one line.

        >>> ProfileFault("a.toml", ("work", 3, "opens"), "missing").line
        'a.toml: work[3].opens: missing'
        """
        key = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in self.where).lstrip(".")
        message = " ".join(self.message.split()) + (f" (as seen from {self.seen_in})" if self.seen_in else "")
        return ": ".join(part for part in (self.file, key, message) if part)


def cross_faults(tables: Mapping[str, Table]) -> list[ProfileFault]:
    """Return the faults between files, given every file's table by its name in the config folder."""
    faults = [
        *_known_names(tables, "source", "sources.toml"),
        *_known_pests(tables),
        *_cautions(tables),
        *_same_names(tables),
        *_aftercare(tables),
    ]
    if "operations.toml" in tables and "cautions.toml" in tables:
        faults += _due_cautions(tables)
    return faults


def profile_faults(profile: Table, tables: Mapping[str, Table]) -> list[ProfileFault]:
    """Return the faults of a whole profile, merged with its kinds, without their file."""
    faults = [*_stages(profile), *_needs(profile), *_works(profile), *_wakes(profile)]
    if "operations.toml" in tables:
        faults += _operations(profile, tables["operations.toml"])
    if "choices.toml" in tables:
        faults += _answers(profile, tables["choices.toml"])
    return faults


def unused_faults(tables: Mapping[str, Table]) -> list[ProfileFault]:
    """Return what is listed and used nowhere."""
    used: dict[str, set[str]] = {
        key: set(map(str, _values(tables, key))) for key in ("source", "choice", "kind", "of", "pests")
    }
    cautions = {str(value) for _, _, value in _named_cautions(tables)}
    listed = {
        "sources.toml": used["source"],
        "cautions.toml": cautions,
        "choices.toml": used["choice"],
        "pests.toml": used["pests"],
    }
    faults = [
        ProfileFault(file, (key,), "used nowhere; right would be to name it where it is due or to remove it")
        for file, names in listed.items()
        for key in tables.get(file, {})
        if key not in names
    ]
    kinds = [name for name in tables if name.startswith("kinds/")]
    idle = [name for name in kinds if PurePath(name).stem not in used["kind"] | used["of"]]
    return [
        *faults,
        *(ProfileFault(name, (), "no profile is of this kind; right would be to remove it") for name in idle),
    ]


def _values(tables: Mapping[str, Table], key: str) -> Iterator[object]:
    """Yield every value that stands under a key, or in a list under it."""
    for table in tables.values():
        for where, value in _leaves(table):
            if key in where[-2:]:
                yield value


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


def _unknown(name: str, where: Where, found: object, known: Collection[str]) -> ProfileFault:
    near = get_close_matches(str(found), known, n=3, cutoff=0.0)
    return ProfileFault(
        name, where, f"found {found!r}; right would be a known name, such as {', '.join(near) or 'none yet'}"
    )


def _list(table: object, key: str) -> list[Any]:
    value = table.get(key, []) if isinstance(table, dict) else []
    return value if isinstance(value, list) else []


def _keys(table: Table, key: str) -> list[str]:
    value = table.get(key)
    return list(value) if isinstance(value, dict) else []


def _tables(table: Table, key: str) -> list[tuple[int, Table]]:
    return [(i, row) for i, row in enumerate(_list(table, key)) if isinstance(row, dict)]


def _known_names(tables: Mapping[str, Table], key: str, file: str) -> Iterator[ProfileFault]:
    """Yield values under ``key`` that ``file`` does not list."""
    if file not in tables:
        return
    for name, table in tables.items():
        for where, value in _leaves(table):
            if where[-1] == key and name != file and str(value) not in tables[file]:
                yield _unknown(name, where, value, tables[file])


def _known_pests(tables: Mapping[str, Table]) -> Iterator[ProfileFault]:
    """Yield pests of kinds that are not listed, whether or not a profile has them; those of profiles the merge tells."""
    known = tables.get("pests.toml")
    for name, table in tables.items():
        for i, pest in enumerate(_list(table, "pests")):
            if known is not None and name.startswith("kinds/") and pest not in known:
                yield _unknown(name, ("pests", i), pest, known)


def _named_cautions(tables: Mapping[str, Table]) -> Iterator[tuple[str, Where, object]]:
    for name, table in tables.items():
        for where, value in _leaves(table):
            if where == ("toxic",) or (len(where) > 1 and where[-2] == "cautions"):
                yield name, where, value


def _cautions(tables: Mapping[str, Table]) -> Iterator[ProfileFault]:
    known = tables.get("cautions.toml")
    if known is not None:
        for name, where, value in _named_cautions(tables):
            if value not in known:
                yield _unknown(name, where, value, known)


def _same_names(tables: Mapping[str, Table]) -> Iterator[ProfileFault]:
    owner: dict[str, str] = {}
    for name, table in tables.items():
        if not name.startswith("species/"):
            continue
        names = [PurePath(name).stem, table.get("common"), table.get("latin"), *_list(table, "also")]
        for alias in sorted({plain(str(n)) for n in names if n}):
            if owner.setdefault(alias, name) != name:
                yield ProfileFault(
                    name,
                    ("also",),
                    f"found '{alias}', which {owner[alias]} answers to; right would be one profile for a name",
                )


def _aftercare(tables: Mapping[str, Table]) -> Iterator[ProfileFault]:
    """Yield operations that begin or end a follow-up and are not known."""
    known = tables.get("operations.toml")
    for where, value in _leaves(tables.get("aftercare.toml", {})):
        named = where[-2:-1] == ("after",) or where[-1] == "does"
        if known is not None and named and value not in known:
            yield _unknown("aftercare.toml", where, value, known)


def _stages(table: Table) -> Iterator[ProfileFault]:
    order = _keys(table, "stages")
    for where, other in _leaves(table.get("stages"), ("stages",)):
        if where[-1] != "stage" or len(where) < 4:
            continue
        _, key, rule, *_ = where
        if other not in order:
            yield _unknown("", where, other, order)
        elif other == key or (order.index(str(other)) < order.index(str(key))) != (rule == "after"):
            side = "above" if rule == "after" else "below"
            yield ProfileFault(
                "", where, f"found '{other}'; right would be a stage that stands {side} this one"
            )


def _needs(table: Table) -> Iterator[ProfileFault]:
    """Yield needs less than one that stands before them, and such as claim to be known too well."""
    most: tuple[float, str] = (0.0, "")
    for key in _keys(table, "stages"):
        stage = table["stages"][key]
        need = stage.get("need") if isinstance(stage, dict) else None
        if not isinstance(need, dict):
            continue
        heat, spread, least = need.get("ln_heat"), need.get("spread"), _least_spread(need.get("of"))
        if isinstance(heat, int | float):
            if heat < most[0]:
                message = f"found {heat:g}; right would be at least the {most[0]:g} of {most[1]}, which comes before it"
                yield ProfileFault("", ("stages", key, "need", "ln_heat"), message)
            most = max(most, (float(heat), key))
        if isinstance(spread, int | float) and least is not None and spread < least:
            message = f"found {spread:g}; right would be {least:g} or more for a need known of '{need['of']}'"
            yield ProfileFault("", ("stages", key, "need", "spread"), message)


def _least_spread(kin: object) -> float | None:
    return next((least for known, least in LEAST_SPREAD.items() if known == kin), None)


def _works(table: Table) -> Iterator[ProfileFault]:
    known = [*_keys(table, "stages"), DORMANT]
    seen: dict[str, list[object]] = {}
    for i, work in _tables(table, "work"):
        name, when = str(work.get("id", work.get("operation"))), work.get("when")
        others = seen.setdefault(name, [])
        if others and (when is None or None in others or when in others):
            message = f"found '{name}' twice; right would be an id of its own for each window"
            yield ProfileFault("", ("work", i, "id"), message)
        others.append(when)
        for where, value in _leaves(work, ("work", i)):
            if where[-1] in ("stage", "fed_since", "after_stage", "before_stage") and value not in known:
                yield _unknown("", where, value, known)
            if "growth_stop" not in known and (
                "before_first_frost" in where[-2:] or where[-1] == "releaf_weeks"
            ):
                yield ProfileFault(
                    "", where, "hangs on stages.growth_stop; right would be a profile that has it"
                )


def _wakes(table: Table) -> Iterator[ProfileFault]:
    """Yield stages that are to call a tree out of its shelter and are not known."""
    known = _keys(table, "stages")
    for where, value in _leaves(_list(table, "shelter"), ("shelter",)):
        if where[-1] == "wakes" and value not in known:
            yield _unknown("", where, value, known)


def _operations(table: Table, known: Table) -> Iterator[ProfileFault]:
    """Yield works of unknown operations, and of such as are never done to the kind."""
    never = _keys(table, "never")
    for name in never:
        if name not in known:
            yield _unknown("", ("never", name), name, known)
    for where, value in _leaves(_list(table, "work"), ("work",)):
        if where[-1] in ("operation", "after", "since") and value not in known:
            yield _unknown("", where, value, known)
    for i, work in _tables(table, "work"):
        if work.get("operation") in never:
            message = (
                f"found '{work['operation']}', which is never done to a {table.get('kind')}, see never; "
                "right would be no such work, or another kind"
            )
            yield ProfileFault("", ("work", i, "operation"), message)


def _answers(table: Table, choices: Table) -> Iterator[ProfileFault]:
    for part in ("work", "shelter", "shade"):
        for where, value in _leaves(_list(table, part), (part,)):
            if where[-2:] == ("when", "choice") and value not in choices:
                yield _unknown("", where, value, choices)
        for where, when in _whens(_list(table, part), (part,)):
            choice = choices.get(str(when.get("choice")))
            options = _keys(choice, "options") if isinstance(choice, dict) else []
            if options and when.get("option") not in options:
                yield _unknown("", (*where, "option"), when.get("option"), options)


def _whens(value: object, where: Where) -> Iterator[tuple[Where, Table]]:
    if isinstance(value, dict):
        for key, part in value.items():
            if key == "when" and isinstance(part, dict):
                yield (*where, key), part
            yield from _whens(part, (*where, key))
    elif isinstance(value, list):
        for index, part in enumerate(value):
            yield from _whens(part, (*where, index))


def _due_cautions(tables: Mapping[str, Table]) -> Iterator[ProfileFault]:
    """Yield cautions that operations lack though they use the tools; those of species are added by the merge."""
    for key, caution in tables["cautions.toml"].items():
        if not isinstance(caution, dict) or caution.get("of_species"):
            continue
        tools = set(_list(caution, "due_with"))
        for op, table in tables["operations.toml"].items():
            if tools & set(_list(table, "tools")) and key not in _list(table, "cautions"):
                message = f"'{key}' is due here and missing; right would be to list it"
                yield ProfileFault("operations.toml", (op, "cautions"), message)
