"""Faults in profiles, kinds, pests and choices: each is told with its file and key, and what would be right."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import pytest

from tests.species.broken import add, change, faults

if TYPE_CHECKING:
    from pathlib import Path


class Bad(NamedTuple):
    """A change of one file, added at its end where ``before`` is empty, and the start of the line it must cause."""

    what: str
    file: str
    before: str
    after: str
    line: str


MAPLE, MUGO, FIG = "species/acer-palmatum.toml", "species/pinus-mugo.toml", "species/ficus-microcarpa.toml"
BLACK, JADE = "species/pinus-thunbergii.toml", "species/crassula-ovata.toml"
PINE, DECIDUOUS, ANY = "kinds/pine.toml", "kinds/deciduous.toml", "kinds/any-tree.toml"

DECANDLING = """
[[work]]
operation = "decandling"
opens = { stage = "needles_open" }
closes = [{ stage = "needles_open", days = 7 }]
due = "wish"
how = "Cut the candles."
basis = "common practice"
"""
SMALLER_NEED = """
[stages.needles_emerging]
sign = "Needle tips show."
need = { ln_heat = 3.0, spread = 0.45, of = "genus" }
basis = "from memory"
"""
NEVER = '\n[never.dance]\nwhy = "it has no feet."\nbasis = "common practice"\n'

STAGES = [
    Bad(
        "a need smaller than that of an earlier stage",
        BLACK,
        "",
        SMALLER_NEED,
        f"{BLACK}: stages.needles_emerging.need.ln_heat: found 3; right would be at least the 4.82 of "
        "candles_extending, which comes before it",
    ),
    Bad(
        "such a need in a kind",
        PINE,
        "ln_heat = 6.06",
        "ln_heat = 4.06",
        f"{PINE}: stages.needles_emerging.need.ln_heat: found 4.06; right would be at least the 4.82 of",
    ),
    Bad(
        "a spread too narrow for a species",
        MAPLE,
        "spread = 0.45",
        "spread = 0.3",
        f"{MAPLE}: stages.leaves_present.need.spread: found 0.3; right would be 0.35 or more for a need known "
        "of 'species'",
    ),
    Bad(
        "a spread too narrow for a genus",
        PINE,
        "spread = 0.45",
        "spread = 0.4",
        f"{PINE}: stages.needles_emerging.need.spread: found 0.4; right would be 0.45 or more",
    ),
    Bad(
        "a spread too narrow for woody plants",
        DECIDUOUS,
        "spread = 0.60",
        "spread = 0.5",
        f"{DECIDUOUS}: stages.bud_break.need.spread: found 0.5; right would be 0.6 or more",
    ),
    Bad(
        "a need of nobody",
        MAPLE,
        'of = "species"',
        'of = "clan"',
        f"{MAPLE}: stages.leaves_present.need.of: found 'clan'; right would be 'species', 'genus' or",
    ),
    Bad(
        "after a stage that stands below",
        MAPLE,
        'after = { stage = "bud_break", days = 32',
        'after = { stage = "leaf_fall", days = 32',
        f"{MAPLE}: stages.leaves_full_size.after.stage: found 'leaf_fall'; right would be a stage that stands above",
    ),
    Bad(
        "before a stage that stands above",
        DECIDUOUS,
        'before = { stage = "bud_break", days = 17',
        'before = { stage = "bud_swell", days = 17',
        f"{DECIDUOUS}: stages.bud_swell.before.stage: found 'bud_swell'; right would be a stage that stands below",
    ),
    Bad(
        "two rules for a stage",
        MAPLE,
        "need = { ln_heat",
        'after = { stage = "bud_break", days = 1, spread_days = 1 }\nneed = { ln_heat',
        f"{MAPLE}: stages.leaves_present: give exactly one of need, warmth, after, before,",
    ),
]
UNITS = [
    Bad(
        "degrees of an anchor",
        ANY,
        "at_c = 10",
        "at = 10",
        f"{ANY}: work[1].opens.mean_year.at: found 10; there is no such key, right would be at_c, with its unit",
    ),
    Bad(
        "degrees of a night",
        PINE,
        "at_c = { line",
        "at = { line",
        f"{PINE}: work[7].opens.air.at: found ",
    ),
    Bad(
        "degrees of a pest",
        "pests.toml",
        "at_c = 10",
        "at = 10",
        "pests.toml: aphids.opens.mean_year.at: found 10; there is no such key, right would be at_c, with its unit",
    ),
    Bad(
        "days of a spread",
        MAPLE,
        "days = 13, spread_days = 4",
        "days = 13, spread = 4",
        f"{MAPLE}: stages.leaf_fall.after.spread: found 4; there is no such key, right would be spread_days, with",
    ),
    Bad(
        "hours of daylight",
        DECIDUOUS,
        "below_h = 12.5",
        "below = 12.5",
        f"{DECIDUOUS}: stages.growth_stop.day_length.below: found 12.5; there is no such key, right would be below_h,",
    ),
    Bad(
        "days after a stage",
        MAPLE,
        "days = 13, spread_days = 4",
        "spread_days = 4",
        f"{MAPLE}: stages.leaf_fall.after.days: missing",
    ),
    Bad(
        "a month-day that is none",
        ANY,
        '"10-31"',
        '"13-40"',
        f"{ANY}: work[0].closes[0].calendar: found '13-40'; right would be",
    ),
    Bad(
        "a month-day of a pest that is none",
        "pests.toml",
        'start = "03-01"',
        'start = "13-40"',
        "pests.toml: spruce spider mites.opens.heat_since.start: found '13-40'; right would be",
    ),
]
NAMES = [
    Bad(
        "decandling a pine of one flush",
        MUGO,
        "",
        DECANDLING,
        f"{MUGO}: work[4].operation: found 'decandling', which is never done to a single-flush-pine, see never;",
    ),
    Bad(
        "an unknown kind",
        MAPLE,
        'kind = "deciduous"',
        'kind = "decidous"',
        f"{MAPLE}: kind: found 'decidous'; right would be one of: any-tree, deciduous,",
    ),
    Bad(
        "a kind that is of itself", PINE, 'of = "any-tree"', 'of = "pine"', f"{PINE}: of: found 'pine'; right"
    ),
    Bad(
        "kinds that are of each other",
        ANY,
        "label",
        'of = "deciduous"\nlabel',
        f"{DECIDUOUS}: of: found 'any-tree'; right",
    ),
    Bad(
        "without a work that is not there",
        MAPLE,
        'without = ["structural prune in',
        'without = ["structural prune at',
        f"{MAPLE}: without: found 'structural prune at late winter'; right would be a work of its kind: turn pots,",
    ),
    Bad(
        "an unlisted pest",
        MAPLE,
        '"mildew"]',
        '"mildews"]',
        f"{MAPLE}: pests[3]: found 'mildews'; right would be one of pests.toml: aphids,",
    ),
    Bad(
        "a pest that hangs on a stage the tree has not",
        MAPLE,
        '"mildew"]',
        '"petal blight"]',
        "pests.toml: petal blight.opens.stage: found 'flowering'; right would be a known name",
    ),
    Bad(
        "a line of a kind that is not there",
        DECIDUOUS,
        'line = "shade_from_c"',
        'line = "shade_c"',
        f"{DECIDUOUS}: work[18].opens.mean_year.at_c: found {{'line': 'shade_c', 'shift_c': -12}}; right would be a "
        "line of [tolerance] that is one value",
    ),
    Bad(
        "a line that is a range",
        MUGO,
        "opens = { day_length_below_h = 14 }",
        'opens = { mean_year = { passes = "below", at_c = { line = "sun_hours" } } }',
        f"{MUGO}: work[1].opens.mean_year.at_c: found {{'line': 'sun_hours'}}; right would be a line",
    ),
    Bad(
        "never an unknown operation",
        MAPLE,
        "",
        NEVER,
        f"{MAPLE}: never.dance: found 'dance'; right would be a known",
    ),
    Bad(
        "a kind nobody uses",
        "kinds/palm.toml",
        "",
        'label = "palm"\nof = "tropical"\n',
        "kinds/palm.toml: no profile is of this kind; right would be to remove it",
    ),
    Bad(
        "an unknown key of a kind",
        PINE,
        "label =",
        "lable =",
        f"{PINE}: lable: found 'pine'; there is no such key",
    ),
]
ANSWERS = [
    Bad(
        "an unknown choice",
        DECIDUOUS,
        'choice = "winter store", option = "cold"',
        'choice = "winter stores", option = "cold"',
        f"{DECIDUOUS}: work[14].when.choice: found 'winter stores'; right would be a known name, such as winter store,",
    ),
    Bad(
        "an unknown option",
        DECIDUOUS,
        'choice = "winter store", option = "cold"',
        'choice = "winter store", option = "freezing"',
        f"{DECIDUOUS}: work[14].when.option: found 'freezing'; right would be a known name, such as co",
    ),
    Bad(
        "an unknown option of a hold",
        FIG,
        'option = "apart"',
        'option = "asunder"',
        f"{FIG}: work[1].holds[0].when.option: found 'asunder'; right would be a known name, such as apart,",
    ),
    Bad(
        "a default that is no option",
        "choices.toml",
        'default = "pause"',
        'default = "paws"',
        "choices.toml: feeding after decandling: default is 'paws'; right would be one of pause, no pause",
    ),
]
BASES = [
    Bad(
        "water",
        JADE,
        'may_dry = true\nbasis = "common practice"',
        "may_dry = true",
        f"{JADE}: water.basis: missing",
    ),
    Bad(
        "water of a kind",
        PINE,
        'may_dry = true\nbasis = "common practice"',
        "may_dry = true",
        f"{PINE}: water.basis: missing",
    ),
    Bad("toxicity", MAPLE, '"\nbasis = "from memory"', '"', f"{MAPLE}: toxicity.basis: missing"),
    Bad(
        "never",
        "kinds/single-flush-pine.toml",
        'basis = "published"\nsource = "kusamura"\n',
        "",
        "kinds/single-flush-pine.toml: never.decandling.basis: missing",
    ),
    Bad(
        "a line of tolerance",
        MAPLE,
        'value = -4, basis = "estimate",',
        "value = -4,",
        f"{MAPLE}: tolerance.roots_protect_below_c.basis: missing",
    ),
    Bad("a pest", "pests.toml", 'basis = "estimate"\n', "", "pests.toml: aphids.basis: missing"),
    Bad(
        "an option",
        "choices.toml",
        'basis = "published"\nsource = "boon-2010-06"\n',
        "",
        "choices.toml: feeding after decandling.options.pause.basis: missing",
    ),
]
CASES = [*STAGES, *UNITS, *NAMES, *ANSWERS, *BASES]


def breaks(config: Path, bad: Bad) -> None:
    if bad.before:
        change(config / bad.file, bad.before, bad.after)
    else:
        add(config / bad.file, bad.after)


@pytest.mark.parametrize("bad", CASES, ids=[bad.what for bad in CASES])
def test_a_fault_is_told_once_with_its_file_and_key(config: Path, bad: Bad) -> None:
    breaks(config, bad)
    found = faults(config)
    assert sum(line.startswith(f"config/{bad.line}") for line in found) == 1, found


def test_a_missing_unit_is_the_only_thing_told(config: Path) -> None:
    change(config / "pests.toml", "at_c = 10", "at = 10")
    assert faults(config) == (
        "config/pests.toml: aphids.opens.mean_year.at_c: missing; right would be a value here",
        "config/pests.toml: aphids.opens.mean_year.at: found 10; there is no such key, right would be at_c, "
        "with its unit",
    )


def test_many_faults_are_told_at_once(config: Path) -> None:
    """Two faults of a kind mask none of the profiles, and the other way round."""
    bads = [
        bad for bad in CASES if bad in (STAGES[2], STAGES[6], UNITS[0], UNITS[2], *NAMES[:1], *NAMES[4:6])
    ]
    bads += [ANSWERS[2], ANSWERS[3], BASES[0], BASES[3], NAMES[9], NAMES[10]]
    assert len({bad.file for bad in bads}) >= 7
    for bad in bads:
        breaks(config, bad)
    found = faults(config)
    for bad in bads:
        assert sum(line.startswith(f"config/{bad.line}") for line in found) == 1, (bad.what, found)
    echoes = sum(
        "at_c: missing" in line for line in found
    )  # a missing unit is told as missing and as unknown
    assert len(found) == len(bads) + echoes
