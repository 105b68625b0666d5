"""Supplies against sums done by hand and, for wire, the length of a helix. Trees and pots are made up."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import hypot, tau
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.parts import Measure, Part
from calendar_core.garden.state import TreeState
from calendar_core.planning.review.supplies import YearOfFeeding, fertilizer_of, soil_of, supplies, wire_of
from tests.planning.made_up import bench_on_normals, knowledge
from tests.planning.review.test_next_year import TODAY, bench_of, grove_of, item, plan_of, reviewed, year

SPECIES = ("acer-palmatum", "pinus-thunbergii", "rhododendron-indicum", "crassula-ovata")


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(SPECIES), st.none() | st.floats(0.2, 80)), min_size=1, max_size=8))
def test_litres_add_up(pots: list[tuple[str, float | None]]) -> None:
    bench = bench_on_normals("Nagano")
    for k, (species, litres) in enumerate(pots):
        bench.tree(f"Tree {k}", species, pot_litres=litres)
    soil = soil_of([tree.id for tree in bench.trees], grove_of(bench), knowledge())
    rules = knowledge().growth.pots
    wanted = sum(rules.medium_litres.value if litres is None else litres for _, litres in pots)
    assert sum(mix.litres for mix in soil) == pytest.approx(wanted * rules.soil_share.value)
    for mix in soil:
        assert sum(mix.parts.values()) == pytest.approx(mix.litres)
    assert sum(mix.pots for mix in soil) == len(pots)
    assert sum(mix.assumed for mix in soil) == sum(litres is None for _, litres in pots)


def test_a_maple_of_ten_litres_by_hand() -> None:
    """11 L with a tenth more, two parts of four of it akadama."""
    bench = bench_of(1, pot_litres=10.0)
    (soil,) = soil_of([bench.trees[0].id], grove_of(bench), knowledge())
    assert soil.litres == pytest.approx(11)
    assert soil.parts == pytest.approx({"akadama": 5.5, "pumice": 2.75, "lava": 2.75})


def test_every_mix_serves_some_species_and_every_species_has_one() -> None:
    rules, profiles = knowledge().review.supplies, knowledge().profiles
    mixes = {name: rules.mix_of(profile).name for name, profile in profiles.items()}
    assert set(mixes.values()) == {mix.name for mix in rules.mix}
    assert {kind for mix in rules.mix for kind in mix.kinds} <= {
        profile.kind for profile in profiles.values()
    }
    assert mixes["rhododendron-indicum"] == "lime-free"
    assert mixes["crassula-ovata"] == "succulent"


def branch(bench_part: UUID, **measures: float) -> Part:
    part = Part(bench_part, UUID(int=1), UUID(int=2), date(2015, 1, 1))
    part.measures += [Measure(what, value, TODAY) for what, value in measures.items()]
    return part


def test_wire_by_hand() -> None:
    """9 mm take wire of 3 mm, 200 mm of branch 260 to 300 mm of it; what is not measured is counted."""
    bench = bench_of(1)
    tree = bench.trees[0].id
    measured: list[dict[str, float]] = [
        {"diameter": 9, "length": 200}, {"diameter": 9}, {"length": 100}, {"diameter": 10, "length": 300},
        {"diameter": 30, "length": 1000},
    ]  # fmt: skip
    items = [item(bench, 0, "wire", part=f"branch {k}", status="wished") for k in range(len(measured))]
    parts = {i.part_id: branch(i.part_id, **m) for i, m in zip(items, measured, strict=True) if i.part_id}
    rolls = wire_of(items, {tree: TreeState(parts=parts)}, knowledge().review.supplies)
    told = [(r.mm, r.branches, tuple(round(m, 3) for m in r.metres), r.unmeasured) for r in rolls]
    assert told == [
        (3, 2, (0.26, 0.3), 1),
        (3.5, 1, (0.39, 0.45), 0),
        (6, 1, (2.6, 3.0), 0),  # 10 mm would be wanted: two wires of 6 mm side by side
        (None, 1, (0.13, 0.15), 0),
    ]


def test_turns_at_half_a_right_angle_lie_within_the_length_of_wire() -> None:
    """A helix of radius r and rise h a turn is hypot(tau r, h) long a turn (any textbook of geometry)."""
    radius = 5.0
    rise = tau * radius  # at 45 degrees to the branch
    share = hypot(tau * radius, rise) / rise
    span = knowledge().review.supplies.wire_length
    assert span.low < share < span.high
    assert share == pytest.approx(2**0.5)


def test_fertilizer_by_hand() -> None:
    """A pot of 1 L takes 0.25 L: ten times 100 to 200 mg/L and four times 50 are 0.3 to 0.55 g in 3.5 L."""
    feeding = [
        YearOfFeeding(UUID(int=1), 0.25, (((100.0, 200.0), 10), ((50.0, 50.0), 4))),
        YearOfFeeding(UUID(int=2), None, (((100.0, 100.0), 3),)),
        YearOfFeeding(UUID(int=3), None, ()),  # a tree that gets nothing is no gap
    ]
    given_ = fertilizer_of(feeding)
    assert given_.nitrogen_g == pytest.approx((0.3, 0.55))
    assert (given_.litres, given_.trees, given_.unknown_pots) == (3.5, 1, 1)


def test_only_what_is_planned_is_bought_and_each_caution_once() -> None:
    bench = bench_of(3, pot_litres=2.0)
    reviewed(bench, date(2015, 11, 20), 2016, pot="bad")
    items = [
        item(bench, 0),
        item(bench, 1, first=101, last=101),  # a Thursday: no time
        item(bench, 2, "structural prune", status="wished", part="low"),
        item(bench, 2, "wire", first=20, last=90, status="possible"),
    ]
    found = year(bench, *items)
    bought = supplies(plan_of(*items), found, grove_of(bench), knowledge(), [])
    assert len(found.no_time) == 1
    assert [(soil.pots, round(soil.litres, 2)) for soil in bought.soil] == [(1, 2.2)]
    assert not bought.wire
    assert (bought.paste.wounds, bought.paste.works) == (1, 0)
    assert [(pot.tree_id, pot.litres) for pot in bought.pots] == [(bench.trees[0].id, 2.0)]
    assert bought.cautions == ("soil_dust", "chemicals")
    nothing = supplies(plan_of(), replace(found, jobs=(), soil=()), grove_of(bench_of(0)), knowledge(), [])
    assert not (nothing.soil)
    assert not (nothing.wire)
    assert not (nothing.pots)
    assert not (nothing.cautions)
    assert not (nothing.fertilizer.trees)
