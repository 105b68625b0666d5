"""Faults of stages, units and bases, each as a change of one bundled file."""

from __future__ import annotations

from tests.knowledge.broken import Bad

MAPLE, BLACK, JADE = (
    "species/acer-palmatum.toml",
    "species/pinus-thunbergii.toml",
    "species/crassula-ovata.toml",
)
PINE, DECIDUOUS, ANY = "kinds/pine.toml", "kinds/deciduous.toml", "kinds/any-tree.toml"

SMALLER_NEED = """
[stages.needles_emerging]
sign = "Needle tips show."
need = { ln_heat = 3.0, spread = 0.45, of = "genus" }
basis = "from memory"
"""
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
        "opens = { mean_year",
        'opens = { calendar = "13-40", mean_year',
        f"{ANY}: work[0].opens.calendar: found '13-40'; right would be",
    ),
    Bad(
        "a month-day of a pest that is none",
        "pests.toml",
        'start = "01-01"',
        'start = "13-40"',
        "pests.toml: spruce spider mites.opens.heat_since.start: found '13-40'; right would be",
    ),
]
BASES = [
    Bad(
        "basis of water",
        JADE,
        'may_dry = true\nbasis = "common practice"',
        "may_dry = true",
        f"{JADE}: water.basis: missing",
    ),
    Bad(
        "basis of water of a kind",
        PINE,
        'may_dry = true\nbasis = "common practice"',
        "may_dry = true",
        f"{PINE}: water.basis: missing",
    ),
    Bad("basis of toxicity", MAPLE, '"\nbasis = "from memory"', '"', f"{MAPLE}: toxicity.basis: missing"),
    Bad(
        "basis of never",
        "kinds/single-flush-pine.toml",
        'basis = "published"\nsource = "kusamura"\n',
        "",
        "kinds/single-flush-pine.toml: never.decandling.basis: missing",
    ),
    Bad(
        "basis of a line of tolerance",
        MAPLE,
        'value = -4, basis = "estimate",',
        "value = -4,",
        f"{MAPLE}: tolerance.roots_protect_below_c.basis: missing",
    ),
    Bad("basis of a pest", "pests.toml", 'basis = "estimate"\n', "", "pests.toml: aphids.basis: missing"),
    Bad(
        "basis of an option",
        "choices.toml",
        'basis = "published"\nsource = "boon-2010-06"\n',
        "",
        "choices.toml: feeding after decandling.options.pause.basis: missing",
    ),
]
