"""A tree as hazards see it: the lines of its profile, and what moves them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from tests.alerts.hazards.gardens import KNOWLEDGE, RULES, tree

if TYPE_CHECKING:
    from alerts.hazards.stand import Lines

MAPLE = KNOWLEDGE.profiles["acer-palmatum"].tolerance


def pair(lines: Lines | None) -> tuple[float, float]:
    assert lines is not None
    return lines.caution, lines.danger


def test_lines_are_those_of_the_profile() -> None:
    stand = tree("acer-palmatum")
    assert pair(stand.heat) == (MAPLE.leaf_caution_c.value, MAPLE.leaf_danger_c.value)
    assert stand.cold_roots.caution == MAPLE.roots_protect_below_c.value
    # Havis 1976, mature roots, as quoted: -10 degC.
    assert stand.cold_roots.danger == -10.0
    assert stand.cold_roots.reasons == ()


@pytest.mark.parametrize(
    ("condition", "reasons", "lower"),
    [  # common practice: two degrees while leaves are young, opened up or short of roots, one for a weak tree
        ({"foliage": "new"}, ("new leaves",), 2.0),
        ({"weeks_since_leaves_taken": 1.0}, ("opened up",), 2.0),
        ({"weeks_since_leaves_taken": 5.0}, (), 0.0),
        ({"weeks_since_root_work": 3.0}, ("fresh roots",), 2.0),
        ({"vigour": 2}, ("weak",), 1.0),
        (
            {"vigour": 1, "foliage": "new", "weeks_since_root_work": 1.0},
            ("new leaves", "fresh roots", "weak"),
            5.0,
        ),
    ],
)
def test_what_makes_leaves_tender_lowers_their_lines(
    condition: dict[str, Any], reasons: tuple[str, ...], lower: float
) -> None:
    usual, tender = tree("acer-palmatum").heat, tree("acer-palmatum", **condition).heat
    assert tender is not None
    assert tender.reasons == reasons
    assert [u - t for u, t in zip(pair(usual), pair(tender), strict=True)] == [lower, lower]


def test_a_bare_tree_has_no_leaves_to_harm() -> None:
    bare, buds = (tree("acer-palmatum", foliage=of, used_to_mol=5.0) for of in ("none", "buds"))
    assert (bare.heat, bare.frost, bare.used_to_mol) == (None, None, None)
    assert (buds.heat, buds.used_to_mol) == (None, None)
    assert pair(buds.frost)[0] < pair(tree("acer-palmatum", foliage="new").frost)[0]
    assert bare.drinks_m2 < tree("acer-palmatum").drinks_m2
    assert buds.leaf.width_m == RULES.leaf["bud"].width_m


def test_frost_takes_nothing_from_leaves_about_to_fall_but_heat_and_thirst_do() -> None:
    falling, hard = (tree("acer-palmatum", foliage=of, used_to_mol=20.0) for of in ("falling", "hard"))
    assert falling.frost is None
    assert replace(falling, frost=hard.frost) == hard


def test_hard_needles_have_no_line_of_frost() -> None:
    assert tree("pinus-thunbergii").frost is None


@pytest.mark.parametrize(
    ("species", "borne_c", "harms_c"),
    [  # growers: a fig bears single nights of 7 to 10 degC, chill is reported from below; jade and bougainvillea 5
        ("ficus-microcarpa", 9.0, 6.6),
        ("crassula-ovata", 6.0, 4.0),
        ("bougainvillea-glabra", 6.0, 4.0),
    ],
)
@pytest.mark.parametrize("foliage", ["new", "hard", "none"])
def test_cold_above_freezing_harms_trees_of_warm_countries_root_and_crown(
    species: str, borne_c: float, harms_c: float, foliage: str
) -> None:
    stand = tree(species, foliage=foliage, weeks_since_root_work=1.0)
    assert stand.chills
    for lines in (stand.frost, stand.cold_roots):
        assert lines is not None
        assert harms_c < lines.caution < borne_c
        assert 0.0 < lines.danger < 5.0
        assert lines.reasons == ("chill",)
    assert not tree("acer-palmatum", foliage=foliage).chills


def test_fresh_roots_are_sheltered_at_freezing_for_some_weeks() -> None:
    """Always from -2.8 degC, 27 degF (common practice)."""
    fresh = tree("acer-palmatum", foliage="none", weeks_since_root_work=1.0).cold_roots
    assert (fresh.caution, fresh.danger, fresh.reasons) == (0.0, -2.8, ("fresh roots",))
    later = tree("acer-palmatum", foliage="none", weeks_since_root_work=20.0).cold_roots
    assert later == tree("acer-palmatum").cold_roots
    fig = tree("ficus-microcarpa", weeks_since_root_work=1.0).cold_roots
    assert fig.caution == tree("ficus-microcarpa").cold_roots.caution  # its own line is the higher


def test_what_is_not_written_down_goes_by_size() -> None:
    small, large = (tree("acer-palmatum", size=size) for size in ("small", "large"))
    assert small.pot.litres == KNOWLEDGE.growth.pots.small_litres.value
    assert large.drinks_m2 > small.drinks_m2
    assert tree("acer-palmatum", pot_litres=7.5).pot.litres == 7.5


def test_an_unknown_pot_substrate_or_species_is_refused() -> None:
    with pytest.raises(KeyError, match="tin"):
        tree("acer-palmatum", pot="tin")
    with pytest.raises(KeyError, match="sawdust"):
        tree("acer-palmatum", substrate="sawdust")
    with pytest.raises(KeyError, match="acer-rubrum"):
        tree("acer-rubrum")


def test_trees_alike_but_for_their_id_are_alike() -> None:
    one, other = (tree("acer-palmatum", name=name) for name in ("one", "other"))
    assert replace(one, tree=other.tree) == other
    assert hash(replace(one, tree=other.tree)) == hash(other)
