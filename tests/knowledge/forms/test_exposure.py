"""config/exposure.toml: as published where it is, whole for every profile, and faults told by their key."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from calendar_core.app.shell.session import knowledge
from calendar_core.knowledge.forms.exposure import BENCH, BUD
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.profiles.loading import load_knowledge
from tests.knowledge.broken import Bad, is_told

if TYPE_CHECKING:
    from pathlib import Path

KNOWLEDGE = knowledge()
RULES = KNOWLEDGE.exposure
FILE, HAZARDS = "exposure.toml", "hazards.toml"


def test_every_profile_has_a_leaf_and_lines() -> None:
    for name, profile in KNOWLEDGE.profiles.items():
        assert RULES.leaf_of.form(name, profile.kind) in RULES.leaf.keys() - {BUD}, name
        has_lines = profile.tolerance.chill or {"buds", "new"} <= RULES.frost[profile.habit].keys()
        assert has_lines, name


@pytest.mark.parametrize(
    ("species", "least_m", "most_m"),
    [  # from memory: needles 1 to 2 mm thick; leaves after years in a pot
        ("pinus-thunbergii", 0.001, 0.003),
        ("larix-kaempferi", 0.001, 0.003),
        ("zelkova-serrata", 0.01, 0.03),
        ("acer-palmatum", 0.03, 0.07),
        ("ginkgo-biloba", 0.05, 0.10),
    ],
)
def test_leaves_are_as_wide_as_on_the_bench(species: str, least_m: float, most_m: float) -> None:
    form = RULES.leaf[RULES.leaf_of.form(species, KNOWLEDGE.profiles[species].kind)]
    assert least_m <= form.width_m <= most_m


def test_published_albedo_and_wind() -> None:
    # FAO-56: grass 0.23. Beaufort 8 and 10 begin at 17.2 and 24.5 m/s (WMO-No. 306).
    assert RULES.surface["grass"].albedo == 0.23
    assert (RULES.wind.gust_ms.caution, RULES.wind.gust_ms.danger) == (17.2, 24.5)


def test_buds_stand_more_cold_than_new_leaves() -> None:
    # Apple: a tenth dies at -7.8 degC at green tip, at -2.2 in bloom (Michigan State University Extension).
    for habit in ("deciduous", "conifer", "broadleaf evergreen"):
        lines = RULES.frost[habit]
        assert lines["buds"].caution_c < lines["new"].caution_c, habit
        assert lines["buds"].danger_c < lines["new"].danger_c, habit
    assert RULES.frost["deciduous"]["buds"].danger_c >= -7.8
    assert RULES.frost["deciduous"]["new"].danger_c >= -2.2


@pytest.mark.parametrize(
    ("word", "surface"), [("Paving", "paving"), (" pale wall", "pale wall"), ("trampoline", BENCH)]
)
def test_a_surface_is_known_by_its_word(word: str, surface: str) -> None:
    assert RULES.surface_of(word) is RULES.surface[surface]


def test_reasons_last_their_weeks() -> None:
    weeks = RULES.lowers["fresh roots"].weeks
    assert weeks is not None
    assert [RULES.lasts("fresh roots", w) for w in (None, 0.0, weeks - 1, weeks)] == [
        False,
        True,
        True,
        False,
    ]
    assert not RULES.lasts("new leaves", 0.0)  # seen on the tree, not counted in weeks


@pytest.mark.slow
@pytest.mark.parametrize(
    "bad",
    [
        Bad(
            "stomata that shut wider",
            FILE,
            "stomata_shut_mol = 0.005",
            "stomata_shut_mol = 0.5",
            f"{FILE}: leaf.needle: stomata_shut_mol is 0.5 and stomata_open_mol 0.1; right would be less when shut",
        ),
        Bad(
            "a leaf as wide as a hand of bananas",
            FILE,
            "width_m = 0.05",
            "width_m = 5",
            f"{FILE}: leaf.medium.width_m: found 5; right would be less than or equal to 0.5",
        ),
        Bad(
            "an albedo above 1",
            FILE,
            "albedo = 0.23",
            "albedo = 23",
            f"{FILE}: surface.grass.albedo: found 23; right would be less than or equal to 1",
        ),
        Bad(
            "more easy water than water",
            FILE,
            "easy = 0.16",
            "easy = 0.6",
            f"{FILE}: substrate.gritty: easy is 0.6 and held 0.35; right would be no more than held",
        ),
        Bad(
            "frost that kills before it harms",
            FILE,
            "caution_c = -3\ndanger_c = -5",
            "caution_c = -5\ndanger_c = -3",
            f"{FILE}: frost.deciduous.buds: caution_c is -5 and danger_c -3; right would be more",
        ),
        Bad(
            "heat the other way round",
            FILE,
            "caution_c = 38",
            "caution_c = 48",
            f"{FILE}: roots.hot: caution_c is 48 and danger_c 42; right would be less",
        ),
        Bad(
            "stomata that shut before they begin to",
            FILE,
            "stomata_open_until = { value = 0.7",
            "stomata_open_until = { value = 1.7",
            f"{FILE}: drying: stomata_open_until is 1.7 and stomata_shut_from 1.4; right would be less",
        ),
        Bad(
            "gusts the other way round",
            FILE,
            "caution = 17.2",
            "caution = 72",
            f"{FILE}: wind.gust_ms: caution is 72 and danger 24.5; right would be less",
        ),
        Bad(
            "an unknown form of leaf",
            FILE,
            'tropical = "medium"',
            'tropical = "huge"',
            f"{FILE}: leaf_of.kind.tropical: found 'huge'; right would be one of: needle, scale,",
        ),
        Bad(
            "a kind without a form",
            FILE,
            'tropical = "medium"\n',
            "",
            f"{FILE}: leaf_of.kind.tropical: missing; right would be the form of its leaves",
        ),
        Bad(
            "a species nobody has",
            FILE,
            "zelkova-serrata =",
            "zelkova-serratus =",
            f"{FILE}: leaf_of.species.zelkova-serratus: no profile has this name; right would be to remove it",
        ),
        Bad("no bench", FILE, "[surface.bench]", "[surface.bank]", f"{FILE}: surface.bench: missing"),
        Bad("no bud", FILE, "[leaf.bud]", "[leaf.knob]", f"{FILE}: leaf.bud: missing"),
        Bad(
            "a habit there is not",
            FILE,
            "[frost.conifer.buds]",
            "[frost.coniferous.buds]",
            f"{FILE}: frost.coniferous.[key]: found 'coniferous'; right would be",
        ),
        Bad(
            "an estimate without a note",
            FILE,
            'note = "Wood and the mixed ground below."\n',
            "",
            f"{FILE}: surface.bench: basis 'estimate' needs a note",
        ),
        Bad(
            "an unknown key",
            FILE,
            "bench_m =",
            "bench =",
            f"{FILE}: spot.bench: found",
        ),
        Bad(
            "an error below 0",
            HAZARDS,
            "start = 1.2",
            "start = -1.2",
            f"{HAZARDS}: forecast_error.temperature_c.start: found -1.2; right would be greater than or equal to 0",
        ),
        Bad(
            "no error of wind",
            HAZARDS,
            "[forecast_error.ln_wind]",
            "[forecast_error.wind]",
            f"{HAZARDS}: forecast_error.ln_wind: missing",
        ),
    ],
    ids=lambda bad: bad.what,
)
def test_a_bad_table_is_told(config: Path, bad: Bad) -> None:
    is_told(config, bad)


def test_a_folder_with_some_species_lets_the_names_of_others_be() -> None:
    assert load_knowledge(folder("config"), only=["acer-palmatum"]).exposure.leaf_of == RULES.leaf_of
