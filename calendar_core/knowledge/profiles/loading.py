"""Loading of config/: every file is read and checked, and all faults are told together."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter, ValidationError

from calendar_core.knowledge.forms.aftercare import FollowUp
from calendar_core.knowledge.forms.cautions import Caution
from calendar_core.knowledge.forms.choices import Choice
from calendar_core.knowledge.forms.exposure import Exposure, exposure_faults
from calendar_core.knowledge.forms.feeding import FeedingRules, unknown_names
from calendar_core.knowledge.forms.growth import Growth
from calendar_core.knowledge.forms.hazards import Hazards
from calendar_core.knowledge.forms.operations import OPERATIONS
from calendar_core.knowledge.forms.pests import Pest
from calendar_core.knowledge.forms.places import PlaceRules
from calendar_core.knowledge.forms.review import ReviewRules
from calendar_core.knowledge.forms.show import ShowStep
from calendar_core.knowledge.forms.sources import SOURCES
from calendar_core.knowledge.forms.spacing import SpacingRules, spacing_faults
from calendar_core.knowledge.forms.species.profile import Profile
from calendar_core.knowledge.forms.warnings import WarningRules
from calendar_core.knowledge.profiles.cross_checks import (
    ProfileFault,
    cross_faults,
    profile_faults,
    unused_faults,
)
from calendar_core.knowledge.profiles.errors import KnowledgeError
from calendar_core.knowledge.profiles.kinds import KINDS, PESTS, Merged, merge, with_lines
from calendar_core.knowledge.profiles.knowledge import Knowledge

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    Tables = Mapping[str, dict[str, Any]]

SPECIES = "species"
FEEDING = "feeding.toml"
SPACING = "spacing.toml"
EXPOSURE = "exposure.toml"

_FORMS: dict[str, TypeAdapter[Any]] = {
    "operations.toml": OPERATIONS,
    "cautions.toml": TypeAdapter(dict[str, Caution]),
    "sources.toml": SOURCES,
    "hazards.toml": TypeAdapter(Hazards),
    PESTS: TypeAdapter(dict[str, Pest]),
    "choices.toml": TypeAdapter(dict[str, Choice]),
    FEEDING: TypeAdapter(FeedingRules),
    "aftercare.toml": TypeAdapter(dict[str, FollowUp]),
    "growth.toml": TypeAdapter(Growth),
    "show.toml": TypeAdapter(dict[str, ShowStep]),
    SPACING: TypeAdapter(SpacingRules),
    EXPOSURE: TypeAdapter(Exposure),
    "warnings.toml": TypeAdapter(WarningRules),
    "places.toml": TypeAdapter(PlaceRules),
    "review.toml": TypeAdapter(ReviewRules),
}
PROFILE = TypeAdapter(Profile)


def load_knowledge(config: Path, only: Collection[str] | None = None) -> Knowledge:
    """Return everything in a config folder, checked as a whole; with ``only``, of the species just these.

    Raises
    ------
    KnowledgeError
        With all faults of all files.
    """
    tables, faults = _read(config, only)
    unread = bool(faults)
    whole = merged_profiles(tables)
    parts: dict[str, Any] = {}
    for name, form in _FORMS.items():
        if name in tables:
            parts[name.removesuffix(".toml")] = _checked(form, Merged(name, tables[name]), faults)
    profiles = {Path(name).stem: _checked(PROFILE, merged, faults) for name, merged in whole.items()}
    faults += cross_faults(tables)
    right = "right would be a name that operations.toml, a stage or a kind has"
    faults += [
        ProfileFault(FEEDING, where, f"found {name!r}; {right}") for where, name in unknown_names(tables)
    ]
    if SPACING in tables and "operations.toml" in tables:
        found = spacing_faults(tables[SPACING], tables["operations.toml"])
        faults += [ProfileFault(SPACING, where, message) for where, message in found]
    if EXPOSURE in tables:
        kinds = {
            Path(name).stem: str(merged.table.get("kind")) for name, merged in whole.items() if merged.whole
        }
        found = exposure_faults(tables[EXPOSURE], kinds, all_species=only is None)
        faults += [ProfileFault(EXPOSURE, where, message) for where, message in found]
    for merged in whole.values():
        if merged.whole:
            faults += [_placed(fault, merged) for fault in profile_faults(merged.table, tables)]
    if only is None and not unread:
        faults += unused_faults(tables)
    if faults:
        raise KnowledgeError(tuple(f"{config.name}/{line}" for line in _once(faults)))
    return Knowledge.model_construct(profiles=profiles, **parts)


def merged_profiles(tables: Tables) -> dict[str, Merged]:
    """Return the whole table of every profile by its file, from the tables of all files."""
    kinds = {name: table for name, table in tables.items() if name.startswith(f"{KINDS}/")}
    return {
        name: merge(name, table, kinds, tables)
        for name, table in tables.items()
        if name.startswith(f"{SPECIES}/")
    }


def read_tables(config: Path) -> dict[str, dict[str, Any]]:
    """Return the plain tables of all files of a config folder that can be read."""
    return _read(config, None)[0]


def _checked(form: TypeAdapter[Any], merged: Merged, faults: list[ProfileFault]) -> Any:
    """Return a table in its form, or None with its faults added to ``faults``."""
    faults += [ProfileFault(*odd) for odd in merged.odd]
    if not merged.whole:
        return None
    table = with_lines(merged.table) if form is PROFILE else merged.table
    try:
        return form.validate_python(table)
    except ValidationError as error:
        details = [dict(detail) for detail in error.errors(include_url=False)]
        faults += [_placed(_fault(detail, details), merged) for detail in details]
        return None


def _read(config: Path, only: Collection[str] | None) -> tuple[dict[str, dict[str, Any]], list[ProfileFault]]:
    species = [p for p in sorted((config / SPECIES).glob("*.toml")) if only is None or p.stem in only]
    nothing = "found no profile; right would be one TOML file for each species"
    faults = [] if species or only is not None else [ProfileFault(SPECIES, (), nothing)]
    tables = {}
    for path in (*species, *sorted((config / KINDS).glob("*.toml")), *(config / name for name in _FORMS)):
        name = path.relative_to(config).as_posix()
        try:
            tables[name] = tomllib.loads(path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            faults.append(ProfileFault(name, (), "the file is missing"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            faults.append(ProfileFault(name, (), f"not a TOML file: {error}"))
    return tables, faults


def _placed(fault: ProfileFault, merged: Merged) -> ProfileFault:
    """Return a fault of a whole table where its part was written; elsewhere it names the profile it was found in."""
    file, where = merged.place(fault.where)
    if file == merged.file:
        return ProfileFault(file, where, fault.message)
    return ProfileFault(file, where, fault.message, seen_in=merged.file)


def _once(faults: Sequence[ProfileFault]) -> Iterator[str]:
    """Yield the line of each fault once, though every profile of a kind has it."""
    told = set()
    for fault in faults:
        if (key := (fault.file, fault.where, fault.message)) not in told:
            told.add(key)
            yield fault.line


def _fault(error: Mapping[str, Any], others: Sequence[Mapping[str, Any]]) -> ProfileFault:
    """Put one of pydantic's findings into our form."""
    kind, found, where = error["type"], error["input"], tuple(error["loc"])
    if kind == "missing":
        message = "missing; right would be a value here"
    elif kind == "extra_forbidden":
        message = f"found {found!r}; there is no such key, right would be {_meant(where, others)}"
    elif kind == "value_error":
        message = str(error["ctx"]["error"])
    elif kind == "string_pattern_mismatch":
        message = f"found {found!r}; right would be a month and a day, such as 03-15"
    else:
        right = error["msg"].removeprefix("Input should be ")
        message = f"found {found!r}; right would be {right}"
    return ProfileFault("", where, message)


def _meant(where: tuple[int | str, ...], others: Sequence[Mapping[str, Any]]) -> str:
    """Return what an unknown key was likely meant to be: one that is missing beside it, but for its unit."""
    key = str(where[-1])
    for other in others:
        *beside, missing = other["loc"] or ("",)
        if other["type"] == "missing" and tuple(beside) == where[:-1] and str(missing).startswith(f"{key}_"):
            return f"{missing}, with its unit"
    return "to leave it out or to spell it otherwise"
