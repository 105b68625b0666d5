"""Faults of names and answers, each as a change of one bundled file."""

from __future__ import annotations

from tests.knowledge.broken import Bad

MAPLE, MUGO, FIG = "species/acer-palmatum.toml", "species/pinus-mugo.toml", "species/ficus-microcarpa.toml"
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
NEVER = '\n[never.dance]\nwhy = "it has no feet."\nbasis = "common practice"\n'

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
        f"{DECIDUOUS}: shade[0].from_c: found {{'line': 'shade_c'}}; right would be a line of [tolerance] that is one "
        "value",
    ),
    Bad(
        "a shelter that ends with an unknown stage",
        "kinds/evergreen-conifer.toml",
        'wakes = "shoots_extending"',
        'wakes = "shoots_extendings"',
        "kinds/evergreen-conifer.toml: shelter[0].wakes: found 'shoots_extendings'; right would be a known name, such as shoots_extending,",
    ),
    Bad(
        "an unknown answer for shade",
        DECIDUOUS,
        'choice = "summer shade", option = "cloth"',
        'choice = "summer shade", option = "clot"',
        f"{DECIDUOUS}: shade[0].when.option: found 'clot'; right would be a known name, such as cloth, none",
    ),
    Bad(
        "trees that come back before they go",
        "places.toml",
        "out_of = 0.15",
        "out_of = 0.35",
        "places.toml: risk.night: out_of is 0.35 and into 0.3; right would be out_of at most",
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
        f"{DECIDUOUS}: shelter[0].when.choice: found 'winter stores'; right would be a known name, such as winter store,",
    ),
    Bad(
        "an unknown option",
        DECIDUOUS,
        'choice = "winter store", option = "cold"',
        'choice = "winter store", option = "freezing"',
        f"{DECIDUOUS}: shelter[0].when.option: found 'freezing'; right would be a known name, such as co",
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
