"""The words of the one fact that decides a line: by the code of its reason, and what opens and closes a window."""

from __future__ import annotations

DECIDING: dict[str, str] = {
    # what cannot wait
    "concern": "not well on {found}",
    "feeds_for": "not fertilized since {needed}, to be {verb} about {found}",
    # where it stands
    "cold": "nights below {needed} from about {found}",
    "kills": "days below {needed}, which kill roots, from about {found}",
    "cool_nights": "nights averaging under {needed} from about {found}",
    "fresh_roots": "newly cut roots; nights below {needed} from about {found}",
    "fresh_roots_forecast": "newly cut roots; a night below {needed} forecast about {found}",
    "cold_forecast": "a night below {needed} forecast about {found}",
    "cold_over": "nights below {needed} are rare from about {found}",
    "nights_over": "nights average above {needed} from about {found}",
    "wakes": "{subject} about {found}: light matters more than cold",
    "no_rest": "too warm since {found} for its winter rest",
    "hot_days": "days above {needed} from about {found}",
    "hot_forecast": "days above {needed} forecast from about {found}",
    "hot_over": "days above {needed} are rare from about {found}",
    "opened_up": "inner leaves bared on {found}: shade until {needed}",
    "came_out": "out of a room since {found}: light by steps",
    "checked": "last checked on {found}",
    "in_store": "under cover since {needed}",
    # what follows work or a part, by the last that is known of it
    "graft_ready": "clearly thicker on two looks",
    "counted": "{found} pairs on {needed}",
    "held": "held since {found}, to {needed} pairs",
    "measured": "{subject} {found} on {needed}",
    "looked_well": "well on {found}",
    "follows": "{verb} on {found}",
    "watched": "{subject} watched since {found}",
    # what it waits for
    "put_off": "put off until {found}",
    "hold": "{needed} after it was {verb} on {found}",
    "leaves_back": "{needed} for new leaves after it was {verb} on {found}",
    "again": "{needed} after it was last {verb} on {found}",
    "work_ahead": "{needed} after it is {verb} about {found}",
    "not_recovered": "{verb} on {found}: recovers until about {needed}",
    "apart_weeks": "{verb} on {found}: {needed} apart",
    "heat_ahead": "days above {needed} forecast until {found}",
    "feeding_bloom": "in bloom until about {found}",
    "feeding_hot": "days of {needed} and more are forecast",
    "feeding_none": "nothing for its aim, {subject}, until then",
    "feeding_later": "its season begins about {found}",
    # how often it comes
    "interval": "last {verb} on {found}, {every}",
    "interval_early": "last {verb} on {found}, {every}",
    "interval_unknown": "due {every}; the last time is not written down",
    "cakes_changed": "cakes are changed instead, about {found}",
}
"""What decides, by the code of its reason: of several that are true the one that stands here first."""

LATE: dict[str, str] = {
    "cold": "nights below {needed}",
    "kills": "days below {needed}, which kill roots",
    "cool_nights": "nights averaging under {needed}",
    "fresh_roots": "newly cut roots; nights below {needed}",
    "cold_over": "nights below {needed} are rare",
    "nights_over": "nights average above {needed}",
    "hot_days": "days above {needed}",
    "hot_over": "days above {needed} are rare",
}
"""The same of what is late, where since when stands beside it."""

WINDOWS: dict[str, str] = {
    "after_stage": "not before {subject}, about {day}",
    "opens": "{event} about {day}",
    "opens_shifted": "{event} on {day}",
    "opens_calendar": "by the calendar from {day}",
    "closes": "until {event}, about {day}",
    "closes_shifted": "until {event} on {day}",
    "closes_calendar": "by the calendar until {day}",
    "closes_safe_frost": "until {needed} before the first frost on {day}",
    "closes_safe_heat": "{needed} must come before colour on {day}",
    "closes_safe_growth_stop": "{needed} to leaf out before growth stop on {day}",
    "since": "since {event}, about {day}",
    "since_shifted": "since {event} on {day}",
    "large_first": "large trees first, {fact}",
    "small_last": "small trees last, {fact}",
    "until": "open until about {day}",
    "from": "open from about {day}",
    "asked": "you asked for it; {fact}",
    "asked_alone": "you asked for it",
    "decided": "decided on {found}",
    "more": "{text}; {fact}",
    "late": "{text}; late since {day}",
    "of": "{trees}: {text}",
}
"""What opens and closes a window, and what stands around a fact."""

MOMENTS: dict[str, str] = {
    "stage": "{subject}",
    "stage_heat": "{needed} after {subject}",
    "day_length": "days under {needed}",
    "before_frost": "the first frost",
    "growth_stop_for_frost": "growth stop",
    "air_night_first_below": "the first night below {needed}",
    "air_night_last_below": "the last night below {needed}",
    "air_day_first_above": "the first days above {needed}",
    "air_day_last_above": "the last days above {needed}",
    "mean_year_above": "days averaging {needed} begin",
    "mean_year_below": "days averaging under {needed} begin",
    "heat_since": "{needed}",
}
"""The moments of `EVENTS` in few words."""
