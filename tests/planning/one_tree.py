"""Gardens of one tree, or one of each species, in Nagano, and a look into their plans."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import TYPE_CHECKING

from tests.planning.made_up import Bench, absent_of, bench_on_normals, codes, items_of

if TYPE_CHECKING:
    from calendar_core.planning.items import Item, Plan

TODAY = date(2015, 5, 1)
MAPLE, PINE, AZALEA, FIG = "acer-palmatum", "pinus-thunbergii", "rhododendron-indicum", "ficus-microcarpa"
SPECIES = (MAPLE, PINE, AZALEA, FIG)


def planted(bench: Bench, *labels: str) -> Bench:
    """Add a strong tree of each species, under its species' name and a label."""
    for label in labels or ("",):
        for species in SPECIES:
            bench.tree(f"{species}{label}", species, aim="ramification", vigour=5)
    return bench


@cache
def nagano() -> Bench:
    """One of each, never worked on; not to be changed."""
    return planted(bench_on_normals("Nagano"))


@cache
def in_nagano() -> Plan:
    return nagano().plan(TODAY)


def alone(species: str = PINE, aim: str = "ramification", vigour: int = 5, place: str = "Nagano") -> Bench:
    """One tree."""
    bench = bench_on_normals(place)
    bench.tree("it", species, aim=aim, vigour=vigour)
    return bench


def items(bench: Bench, operation: str, today: date = TODAY, cycle: int | None = None) -> list[Item]:
    found = items_of(bench.plan(today), bench.trees[0], operation)
    return [item for item in found if cycle in (None, item.cycle)]


def refused(bench: Bench, operation: str, cycle: int, today: date = TODAY) -> list[str]:
    """Codes of the reasons why an operation is not planned in a cycle."""
    found = absent_of(bench.plan(today), bench.trees[0], operation)
    return [code for one in found if one.cycle == cycle for code in codes(one)]


def shape(item: Item) -> tuple[object, ...]:
    """An item without what names its tree."""
    return tuple(
        getattr(item, name)
        for name in ("rule", "cycle", "opens", "closes", "chance", "status", "reasons", "cautions")
    )
