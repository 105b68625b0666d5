"""The form of config/spacing.toml: what a tree bears in a cycle, how it recovers, and what is kept apart."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import Based, Quantity, Strict

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    Table = Mapping[str, Any]
    Found = tuple[tuple[int | str, ...], str]

Weight = Annotated[int, Field(ge=0, le=20)]


class Budget(Based):
    """What all work of one cycle may weigh, by vigour from 1 to 5."""

    by_vigour: Annotated[tuple[Weight, ...], Field(min_length=5, max_length=5)]

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if any(weaker > stronger for weaker, stronger in pairwise(self.by_vigour)):
            raise ValueError(
                f"by_vigour is {list(self.by_vigour)}; right would be no less for a stronger tree"
            )
        return self

    def of(self, vigour: int) -> int:
        """Return the budget of a vigour from 1 to 5."""
        return self.by_vigour[vigour - 1]


class FoliageWeight(Based):
    """The least that work weighs which takes so much of the foliage."""

    share_from: Annotated[float, Field(gt=0, le=1)]
    weight: Weight


class RecoveryHeat(Based):
    """The base of the heat that recovery is counted by."""

    base_c: Annotated[float, Field(ge=-5, le=20)]


class Recovery(Based):
    """Heat [degC d] after work until the tree has recovered; work in ``lets`` need not wait for it."""

    heat: Annotated[float, Field(gt=0, le=5000)]
    lets: tuple[str, ...] = ()


class ApartRule(Based):
    """Two operations, in either order, that are kept weeks apart or out of one cycle, and why."""

    of: tuple[str, str]
    weeks: Annotated[float, Field(gt=0, le=110)] | None = None
    same_cycle: bool = False
    why: str

    @model_validator(mode="after")
    def _gap(self) -> Self:
        if (self.weeks is None) == (not self.same_cycle):
            raise ValueError("give either weeks or same_cycle = true")
        return self


class SpacingRules(Strict):
    """config/spacing.toml; the weights themselves stand with the operations.

    Times of one operation at most ``sitting_days`` apart are one job.
    """

    budget: Budget
    sitting_days: Quantity
    heat: RecoveryHeat
    foliage: tuple[FoliageWeight, ...]
    recovery: dict[str, Recovery]
    apart: tuple[ApartRule, ...]

    def least_weight(self, share: float | None) -> int:
        """Return the least that work weighs by its share of the foliage, 0 where none is known."""
        return max(
            (rule.weight for rule in self.foliage if share is not None and share >= rule.share_from),
            default=0,
        )


def spacing_faults(spacing: Table, operations: Table) -> Iterator[Found]:
    """Yield where a plain table names no operation, forgets one that weighs something, or has a pair twice."""
    right = "right would be the name of one in operations.toml"
    for where, name in _names(spacing):
        if name not in operations:
            yield where, f"found {name!r}; {right}"
    recovery, seen = _table(spacing, "recovery"), set()
    for name, operation in operations.items():
        if isinstance(operation, dict) and operation.get("weight") and name not in recovery:
            yield ("recovery", name), "missing, and it weighs something; right would be its heat"
    for i, pair in enumerate(_pairs(spacing)):
        if pair and frozenset(pair) in seen:
            yield ("apart", i, "of"), f"found {pair!r} twice; right would be one rule for a pair"
        seen.add(frozenset(pair))


def _names(spacing: Table) -> Iterator[Found]:
    for name, recovery in _table(spacing, "recovery").items():
        yield ("recovery", name), name
        for i, operation in enumerate(_list(recovery, "lets")):
            yield ("recovery", name, "lets", i), str(operation)
    for i, pair in enumerate(_pairs(spacing)):
        for j, operation in enumerate(pair):
            yield ("apart", i, "of", j), operation


def _table(table: Table, key: str) -> Table:
    value = table.get(key)
    return value if isinstance(value, dict) else {}


def _list(table: object, key: str) -> list[Any]:
    value = table.get(key) if isinstance(table, dict) else None
    return value if isinstance(value, list) else []


def _pairs(spacing: Table) -> list[list[str]]:
    """Return the pairs kept apart, empty where one has another fault."""
    return [[str(name) for name in _list(rule, "of")] for rule in _list(spacing, "apart")]
