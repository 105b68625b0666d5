"""The numbers of a profile, each with what it rests on, and how far each may be off."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    Path = tuple[int | str, ...]

CODES = frozenset({"bbch"})  # names of stages written in figures
WEAK = ("common practice", "from memory", "estimate")
SPREADS = frozenset({"spread", "spread_days"})  # the doubt about the number beside them

# How far off a number may be by what it rests on, where no spread stands beside it: shares of it, and degrees
# for temperatures. All estimates; they rank numbers against each other and enter no plan.
SHARE = {"published": 0.1, "fitted": 0.1, "common practice": 0.2, "from memory": 0.3, "estimate": 0.3}
DEGREES = {"published": 1.0, "fitted": 1.0, "common practice": 2.0, "from memory": 3.0, "estimate": 3.0}
HOURS = 0.25  # of day length: about five days at 45 degrees of latitude in late summer (estimate)


@dataclass(frozen=True)
class Number:
    """A number at a place of a profile's plain table; ``doubt`` is how far it may be off, in its unit."""

    path: Path
    value: float
    basis: str
    source: str
    note: str
    doubt: float


def numbers(table: Mapping[str, Any]) -> list[Number]:
    """Return every number of a whole profile's plain table that stands under a basis."""
    return [number for key, part in table.items() for number in _numbers(part, (key,), {}, {})]


def _numbers(value: Any, path: Path, based: Mapping[str, Any], beside: Mapping[str, Any]) -> Iterator[Number]:
    if isinstance(value, dict):
        based = value if "basis" in value else based
        for key, part in value.items():
            yield from _numbers(part, (*path, key), based, value)
    elif isinstance(value, list | tuple):
        for i, part in enumerate(value):
            yield from _numbers(part, (*path, i), based, beside)
    elif isinstance(value, int | float) and not isinstance(value, bool) and based and path[-1] not in CODES:
        basis = str(based["basis"])
        doubt = _doubt(path, value, basis, beside)
        yield Number(path, value, basis, str(based.get("source", "")), str(based.get("note", "")), doubt)


def _doubt(path: Path, value: float, basis: str, beside: Mapping[str, Any]) -> float:
    key = str(path[-1])
    if key in SPREADS:
        return 0.0
    if key == "ln_heat":
        return float(beside.get("spread", 0.0))
    if key in ("days", "offset_days") and "spread_days" in beside:
        return float(beside["spread_days"])
    if key.endswith("_h"):
        return HOURS
    if key in ("at_c", "base_c", "mean_c", "shift_c") or (
        key == "value" and path[-2:-1] and str(path[-2]).endswith("_c")
    ):
        return DEGREES[basis]
    return abs(value) * SHARE[basis]


def shares(found: Iterable[Number]) -> dict[str, float]:
    """Return which share of the numbers rests on what, all kinds of basis named."""
    counts = Counter(number.basis for number in found)
    total = sum(counts.values())
    return {basis: counts[basis] / total if total else 0.0 for basis in SHARE}
