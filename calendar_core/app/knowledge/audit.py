"""What the numbers in config/ rest on, and which of the weak ones decide most."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from calendar_core.app.shell.progress import progress
from calendar_core.app.shell.session import knowledge
from calendar_core.knowledge.profiles.answers import as_answered, with_defaults
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.profiles.kinds import Merged, with_lines
from calendar_core.knowledge.profiles.loading import PROFILE, merged_profiles, read_tables
from calendar_core.knowledge.profiles.numbers import WEAK, Number, numbers, shares
from calendar_core.planning.planner import chances_over
from calendar_core.planning.sensitivity import Influence, Sensitivity
from calendar_core.wording.knowledge.audit_text import AUDIT
from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.app.knowledge.outlook import Outlook
    from calendar_core.knowledge.forms.species.profile import Profile


@dataclass(frozen=True)
class Weak:
    """A number that rests on little: where it stands, and what its doubt does over the species that share it."""

    file: str
    key: str
    number: Number
    days: float
    windows: int
    species: int


def shares_of_all() -> dict[str, float]:
    """Return which share of the numbers of all profiles rests on what; one that species share counts for each."""
    whole = merged_profiles(read_tables(folder("config"))).values()
    return shares(number for merged in whole for number in numbers(merged.table))


class Audit:
    """Counts the numbers of one species or all, and moves each by its doubt at a place."""

    def __init__(self, at: Outlook, only: str | None, *, quiet: bool) -> None:
        self.at, self.quiet = at, quiet
        whole = merged_profiles(read_tables(folder("config")))
        self.whole = {PurePath(file).stem: merged for file, merged in whole.items()}
        if only is not None:
            self.whole = {only: self.whole[only]}
        self.numbers = {key: numbers(merged.table) for key, merged in self.whole.items()}
        self.known = knowledge()

    def data(self, most: int) -> dict[str, Any]:
        """Return the audit as plain values."""
        return {
            "shares": {key: {"numbers": len(found), **shares(found)} for key, found in self.numbers.items()},
            "weakest": self.weakest[:most],
            "cited": dict(self.cited),
        }

    @cached_property
    def cited(self) -> Counter[str]:
        """How many numbers each source stands behind, each counted once in its own file."""
        places = {
            self.whole[key].place(number.path): number.source
            for key, found in self.numbers.items()
            for number in found
        }
        return Counter(source for source in places.values() if source)

    @cached_property
    def weakest(self) -> list[Weak]:
        """Numbers that rest on little, those that move most days first; one shared by species counts once."""
        air = self.at.air(self.known)
        chances = chances_over(air, self.at.sky, self.known, self.at.today)
        days: dict[tuple[str, str], list[Influence]] = {}
        for key in progress(list(self.whole), Style().say(AUDIT["moving"]), quiet=self.quiet):
            merged = self.whole[key]
            moved = Sensitivity(
                self.at.garden,
                self.at.sky,
                air,
                self.at.today,
                merged.table,
                self._profile,
                self.known,
                chances,
            )
            for influence in moved.influences([n for n in self.numbers[key] if _weak(n, merged)]):
                days.setdefault(_place(merged, influence.number), []).append(influence)
        found = [
            Weak(
                file, key, some[0].number, sum(i.days for i in some), sum(i.windows for i in some), len(some)
            )
            for (file, key), some in days.items()
        ]
        return sorted((weak for weak in found if weak.windows), key=lambda weak: -weak.days)

    def _profile(self, table: Mapping[str, Any]) -> Profile:
        profile: Profile = PROFILE.validate_python(with_lines(table))
        return as_answered(profile, with_defaults(self.known.choices, self.at.answers))


def _weak(number: Number, merged: Merged) -> bool:
    """Tell whether a number rests on little: on practice, memory, estimate, or on other plants."""
    if number.path[-1] == "ln_heat":
        need = merged.table["stages"][number.path[1]]["need"]
        return str(need["of"]) != "species" or number.basis in WEAK
    return number.basis in WEAK


def _place(merged: Merged, number: Number) -> tuple[str, str]:
    """Return the file a number was written in and its key there, works by their name."""
    file, where = merged.place(number.path)
    if where[0] == "work":
        work = merged.table["work"][number.path[1]]
        answer = f" ({work['when']['option']})" if "when" in work else ""
        where = (str(work.get("id", work["operation"])) + answer, *where[2:])
    key = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in where).lstrip(".")
    return file, key
