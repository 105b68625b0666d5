"""The form of config/exposure.toml: how sun, wind, water and cold reach a tree, and the lines where they harm it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from calendar_core.knowledge.forms.based import Based, Quantity, Strict
from calendar_core.knowledge.words import HABITS, POT_KINDS, SIZES, SURFACES, WINDS, Habit, SizeClass, Wind

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    Table = Mapping[str, Any]
    Found = tuple[tuple[int | str, ...], str]

FoliageAge = Literal["buds", "new", "hard"]
Foliage = Literal["none", "buds", "new", "hard", "falling"]
Tenderness = Literal["new leaves", "opened up", "more light", "fresh roots", "weak", "chill"]
Share = Annotated[float, Field(ge=0, le=1)]

BUD, BENCH = "bud", "bench"  # the form of every closed bud; the surface of a spot that names no other


class LeafForm(Based):
    """A form of leaf: its width, its stomata of both faces together, the upper face's share, the sun it keeps."""

    width_m: Annotated[float, Field(gt=0, le=0.5)]
    stomata_open_mol: Annotated[float, Field(gt=0, le=1)]
    stomata_shut_mol: Annotated[float, Field(gt=0, le=1)]
    upper_share: Share
    absorptance: Share

    @model_validator(mode="after")
    def _opens(self) -> Self:
        if self.stomata_shut_mol > self.stomata_open_mol:
            raise ValueError(
                f"stomata_shut_mol is {self.stomata_shut_mol:g} and stomata_open_mol "
                f"{self.stomata_open_mol:g}; right would be less when shut"
            )
        return self


class LeafOf(Strict):
    """Which form of leaf a kind of tree has, and a species where it differs."""

    kind: dict[str, str]
    species: dict[str, str]

    def form(self, species: str, kind: str) -> str:
        """Return the name of a species' form."""
        return self.species.get(species, self.kind[kind])


class Crop(Based):
    """How much a tree drinks against as much grass."""

    in_leaf: Annotated[float, Field(gt=0, le=3)]
    bare: Annotated[float, Field(ge=0, le=3)]


class Substrate(Based):
    """Litres of water in a litre: what is easily taken up, and all that it holds when wet."""

    easy: Share
    held: Share

    @model_validator(mode="after")
    def _within(self) -> Self:
        if self.easy > self.held:
            raise ValueError(
                f"easy is {self.easy:g} and held {self.held:g}; right would be no more than held"
            )
        return self


class SurfaceRule(Based):
    """What a tree stands on or beside.

    ``albedo`` is the sunlight it throws back, ``warmer_c`` how far 1000 W/m2 heat it above the air, and
    ``roots_night_c`` how much warmer than the air it keeps a pot at night.
    """

    albedo: Share
    warmer_c: Annotated[float, Field(ge=0, le=50)]
    roots_night_c: Annotated[float, Field(ge=0, le=10)] = 0.0


class PotRules(Strict):
    """How 1000 W/m2 warm the sunny wall of a pot, and how much of the wall that is; a pot's shape; its share of rain.

    ``sky_part`` is how much of a flat thing's loss of heat to the night sky is a pot's.
    """

    sun_gain_c: dict[str, Quantity]
    sunny_part: Quantity
    sky_part: Quantity
    depth_share: dict[str, Quantity]
    rain_share: Quantity
    shaded_share: Quantity  # what is left of the sun's warming where a board or cloth shades the pot


class Rising(Based):
    """Lines of which danger is the higher."""

    caution: float
    danger: float

    @model_validator(mode="after")
    def _order(self) -> Self:
        if self.caution > self.danger:
            raise ValueError(f"caution is {self.caution:g} and danger {self.danger:g}; right would be less")
        return self


class Warm(Based):
    """Lines of heat."""

    caution_c: float
    danger_c: float

    @model_validator(mode="after")
    def _order(self) -> Self:
        if self.caution_c > self.danger_c:
            raise ValueError(
                f"caution_c is {self.caution_c:g} and danger_c {self.danger_c:g}; right would be less"
            )
        return self


class Cold(Based):
    """Lines of cold."""

    caution_c: float
    danger_c: float

    @model_validator(mode="after")
    def _order(self) -> Self:
        if self.caution_c < self.danger_c:
            raise ValueError(
                f"caution_c is {self.caution_c:g} and danger_c {self.danger_c:g}; right would be more"
            )
        return self


class RootRules(Strict):
    """Lines of the root ball: heat for all, cold where the profile has none or roots are fresh."""

    hot: Warm
    fresh: Cold
    killed_below_c: Quantity


class Lowering(Based):
    """By how much a reason lowers the lines of leaf heat, and for how many weeks, if it is not seen on the tree."""

    by_c: Annotated[float, Field(ge=0, le=10)]
    weeks: Annotated[float, Field(gt=0, le=52)] | None = None


