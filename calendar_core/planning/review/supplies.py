"""What the coming year takes: soil, wire, pots, fertilizer and cut paste for the work that is planned in it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.items import PUBLISH_FROM
from calendar_core.planning.review.next_year import POT, REPOT, YEAR_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from uuid import UUID

    from calendar_core.garden.parts import Part
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.review import SoilMix, SupplyRules
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.knowledge.words import PartKind
    from calendar_core.planning.items import Item, Plan
    from calendar_core.planning.review.next_year import NextYear, SoilSigns
    from calendar_core.planning.seasons.species_stages import Grove

Pair = tuple[float, float]
WIRE, PASTE = "wire", "cut paste"
WIRED: tuple[PartKind, ...] = ("branch", "apex")
DRY_SOIL, FERTILIZER = "dry soil", "fertilizer"  # as operations and cautions name what is used


@dataclass(frozen=True, slots=True)
class Soil:
    """Soil of one mix [L]: of each of its ``parts``, and of how many pots the size was ``assumed`` from the tree's."""

    mix: str
    litres: float
    parts: Mapping[str, float]
    pots: int
    assumed: int


@dataclass(frozen=True, slots=True)
class WireRoll:
    """Wire of one thickness [mm] for some branches: from ``metres[0]`` to ``metres[1]`` where lengths were measured.

    ``unmeasured`` of them have no length; where ``mm`` is None they are wirings of which no diameter is known.
    """

    mm: float | None
    branches: int
    metres: Pair
    unmeasured: int


@dataclass(frozen=True, slots=True)
class PotToBuy:
    """A tree whose pot was found bad; ``litres`` of the old one, None where not written down."""

    tree_id: UUID
    litres: float | None


@dataclass(frozen=True, slots=True)
class YearOfFeeding:
    """One tree's year of fertilizing: what its pot takes at a time [L], and the nitrogen [mg/L] and number of times."""

    tree_id: UUID
    pot_takes_l: float | None
    times: tuple[tuple[Pair, int], ...]


@dataclass(frozen=True, slots=True)
class Fertilizer:
    """What trees of known pots take in a year: nitrogen [g] from low to high, in solution [L]; others are counted."""

    nitrogen_g: Pair
    litres: float
    trees: int
    unknown_pots: int


@dataclass(frozen=True, slots=True)
class Paste:
    """Wounds to cover: of parts that are named, and works on whole trees, each of several wounds."""

    wounds: int
    works: int


@dataclass(frozen=True, slots=True)
class Supplies:
    """What is to be had for the coming year, and the cautions that go with it, each once."""

    soil: tuple[Soil, ...]
    wire: tuple[WireRoll, ...]
    pots: tuple[PotToBuy, ...]
    fertilizer: Fertilizer
    paste: Paste
    cautions: tuple[str, ...]


def supplies(
    plan: Plan, found: NextYear, grove: Grove, knowledge: Knowledge, feeding: Iterable[YearOfFeeding]
) -> Supplies:
    """Return what the work of the coming year takes; heavy work counts where it has a week."""
    every = (*_light(plan, knowledge), *(item for placed in found.jobs for item in placed.job.items))
    works = list(
        {(item.tree_id, item.operation, item.part_id): item for item in every}.values()
    )  # windows once
    repotted = dict.fromkeys(item.tree_id for item in works if item.operation == REPOT)
    soil = soil_of(repotted, grove, knowledge)
    wire = wire_of(
        [item for item in works if item.operation == WIRE], grove.states, knowledge.review.supplies
    )
    covered = [item for item in works if PASTE in knowledge.operations[item.operation].tools]
    parts = sum(item.part_id is not None for item in covered)
    given = fertilizer_of(feeding)
    bought = {DRY_SOIL: soil, WIRE: wire, PASTE: covered, FERTILIZER: given.trees + given.unknown_pots}
    cautions = tuple(
        key
        for key, caution in knowledge.cautions.items()
        if not caution.of_species and any(bought.get(thing) for thing in caution.due_with)
    )
    return Supplies(soil, wire, _pots(found.soil, grove), given, Paste(parts, len(covered) - parts), cautions)


def _light(plan: Plan, knowledge: Knowledge) -> Iterator[Item]:
    """Yield the work of the coming year that is no heavy job."""
    end = plan.today + timedelta(days=YEAR_DAYS)
    for item in plan.items:
        light = knowledge.operations[item.operation].weight < HEAVY and item.follows is None
        if light and item.status != "possible" and item.chance >= PUBLISH_FROM and item.opens.likely < end:
            yield item


