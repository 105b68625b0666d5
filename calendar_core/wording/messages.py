"""The message catalogue: one English sentence for each reason code. Translators start here.

Names in braces: ``subject`` what the fact is about, ``found`` and ``needed`` the values, written out.
"""

from __future__ import annotations

REASONS: dict[str, str] = {
    # why it is in the plan
    "programme": "Part of each year's work on a tree whose aim is {subject}.",
    "wished": "You asked for it.",
    "decided": "Decided on {found}: {subject}.",
    "interval": "Last done on {found}; {every} at this size.",
    "put_off": "Put off until {found}.",
    # what opens and closes it: {event} from EVENTS, with how long before or after
    "opens": "Opens {event} (likely {found}).",
    "opens_shifted": "Opens {event}, which likely comes {found}.",
    "closes": "Closes {event}.",
    "opens_calendar": "Opens by the calendar, on {found}: no better sign is known.",
    "closes_calendar": "Closes by the calendar, on {found}: no better sign is known.",
    "after_stage": "Not before {subject} (likely {found}).",
    "closes_safe_frost": "Last safe day: {needed} before the first frost, likely {found}. The other limits come later.",
    "closes_safe_heat": (
        "Last safe day: {needed} must still come before the leaves colour, likely {found}. The other limits come later."
    ),
    "closes_safe_growth_stop": (
        "Last safe day: {needed} to leaf out again before growth stops with the shortening days, {found}. "
        "The other limits come later."
    ),
    # what the tree brings
    "vigour_enough": "Vigour {found}; at least {needed} is wanted.",
    "hold": "Waits {needed} after {subject} on {found}.",
    "work_ahead": "Planned about {found}: {subject}. Nothing until {needed} after it.",
    "leaves_back": "Waits {needed} after {subject} on {found}, until new leaves are back and hard.",
    "again": "Last done on {found}; again after {needed}.",
    "stands_open": "It stands in the open already.",
    "stands_elsewhere": "It stands elsewhere.",
    "stands_sheltered": "It stands sheltered already.",
    "large_first": "Large trees take the first half of the window, small ones the second.",
    "small_last": "Small trees take the second half of the window, large ones the first.",
    # when a round of the review is, and what asks for a full look
    "round_opens": "Opens with {subject}, likely {found}.",
    "round_around": "From three weeks before its rest (likely {found}) to three weeks after.",
    "round_closes_frost": "Closes {needed} before the first frost, likely {found}: until then cuts still close.",
    "round_closes_colour": "Closes as leaves colour, likely {found}.",
    "round_closes_buds": "Best within {needed}; it rests until about {found}.",
    "round_yearly": "No season here ends growth: once a year, as its cycle begins on {found}.",
    "look_concern": "Open since {found}: {subject}.",
    "look_weak": "Vigour {found}.",
    "look_parts": "Followed on it: {needed}.",
    "look_heavy": "To come: {subject}, about {found}.",
    "look_heavy_open": "Open now: {subject}.",
    "look_first": "Never looked over wholly.",
    "spared_weak": "Vigour {found}: no heavy work until it is {needed}.",
    "spared_recovers": "Its aim is to recover.",
    "look_long_ago": "Last looked over wholly on {found}.",
    # why it is not in the plan
    "aim_unfit": "Not for a tree whose aim is {found}; for {needed}.",
    "other_aim": "Not part of each year's work for the aim {found}. Ask for it with: leafclock wish.",
    "vigour_low": "Vigour {found} is too low; {needed} is wanted. A weak tree recovers first.",
    "not_fed": "Wants a tree fed since {subject}, and no feeding since {needed} is written down.",
    "nothing_since": "Follows {subject}, of which nothing is written down, or nothing since the last time.",
    "done": "Done on {found}; not again in this cycle.",
    "rests": "Done on {found}; {needed} of rest comes between two.",
    "same_cycle": "Not in the same cycle as {subject} on {found}.",
    "one_heavy_job": "One heavy job a year for a tree, and {subject} (about {found}) takes its place, unless you wish for both.",
    "planned_before": "Planned about {found} already; then not again so soon.",
    "heavy_done": "One heavy job a year for a tree, and {subject} was done on {found}.",
    "interval_unknown": "Due by years, and the last time is not written down. Write it with: leafclock log.",
    "interval_early": "Last done on {found}; {every} at this size.",
    "not_wished": "Only when you ask for it, with: leafclock wish.",
    "dropped": "You answered: not this year.",
    "no_winter": (
        "There is no winter here that spring could be told from, so no spring is predicted: "
        "write down what you see with leafclock seen, and the rest of the year runs from that."
    ),
    "never": "What opens it, {event}, does not come here.",
    "over": "The window closed about {found}.",
    "too_late": "Too late for this cycle: {note}",
    "feeds_for": "No fertilizer is written down since {needed}, and {subject} (about {found}) wants it: give some and write it down, or it drops out this year.",
    # what follows work
    "follows": "Follows {subject} on {found}.",
    "watched": "Watched since {found} ({subject}).",
    "looked_well": "Last looked at on {found}: well.",
    "concern": "It was not well on {found}: it stays open until it is.",
    "measured": "Last measured on {needed}: {subject} {found}.",
    "overdue": "Due since {found}.",
    "usually_closes_by": "Such a wound usually closes about {subject} (8 times in 10: {found} to {needed}); its own pace is known from a second measurement.",
    "usually_closed_by_now": "Such a wound has usually closed by {found}: measure it again.",
    "usually_closes_in_years": "Such a wound usually takes about {found} to {needed} years to close; its own pace is known from a second measurement.",
    "closes_by": "At its pace the wound closes about {subject} (8 times in 10: {found} to {needed}).",
    "closed_by_now": "At its pace the wound should have closed about {found}: measure it again.",
    "closes_in_years": "At its pace the wound takes about {found} to {needed} more years to close.",
    "graft_ratio": "Behind the trunk it is {found} times as thick as before it; {needed} is wanted on two looks.",
    "graft_ready": "Clearly thicker on two looks: it may be severed. Cut a third through first, and look for wilting two to three weeks later.",
    "graft_waits": "Clearly thicker on two looks, but its kind is not severed before {found}.",
    "leader_ratio": "It is {found} times as thick as the trunk below; {needed} is wanted.",
    "rivals": "As thick or nearly so, to be cut back: {subject}.",
    "held": "Held since {found}: at {needed} pairs it is cut back.",
    "counted": "{found} pairs were counted on {needed}.",
    "looked": "Looked at on {found}.",
    "ended": "Nothing more to look at since {found}.",
    "look_later": "The next look is due about {found}, further ahead than is planned for.",
    "look_unknown": "Nothing tells yet when to look next.",
    "no_time_between": "In no possible year is there time between its opening (about {found}) and its closing (about {needed}).",
    "closes_before_opening": "It would close (about {found}) before it opens (about {needed}).",
    # spacing
    "apart_cycle": "Not in one cycle with {subject} ({found}). {note}",
    "apart_weeks": "Keep {needed} from {subject} ({found}). {note}",
    "not_recovered": "Not recovered from {subject} ({found}) until about {needed}.",
    "over_budget": "With it the work of its cycle weighs {found}; a tree of this vigour bears {needed}.",
    "makes_room": "Makes room for {subject} ({found}).",
    "grows_free": "{found} is to grow free.",
    "kept_backup": "{found} is kept as a backup.",
    # where it stands
    "cold": "From about {found} on, nights below {needed} come too often to stay there.",
    "kills": "From about {found} on, days below {needed}, which kill roots, come too often to stay there.",
    "cool_nights": "From about {found} on, nights average below {needed}.",
    "fresh_roots": "Roots were cut lately: until they have taken they bear no frost, and nights below {needed} come too often.",
    "fresh_roots_forecast": "Roots were cut lately: until they have taken they bear no frost, and the forecast has a night below {needed} within a week of {found}.",
    "cold_forecast": "The forecast has a night below {needed} within a week of {found}.",
    "cold_over": "From about {found} on, nights below {needed} are rare enough.",
    "nights_over": "From about {found} on, nights average above {needed}.",
    "cold_never": "Nights below {needed} are too rare here for a move in every winter; the forecast warns of them.",
    "wakes": "With {subject}, about {found}, light matters more than cold nights.",
    "few_years": "That rests on few past years ({found}) and is rough.",
    "goes_to": "To “{found}”.",
    "warm_room": "To “{found}” for want of a better place, for the coldest nights alone: a tree that must rest should be kept cold in winter; {subject} would serve.",
    "cold_room": "To “{found}”, the best of the garden, but not warm enough for all it must bear; {subject} would serve.",
    "no_rest": "It stands too warm: without a cold winter its buds move early, and it weakens.",
    "woken": "It has stood warm for so long that its buds move: now it stays in, in light and as cool as can be, until frosts are over.",
    "no_place": "No spot of the garden serves; {subject} would. Write one down with: leafclock spot add.",
    "no_open_spot": "There is no spot in the open to bring it to. Write one down with: leafclock spot add.",
    "season_short": "Outside is safe for {found} days in a row at most: not long enough to come out.",
    "heat_ahead": "It waits until the heat is over: up to {found} the forecast goes above {needed}.",
    "hot_days": "From about {found} on, days above {needed} come often enough for shade.",
    "hot_forecast": "The forecast has days above {needed} from about {found} on.",
    "hot_over": "From about {found} on, days above {needed} are rare enough.",
    "opened_up": "Inner leaves were opened to the sun on {found}: shade until {needed}.",
    "never_hot": "Days above {needed} are too rare here for shade in every summer; the forecast warns of them.",
    "always_hot": "Days above {needed} come all year.",
    "shade_of_spot": "Its spot gives shade enough.",
    "not_shaded": "It is not shaded.",
    "came_out": "Out of a room since {found}: light is far stronger outdoors, and leaves get used to it by steps.",
    "held_by_heat": "Held back by days above {needed}.",
    "moved": "It was moved on {found}, to “{needed}”.",
    "move_itself": "Too late for that: the move into shelter itself is due by {found}.",
    "shaded": "It is shaded already.",
    "not_from_dim": "It has not come out of a dim room in leaf lately.",
    "place_there": "The garden has a place for it: “{found}”.",
    "in_store": "In “{found}”.",
    "checked": "Last checked on {found}.",
    "heat_outlasts": "Its window closes about {found}, before the heat is over.",
    # feeding
    "cakes_changed": "The cakes that lie on the pot are changed instead, about {found}.",
    "feeding_phase": "Point of its year: {subject}; its aim: {found}.",
    "feeding_low_nitrogen": "Low in nitrogen, as is the custom before winter; that it hardens wood is not proven.",
    "feeding_weak": "Vigour {found}: no more than a recovering tree gets.",
    "feeding_releaf": "Less until the leaves are back after {subject} on {found}.",
    "feeding_warm": "Days of {needed} and more are expected: less while they last.",
    "feeding_hot": "Days of {needed} and more are expected: nothing while they last.",
    "feeding_bloom": "In bloom, likely until {found}.",
    "feeding_none": "Nothing for the aim {subject} at this point of its year ({found}).",
    "feeding_later": "Its season for fertilizer begins about {found}.",
    "feeding_no_season": "No season for fertilizer is in sight.",
}

