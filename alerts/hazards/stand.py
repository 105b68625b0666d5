"""A tree as hazards see it: leaf, pot, crown, and the lines beyond which it is harmed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from calendar_core.science.hour.drying import crown_m2

if TYPE_CHECKING:
    from uuid import UUID

    from calendar_core.garden.model import Spot
    from calendar_core.knowledge.forms.exposure import Cold, Exposure, Foliage, Tenderness
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.knowledge.words import PotKind, SizeClass


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines of caution and of danger, in the unit of the hazard; ``reasons`` are codes of what moved them.

    Of roots, caution is held against the wall of the root ball, and danger as well unless ``deep``: then against its
    middle.
    """

    caution: float
    danger: float
    reasons: tuple[Tenderness, ...] = ()
    deep: bool = False


@dataclass(frozen=True, slots=True)
class Leaf:
    """A leaf, needle or bud; stomata of both faces together [mol m-2 s-1], see `science.hour.leaf`."""

    width_m: float
    stomata_open_mol: float
    stomata_shut_mol: float
    upper_share: float
    absorptance: float


@dataclass(frozen=True, slots=True)
class Pot:
    """A pot; ``sun_gain_c`` is how much 1000 W/m2 warm its wall all around, and its depth a share of its width.

    The other shares are litres of water in a litre.
    """

    litres: float
    sun_gain_c: float
    easy_share: float
    held_share: float
    depth_share: float


@dataclass(frozen=True, slots=True)
class Stand:
    """A tree where it stands today; two that differ in ``tree`` alone are worked once.

    ``heat`` and ``frost`` are lines of leaf temperature [degC], None where there is nothing to harm; of a tree that
    ``chills``, those of frost are of the air. Those of the roots are of the root ball [degC]. ``drinks_m2`` is the ground under the crown times the tree's crop
    coefficient. ``watered_h`` are the clock hours at which the pot is filled, ``used_to_mol`` the mean daily light
    of its last ten days [mol m-2 d-1], None if it has not moved; ``needs_mol`` is what it needs to stay well, and
    ``cloth_percent`` the densest shade cloth it is given.
    """

    tree: UUID
    spot: Spot
    leaf: Leaf
    pot: Pot
    drinks_m2: float
    heat: Lines | None
    frost: Lines | None
    hot_roots: Lines
    cold_roots: Lines
    watered_h: tuple[float, ...] = ()
    used_to_mol: float | None = None
    needs_mol: float = 0.0
    cloth_percent: float = 0.0

    @property
    def chills(self) -> bool:
        """Whether cold above freezing harms it."""
        return self.frost is not None and "chill" in self.frost.reasons


@dataclass(frozen=True, slots=True)
class Condition:
    """How a tree is today, as its log and its stages tell it.

    ``pot_litres`` is None where none is written down; ``pot`` and ``substrate`` are names in exposure.toml.
    Weeks are None where there was no such work. ``watered_h`` and ``used_to_mol`` are as in `Stand`.
    """

    foliage: Foliage
    vigour: int = 3
    size: SizeClass = "medium"
    pot_litres: float | None = None
    pot: PotKind = "unglazed"
    substrate: str = "gritty"
    weeks_since_root_work: float | None = None
    weeks_since_leaves_taken: float | None = None
    watered_h: tuple[float, ...] = (8.0,)
    used_to_mol: float | None = None