def soil_of(trees: Iterable[UUID], grove: Grove, knowledge: Knowledge) -> tuple[Soil, ...]:
    """Return the soil for repotting some trees, by mix: a whole pot for each, and what settles and is spilt."""
    pots, species = knowledge.growth.pots, {tree.id: tree.species for tree in grove.trees}
    by_mix: defaultdict[str, list[tuple[float, bool]]] = defaultdict(list)
    mixes: dict[str, SoilMix] = {}
    for tree in trees:
        state = grove.states[tree]
        litres = pots.litres(state.size) if state.pot_litres is None else state.pot_litres
        mix = knowledge.review.supplies.mix_of(knowledge.profiles[species[tree]])
        mixes[mix.name] = mix
        by_mix[mix.name].append((litres * pots.soil_share.value, state.pot_litres is None))
    return tuple(_soil(mix, by_mix[mix.name]) for mix in mixes.values())


def _soil(mix: SoilMix, pots: Sequence[tuple[float, bool]]) -> Soil:
    litres, whole = sum(taken for taken, _ in pots), sum(mix.parts.values())
    parts = {name: litres * part / whole for name, part in mix.parts.items()}
    return Soil(mix.name, litres, parts, len(pots), sum(assumed for _, assumed in pots))


def wire_of(
    items: Iterable[Item], states: Mapping[UUID, TreeState], rules: SupplyRules
) -> tuple[WireRoll, ...]:
    """Return the wire for some wiring, the thinnest first, and last what no thickness is known of.

    Of a whole tree its branches and top count that have a diameter. The next thickness sold from the usual share of it
    up; for what wants more than the thickest, two of those are laid side by side.
    """
    rolls: defaultdict[float | None, list[float | None]] = defaultdict(list)
    for item in items:
        for part in _wired(item, states[item.tree_id]) or (None,):
            diameter = None if part is None else part.last("diameter")
            length = None if part is None else part.last("length")
            mm, strands = _thickness(None if diameter is None else diameter.value, rules)
            rolls[mm].append(None if length is None else length.value / 1000 * strands)
    span = rules.wire_length
    return tuple(
        WireRoll(
            mm, len(lengths), (span.low * sum(filter(None, lengths)), span.high * sum(filter(None, lengths))),
            lengths.count(None),
        )
        for mm, lengths in sorted(rolls.items(), key=lambda roll: (roll[0] is None, roll[0] or 0.0))
    )  # fmt: skip


def _wired(item: Item, state: TreeState) -> list[Part]:
    """Return the parts that a wiring is of, as far as they are written down."""
    if item.part_id is not None:
        return [part for part in state.open_parts if part.id == item.part_id]
    return [part for part in state.open_parts if part.kind in WIRED and part.last("diameter")]


def _thickness(diameter_mm: float | None, rules: SupplyRules) -> tuple[float | None, int]:
    """Return the thickness [mm] for a branch, and how many such wires; None where it was not measured."""
    if diameter_mm is None:
        return None, 1
    wanted, thickest = diameter_mm * rules.wire_share.value, rules.wire.mm[-1]
    return next((mm for mm in rules.wire.mm if mm >= wanted), thickest), 1 if wanted <= thickest else 2


def _pots(soil: Iterable[SoilSigns], grove: Grove) -> tuple[PotToBuy, ...]:
    """Return the trees whose pot was found bad."""
    return tuple(
        PotToBuy(tree.tree_id, grove.states[tree.tree_id].pot_litres) for tree in soil if POT in tree.bad
    )


def fertilizer_of(feeding: Iterable[YearOfFeeding]) -> Fertilizer:
    """Return what a year of fertilizing takes: litres poured, and the nitrogen in them [mg/L times L]."""
    low = high = litres = 0.0
    trees = unknown = 0
    for year in feeding:
        times = sum(count for _, count in year.times)
        if not times:
            continue
        if year.pot_takes_l is None:
            unknown += 1
            continue
        trees += 1
        litres += times * year.pot_takes_l
        low += sum(n_mg_l[0] * count for n_mg_l, count in year.times) * year.pot_takes_l / 1000
        high += sum(n_mg_l[1] * count for n_mg_l, count in year.times) * year.pot_takes_l / 1000
    return Fertilizer((low, high), litres, trees, unknown)