UNTOLD = ("season",)
"""Codes of which nothing is said: that every tree of a kind gets it each year tells nothing of a date or of a tree."""

EVENTS: dict[str, str] = {
    "stage": "{subject}",
    "stage_heat": "{needed} of heat after {subject}",
    "day_length": "a day length under {needed}",
    "before_frost": "the first frost",
    "growth_stop_for_frost": "the end of growth with the shortening days (frost is too rare here to count from)",
    "air_night_first_below": "the first night below {needed}",
    "air_night_last_below": "the last night below {needed}",
    "air_day_first_above": "the first days above {needed}",
    "air_day_last_above": "the last days above {needed}",
    "mean_year_above": "the time when days average {needed} in a usual year",
    "mean_year_below": "the time when days no longer average {needed} in a usual year",
    "heat_since": "{needed} since {subject}",
    "calendar": "the day",
}

AGAINST: dict[str, str] = {
    "never": "never done to its kind",
    "over_budget": "more work than it bears in a cycle",
    "heavy_done": "a second heavy job in a year",
    "not_recovered": "not recovered from earlier work",
    "apart_cycle": "not in one cycle with earlier work",
    "same_cycle": "not in one cycle with earlier work",
    "apart_weeks": "too soon after other work",
    "hold": "too soon after other work",
    "leaves_back": "new leaves not hard yet",
    "grows_free": "a part that is to grow free",
    "kept_backup": "a part kept as a backup",
}
"""The warnings that work is logged with, as the log tells them years later: by their codes alone."""

CARD: dict[str, str] = {
    "badly": "{name} ({about}): the last look, on {day}, went badly{course}.",
    "first": "{name} ({about}), since {day}.",
    "keep": "{name} ({about}).",
    "held": "{name}: {about}.",
    "undecided": "{name}, decide by {about}.",
    "undecided_ever": "{name}, since {day}.",
    "regretted": "{name} of {day}: {about}",
}
"""The lines of the card before a cut."""

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
        "turned into {count} possible years, and are wide. Bring in measured days with: leafclock weather import."
    ),
}

WEATHER_SHORT: dict[str, str] = {
    "years": "Dates rest on {years} past years of measured weather.",
    "resampled": "Dates rest on {years} past years of measured weather and are rough.",
    "normals": "Dates rest on the monthly normals of {place} and are rough.",
}
