"""The message catalogue: one English sentence for each reason code. Translators start here.

Names in braces: ``subject`` what the fact is about, ``found`` and ``needed`` the values, written out.
"""

from __future__ import annotations

REASONS: dict[str, str] = {
    # why it is in the plan
    "programme": "Part of each year's work on a tree whose aim is {subject}.",
    "season": "Every tree of this kind goes through it each year.",
    "wished": "You asked for it.",
    "interval": "Last done on {found}; every {needed} years at this size.",
    "put_off": "Put off until {found}.",
    # what opens it
    "opens_stage": "Opens with {subject}, likely {found}.",
    "opens_stage_shifted": "Opens {shift} {subject}, likely {found}.",
    "opens_stage_heat": "Opens {needed} after {subject} (likely {found}).",
    "opens_day_length": "Opens as day length falls below {needed}, on {found}.",
    "opens_before_frost": "Opens about {needed} days before the first frost, likely {found}; earlier where the summer is cool.",
    "opens_growth_stop_for_frost": (
        "Frost is too rare here to count from: opens about {needed} days before growth stops with the shortening days, {found}."
    ),
    "opens_air_night_first_below": "Opens with the first night below {needed}, likely {found}.",
    "opens_air_night_last_below": "Opens after the last night below {needed}, likely {found}.",
    "opens_air_day_first_above": "Opens with the first days above {needed}, likely {found}.",
    "opens_air_day_last_above": "Opens after the last days above {needed}, likely {found}.",
    "opens_calendar": "Opens by the calendar, on {found}: no better sign is known.",
    "after_stage": "Not before {subject}.",
    # what closes it
    "closes_stage": "Closes with {subject}, likely {found}.",
    "closes_stage_shifted": "Closes {shift} {subject}, likely {found}.",
    "closes_stage_heat": "Closes {needed} after {subject} (likely {found}).",
    "closes_day_length": "Closes as day length falls below {needed}, on {found}.",
    "closes_before_frost": "Closes about {needed} days before the first frost, likely {found}; earlier where the summer is cool.",
    "closes_growth_stop_for_frost": "Closes about {needed} days before growth stops with the shortening days, {found}.",
    "closes_safe_frost": "Last safe day: {needed} weeks before the first frost, likely {found}. The other limits come later.",
    "closes_safe_heat": "Last safe day: {needed} must still come before the leaves colour, likely {found}. The other limits come later.",
    "closes_safe_growth_stop": (
        "Last safe day: {needed} weeks to leaf out again before growth stops with the shortening days, {found}. "
        "The other limits come later."
    ),
    "closes_air_night_first_below": "Closes with the first night below {needed}, likely {found}.",
    "closes_air_night_last_below": "Closes after the last night below {needed}, likely {found}.",
    "closes_air_day_first_above": "Closes with the first days above {needed}, likely {found}.",
    "closes_air_day_last_above": "Closes after the last days above {needed}, likely {found}.",
    "closes_calendar": "Closes by the calendar, on {found}: no better sign is known.",
    # what the tree brings
    "vigour_enough": "Vigour {found}; at least {needed} is wanted.",
    "hold": "Waits {needed} weeks after {subject} on {found}.",
    "large_first": "Large trees take the first half of the window, small ones the second.",
    "small_last": "Small trees take the second half of the window, large ones the first.",
    # why it is not in the plan
    "aim_unfit": "Not for a tree whose aim is {found}; for {needed}.",
    "other_aim": "Not part of each year's work for the aim {found}. Ask for it with: leafclock wish",
    "vigour_low": "Vigour {found} is too low; {needed} is wanted. A weak tree recovers first.",
    "not_fed": "Wants a tree fed since {subject}, and no feeding since {needed} is written down.",
    "done": "Done on {found}; not again in this cycle.",
    "rests": "Done on {found}; {needed} full cycle of rest comes between two.",
    "same_cycle": "Not in the same cycle as {subject} on {found}.",
    "one_heavy_job": "One heavy job a year for a tree, and {subject} (about {found}) takes its place. Ask for both with: leafclock wish --anyway",
    "heavy_done": "One heavy job a year for a tree, and {subject} was done on {found}.",
    "interval_unknown": "Due by years, and the last time is not written down. Write it with: leafclock log",
    "interval_early": "Last done on {found}; every {needed} years at this size.",
    "not_wished": "Only when you ask for it, with: leafclock wish",
    "dropped": "You answered: not this year.",
    "no_winter": (
        "There is no winter here that spring could be told from, so no spring is predicted: "
        "write down what you see with leafclock seen, and the rest of the year runs from that."
    ),
    "never_opens": "What opens it ({subject}) does not come here.",
    "over": "The window closed about {found}.",
    "closes_before_opening": "It would close (about {found}) before it opens (about {needed}).",
}

ANCHOR_NAMES: dict[str, str] = {
    "before_frost": "a first frost or the end of growth",
    "growth_stop_for_frost": "the end of growth",
    "day_length": "that day length",
    "air_night_first_below": "so cold a night in autumn",
    "air_night_last_below": "so cold a night in spring",
    "air_day_first_above": "days so hot",
    "air_day_last_above": "days so hot",
}

BASES: dict[str, str] = {
    "published": "published",
    "fitted": "fitted to records",
    "common practice": "common practice",
    "from memory": "from memory, unchecked",
    "estimate": "an estimate",
}

WEATHER: dict[str, str] = {
    "years": "Ranges come from {years} past years of measured weather.",
    "resampled": "Only {years} past years of weather are known: their months are shuffled into {count} possible years, so ranges are rough.",
    "normals": (
        "This year's weather is not known yet: ranges come from the monthly normals of {place}{distance}, "
        "turned into {count} possible years, and are wide. Bring in measured days with: leafclock weather import"
    ),
}

WEATHER_SHORT: dict[str, str] = {
    "years": "Dates rest on {years} past years of measured weather.",
    "resampled": "Dates rest on {years} past years of measured weather and are rough.",
    "normals": "Dates rest on the monthly normals of {place} and are rough.",
}