class SpotRules(Strict):
    """Bench height [m], sky left to a spot whose hours of sun are told, light under glass, shelter from wind."""

    bench_m: Quantity
    sky_by_hours: Quantity
    glass_light: Quantity
    room_sky: Quantity
    shelter: dict[Wind, Quantity]


class LightRules(Strict):
    """Sunburn: the extra share of the light a tree is used to, from how bright a day, and its days of getting used."""

    extra: Rising
    from_mol: Quantity
    used_to_days: Quantity
    mol_an_hour: Quantity


class DryRules(Strict):
    """Share of the easy water that is used, the hour until which it has to last, and how stomata answer."""

    used: Rising
    evening_h: Quantity
    watered_h: Quantity
    again_h: Quantity
    twice_below_l: Quantity
    stomata_open_until: Quantity
    stomata_shut_from: Quantity

    @model_validator(mode="after")
    def _shuts(self) -> Self:
        until, shut_from = self.stomata_open_until.value, self.stomata_shut_from.value
        if until >= shut_from:
            raise ValueError(
                f"stomata_open_until is {until:g} and stomata_shut_from {shut_from:g}; right would be less"
            )
        return self


class WindRules(Strict):
    """Gusts at 10 m [m/s] where shelter is normal, and the share that counts elsewhere."""

    gust_ms: Rising
    share: dict[Wind, Quantity]


class Near(Strict):
    """How near its line of caution a middle course is told, so that a warning does not flicker."""

    c: Quantity
    share: Quantity
    ms: Quantity


class Wet(Strict):
    """Hours after rain for which leaves stay wet, and paths may freeze."""

    leaves_h: Quantity
    paths_h: Quantity


class Falling(Based):
    """Days before a stage in which hard leaves are about to fall, once another stage has come."""

    after: str
    before: str
    days: Annotated[float, Field(ge=0, le=60)]


class Exposure(Strict):
    """config/exposure.toml."""

    foliage: dict[FoliageAge | Literal["none"], tuple[str, ...]]  # the stages with which it begins
    falling: Falling
    leaf: dict[str, LeafForm]
    leaf_of: LeafOf
    crop: dict[Habit, Crop]
    crown_m: dict[SizeClass, Quantity]
    substrate: dict[str, Substrate]
    pot: PotRules
    surface: dict[str, SurfaceRule]
    spot: SpotRules
    frost: dict[Habit, dict[FoliageAge, Cold]]
    roots: RootRules
    lowers: dict[Tenderness, Lowering]
    weak_vigour: Quantity
    light: LightRules
    drying: DryRules
    wind: WindRules
    wet: Wet
    near: Near

    def surface_of(self, name: str) -> SurfaceRule:
        """Return a surface by the grower's word for it, that of a bench where the word is not known."""
        return self.surface.get(name.strip().lower(), self.surface[BENCH])

    def lasts(self, reason: Tenderness, weeks: float | None) -> bool:
        """Tell whether a reason still holds so many weeks after its work; never without such work."""
        longest = self.lowers[reason].weeks
        return weeks is not None and longest is not None and weeks < longest


_COMPLETE: dict[tuple[str, ...], tuple[str, ...]] = {
    ("foliage",): ("none", "buds", "new", "hard"),
    ("leaf",): (BUD,),
    ("surface",): SURFACES,
    ("pot", "sun_gain_c"): POT_KINDS,
    ("pot", "depth_share"): POT_KINDS,
    ("crop",): HABITS,
    ("frost",): tuple(habit for habit in HABITS if habit != "tropical"),  # cold harms those by their chill
    ("crown_m",): SIZES,
    ("spot", "shelter"): WINDS,
    ("wind", "share"): WINDS,
    ("lowers",): ("new leaves", "opened up", "more light", "fresh roots", "weak"),
}


def exposure_faults(
    exposure: Table, kinds: Mapping[str, str], *, all_species: bool = True
) -> Iterator[Found]:
    """Yield what a plain table lacks, and where it names no form of leaf, kind or species.

    ``kinds`` are those of the species that were read; where these are not all, names of others are let be.
    """
    for where, wanted in _COMPLETE.items():
        table = _table(exposure, *where)
        for name in wanted:
            if name not in table:
                yield (*where, name), "missing"
    forms, by_kind, by_species = (
        _table(exposure, *where) for where in (("leaf",), ("leaf_of", "kind"), ("leaf_of", "species"))
    )
    for key, names in (("kind", by_kind), ("species", by_species)):
        for name, form in names.items():
            if form not in forms:
                yield ("leaf_of", key, name), f"found {form!r}; right would be one of: {', '.join(forms)}"
    for kind in sorted(set(kinds.values()) - by_kind.keys()):
        yield ("leaf_of", "kind", kind), "missing; right would be the form of its leaves"
    for name in by_species if all_species else ():
        if name not in kinds:
            yield ("leaf_of", "species", name), "no profile has this name; right would be to remove it"


def _table(table: Table, *keys: str) -> Table:
    value: Any = table
    for key in keys:
        value = value.get(key) if isinstance(value, dict) else None
    return value if isinstance(value, dict) else {}