def stand_of(tree: UUID, spot: Spot, species: str, condition: Condition, knowledge: Knowledge) -> Stand:
    """Return a tree as hazards see it.

    Raises
    ------
    KeyError
        ``species`` is no profile, or the pot or substrate of ``condition`` no name in exposure.toml.
    """
    profile, rules = knowledge.profiles[species], knowledge.exposure
    mix = rules.substrate[condition.substrate]
    litres = condition.pot_litres or knowledge.growth.pots.litres(condition.size)
    gain = rules.pot.sun_gain_c[condition.pot].value * rules.pot.sunny_part.value
    crop, crown = rules.crop[profile.habit], rules.crown_m[condition.size].value
    coefficient = crop.bare if condition.foliage in ("none", "buds") else crop.in_leaf
    return Stand(
        tree,
        spot,
        _leaf(species, profile, condition, rules),
        Pot(litres, gain, mix.easy, mix.held, rules.pot.depth_share[condition.pot].value),
        float(coefficient * crown_m2(crown)),
        _heat(profile, condition, rules),
        _frost(profile, condition, rules),
        Lines(rules.roots.hot.caution_c, rules.roots.hot.danger_c),
        _cold_roots(profile, condition, rules),
        condition.watered_h,
        None if condition.foliage in ("none", "buds") else condition.used_to_mol,
        profile.tolerance.sun_hours.low * rules.light.mol_an_hour.value,
        profile.tolerance.shade_cloth_percent.high,
    )


def _leaf(species: str, profile: Profile, condition: Condition, rules: Exposure) -> Leaf:
    form = rules.leaf["bud" if condition.foliage == "buds" else rules.leaf_of.form(species, profile.kind)]
    return Leaf(
        form.width_m, form.stomata_open_mol, form.stomata_shut_mol, form.upper_share, form.absorptance
    )


def _heat(profile: Profile, condition: Condition, rules: Exposure) -> Lines | None:
    """Return the species' lines of leaf heat, lowered for all that makes its leaves tender."""
    if condition.foliage in ("none", "buds"):
        return None
    tolerance = profile.tolerance
    holds: dict[Tenderness, bool] = {
        "new leaves": condition.foliage == "new",
        "opened up": rules.lasts("opened up", condition.weeks_since_leaves_taken),
        "fresh roots": rules.lasts("fresh roots", condition.weeks_since_root_work),
        "weak": condition.vigour <= rules.weak_vigour.value,
    }
    lines = Lines(tolerance.leaf_caution_c.value, tolerance.leaf_danger_c.value)
    for reason in (reason for reason, so in holds.items() if so):
        lines = lowered(lines, reason, rules)
    return lines


def lowered(lines: Lines, reason: Tenderness, rules: Exposure) -> Lines:
    """Return lines of leaf heat lowered for a reason."""
    by = rules.lowers[reason].by_c
    return Lines(lines.caution - by, lines.danger - by, (*lines.reasons, reason))


def _frost(profile: Profile, condition: Condition, rules: Exposure) -> Lines | None:
    if profile.tolerance.chill is not None:
        return _chill(profile.tolerance.chill)
    match condition.foliage:
        case "none" | "falling":
            return None
        case foliage:
            lines = rules.frost[profile.habit].get(foliage)
    reasons: tuple[Tenderness, ...] = ("new leaves",) if condition.foliage == "new" else ()
    return None if lines is None else Lines(lines.caution_c, lines.danger_c, reasons)


def _chill(lines: Cold) -> Lines:
    return Lines(lines.caution_c, lines.danger_c, ("chill",))


def _cold_roots(profile: Profile, condition: Condition, rules: Exposure) -> Lines:
    """Return the species' lines of cold roots; where it has none that kills, so much below the one that protects.

    Chill harms roots as it does leaves: that a root ball below some line is to be protected is for a whole season.
    """
    if profile.tolerance.chill is not None:
        return _chill(profile.tolerance.chill)
    protect, killed = profile.tolerance.roots_protect_below_c.value, profile.tolerance.roots_killed_c
    kills = protect - rules.roots.killed_below_c.value if killed is None else killed.value
    lines = Lines(protect, kills, deep=True)
    fresh = rules.roots.fresh
    if not rules.lasts("fresh roots", condition.weeks_since_root_work):
        return lines
    return replace(
        lines,
        caution=max(lines.caution, fresh.caution_c),
        danger=max(lines.danger, fresh.danger_c),
        reasons=("fresh roots",),
        deep=False,
    )
