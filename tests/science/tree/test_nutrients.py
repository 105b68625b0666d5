"""Nutrients of solutions against printed tables of extension services, and what must hold of any label.

Tables: University of Massachusetts Extension, Fertilizer calculations for greenhouse crops (13.5 oz of 20 % and 18 oz
of 15 % nitrogen in 100 gal make 200 ppm); Texas A&M, Nutrition and fertility (an ounce in 100 gal: 75 x the share);
Cornell (N. Mattson) and a fertilizer maker's stock table, as copied in the project's trade facts, D1.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.science.tree.nutrients import (
    GRAMS_PER_OUNCE,
    K_IN_K2O,
    LITRES_PER_GALLON,
    P_IN_P2O5,
    ProductLabel,
    grams,
    grams_per_litre,
    millilitres,
    solution,
)

TABLES = 0.02  # printed tables round up by about 1 %

OUNCE_IN_100_GALLONS = GRAMS_PER_OUNCE / (100 * LITRES_PER_GALLON)  # [g/L]

AMOUNTS = st.floats(0.0, 1000.0)
SHARES = st.floats(0.0, 33.0)
LABELS = st.builds(ProductLabel, SHARES, SHARES, SHARES)


@pytest.mark.parametrize(
    ("label", "n_mg_l", "g_per_l"),
    [
        (ProductLabel(20, 20, 20), 50, 0.250),
        (ProductLabel(20, 10, 20), 100, 0.500),
        (ProductLabel(20, 20, 20), 150, 0.750),
        (ProductLabel(20, 10, 20), 200, 1.000),
        (ProductLabel(15, 5, 15), 50, 0.333),
        (ProductLabel(15, 5, 15), 100, 0.667),
        (ProductLabel(15, 5, 15), 200, 1.333),
        (ProductLabel(24, 8, 16), 50, 0.208),
        (ProductLabel(24, 8, 16), 100, 0.417),
        (ProductLabel(24, 8, 16), 200, 0.833),
        (ProductLabel(10, 10, 10), 50, 0.5),
        (ProductLabel(10, 10, 10), 100, 1.0),
        (ProductLabel(10, 10, 10), 200, 2.0),
    ],
)
def test_exact_grams(label: ProductLabel, n_mg_l: float, g_per_l: float) -> None:
    assert grams_per_litre(label, n_mg_l) == pytest.approx(g_per_l, abs=0.0005)
    assert solution(label, grams_per_litre(label, n_mg_l)).n == pytest.approx(n_mg_l)


@pytest.mark.parametrize(
    ("n_percent", "ounces_per_100_gallons", "ppm"),
    [
        (20, 13.5, 200),  # University of Massachusetts
        (15, 18.0, 200),  # University of Massachusetts
        (20, 6.75, 100),
        (20, 20.25 / 2, 150),  # Cornell: stock of 20.25 oz/gal at 1:200
        (15, 4.5, 50),  # stock of so many ounces a gallon at 1:100
        (15, 9.0, 100),
        (15, 22.0, 250),  # Texas A&M: calcium nitrate
        (100, 1.0, 75),  # Texas A&M: the rule itself
    ],
)
def test_published_tables_agree_within_two_per_cent(
    n_percent: float, ounces_per_100_gallons: float, ppm: float
) -> None:
    made = solution(ProductLabel(n_percent, 0, 0), ounces_per_100_gallons * OUNCE_IN_100_GALLONS)
    assert made.n == pytest.approx(ppm, rel=TABLES)


def test_factors_are_those_of_the_atomic_weights() -> None:
    assert pytest.approx(61.948 / 141.943, rel=1e-12) == P_IN_P2O5
    assert pytest.approx(78.196 / 94.195, rel=1e-12) == K_IN_K2O
    # The short forms in print (Pennsylvania State University: 0.44 and 0.83; the UK's labelling rules: 0.436, 0.830).
    assert (round(P_IN_P2O5, 2), round(K_IN_K2O, 2)) == (0.44, 0.83)
    assert (round(P_IN_P2O5, 3), round(K_IN_K2O, 3)) == (0.436, 0.830)


def test_phosphorus_and_potassium_are_told_as_elements() -> None:
    made = solution(ProductLabel(20, 20, 20), 1.0)
    assert (made.n, round(made.p, 1), round(made.k, 1)) == (200.0, 87.3, 166.0)


def test_an_ounce_in_100_gallons() -> None:
    assert pytest.approx(74.9, abs=0.05) == OUNCE_IN_100_GALLONS * 1000


@pytest.mark.parametrize(
    "numbers", [(60, 30, 30), (-1, 0, 0), (101, 0, 0), (math.nan, 0, 0), (0, math.inf, 0)]
)
def test_no_such_label(numbers: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="right would be"):
        ProductLabel(*numbers)


def test_what_cannot_be_measured_is_refused() -> None:
    with pytest.raises(ValueError, match="no nitrogen"):
        grams_per_litre(ProductLabel(0, 10, 10), 50)
    for bad in (-1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="right would be"):
            solution(ProductLabel(20, 20, 20), bad)
    for bad in (0.0, -1.0, math.nan):
        with pytest.raises(ValueError, match="density"):
            millilitres(1.0, bad)


@given(LABELS, AMOUNTS)
def test_grams_of_a_concentration_make_it(label: ProductLabel, n_mg_l: float) -> None:
    if label.n > 1e-3:
        assert solution(label, grams_per_litre(label, n_mg_l)).n == pytest.approx(n_mg_l, abs=1e-9)


@given(AMOUNTS, st.floats(0.5, 3.0))
def test_volume_and_mass_turn_into_each_other(mass: float, density: float) -> None:
    assert grams(millilitres(mass, density), density) == pytest.approx(mass)


@given(LABELS, AMOUNTS, AMOUNTS)
def test_more_product_makes_a_stronger_solution_in_proportion(
    label: ProductLabel, one: float, two: float
) -> None:
    both, first, second = solution(label, one + two), solution(label, one), solution(label, two)
    for element in ("n", "p", "k"):
        parts = getattr(first, element) + getattr(second, element)
        assert getattr(both, element) == pytest.approx(parts, abs=1e-9)
