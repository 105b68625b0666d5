"""The form of config/feeding.toml: how strong fertilizer is given, how often, and what stops it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import PurePath
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import Based, Strict
from calendar_core.knowledge.words import AIMS, Aim

FeedingPhase = Literal["new growth", "hard growth", "summer", "late summer", "autumn"]
Percent = Annotated[float, Field(ge=0, le=100)]
MgPerLitre = Annotated[float, Field(ge=0, le=500)]
Weeks = Annotated[float, Field(ge=0.5, le=26)]
Count = Annotated[int, Field(ge=1, le=30)]
RECOVERY: Aim = "recovery"


class StrengthRow(Strict):
    """A range of the label's rate [%], and of the nitrogen of what is poured [mg/L]."""

    percent: tuple[Percent, Percent]
    n_mg_l: tuple[MgPerLitre, MgPerLitre]

    @model_validator(mode="after")
    def _order(self) -> Self:
        for low, high in (self.percent, self.n_mg_l):
            if low > high or high == 0:
                raise ValueError(
                    f"found {low:g} to {high:g}; right would be low first, and something to give"
                )
        return self


class Row(Based):
    """Strength by phase for trees of these aims and kinds; in a phase that is not named nothing is given.

    ``hot_percent`` is the most on hot days. Trees of little thirst get it every ``low_thirst_weeks``, where given.
    """

    aims: Annotated[tuple[Aim, ...], Field(min_length=1)] = AIMS
    kinds: tuple[str, ...] = ()
    every_weeks: Weeks
    low_thirst_weeks: Weeks | None = None
    hot_percent: Percent
    phases: Annotated[dict[FeedingPhase, StrengthRow], Field(min_length=1)]


class Begin(Based):
    """A phase begins so many days after a stage, in trees of these kinds or of all that have it."""

    phase: Literal["hard growth", "summer", "late summer"]
    stage: str
    days: Annotated[float, Field(ge=-100, le=100)] = 0.0
    kinds: tuple[str, ...] = ()


class Vigour(Based):
    """A tree whose vigour, from 1 to 5, is below this is fertilized as one in recovery, and no more than its aim gets."""

    recovers_below: Annotated[int, Field(ge=1, le=5)]


class Heat(Based):
    """Day maxima of the air from which less is given, and nothing, when they come ``run_days`` running."""

    less_from_c: Annotated[float, Field(ge=20, le=50)]
    none_from_c: Annotated[float, Field(ge=20, le=50)]
    run_days: Annotated[int, Field(ge=1, le=14)]

    @model_validator(mode="after")
    def _order(self) -> Self:
        if self.less_from_c > self.none_from_c:
            raise ValueError("none_from_c lies below less_from_c; right would be less first, then none")
        return self


class FeedAfter(Based):
    """After an operation nothing for so many weeks; then ``then_percent`` until the tree is in leaf again.

    Any work that took more than ``share_over`` of the foliage counts as the operation. It adds to the holds of the
    profile's own works. ``dissolved`` leaves out slow cakes and pellets.
    """

    operation: str
    share_over: Annotated[float, Field(gt=0, lt=1)] | None = None
    weeks: Weeks
    aims: tuple[Aim, ...] = AIMS
    dissolved: bool = False
    then_percent: Percent = 100.0


class FeedBefore(Based):
    """Before a planned operation nothing for so many weeks, until its wait of `FeedAfter` is over too.

    It is expected for ``open_weeks`` as its window opens, and as it ends; between them feeding goes on.
    """

    operation: str
    weeks: Annotated[float, Field(ge=0, le=26)]
    open_weeks: Weeks


class LowNitrogen(Based):
    """Low in nitrogen for so many days before the first frost; nitrogen at most this share of N + P2O5 + K2O."""

    days_before_frost: Annotated[float, Field(ge=0, le=120)]
    most_share_percent: Percent


class BySize(Strict):
    """A range of cakes for each size class."""

    small: tuple[Count, Count]
    medium: tuple[Count, Count]
    large: tuple[Count, Count]


class CakeRules(Based):
    """How many cakes a pot gets at full strength, and after how many weeks they are replaced."""

    number: BySize
    weeks: tuple[Weeks, Weeks]
    development_weeks: tuple[Weeks, Weeks]
    development: tuple[Aim, ...]
    hot_weeks: tuple[Weeks, Weeks]
    hot_from_c: Annotated[float, Field(ge=20, le=50)]


class PotShares(Based):
    """How much solution a watering takes, as a share of the pot's volume."""

    solution_percent: Percent


class FeedingRules(Strict):
    """config/feeding.toml. Of the rows of ``strength`` the first that fits a tree counts."""

    strength: tuple[Row, ...]
    begins: tuple[Begin, ...]
    vigour: Vigour
    heat: Heat
    after: tuple[FeedAfter, ...]
    before: tuple[FeedBefore, ...]
    low_nitrogen: LowNitrogen
    cakes: CakeRules
    pot: PotShares

    @model_validator(mode="after")
    def _every_tree(self) -> Self:
        rest = {aim for row in self.strength if not row.kinds for aim in row.aims}
        if missing := [aim for aim in AIMS if aim not in rest]:
            raise ValueError(f"strength has no row of all kinds for {', '.join(missing)}; right would be one")
        return self

    def row(self, aim: str, kind: str) -> Row:
        """Return the row that counts for a tree."""
        return next(row for row in self.strength if aim in row.aims and kind in (row.kinds or (kind,)))

    def is_weak(self, vigour: int) -> bool:
        """Tell whether a tree is fertilized as one in recovery, whatever its aim."""
        return vigour < self.vigour.recovers_below

    def row_of(self, aim: str, vigour: int, kind: str) -> Row:
        """Return the row that counts for a tree of some vigour."""
        return self.row(RECOVERY if self.is_weak(vigour) else aim, kind)


def unknown_names(tables: Mapping[str, Mapping[str, Any]]) -> Iterator[tuple[tuple[int | str, ...], str]]:
    """Yield the place and value of operations, stages and kinds that feeding.toml names and no file has."""
    table = tables.get("feeding.toml", {})
    kinds = {PurePath(name).stem for name in tables if name.startswith("kinds/")}
    stages = {
        stage
        for profile in tables.values()
        if isinstance(profile.get("stages"), dict)
        for stage in profile["stages"]
    }
    known = {"operation": set(tables.get("operations.toml", {})), "stage": stages, "kinds": kinds}
    for part in ("strength", "begins", "after", "before"):
        rows = table.get(part, [])
        for i, row in enumerate(rows if isinstance(rows, list) else []):
            for key in known.keys() & (row if isinstance(row, dict) else {}).keys():
                values = row[key] if isinstance(row[key], list) else [row[key]]
                yield from (((part, i, key), str(value)) for value in values if value not in known[key])
