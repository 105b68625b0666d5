"""The phrases of warnings, and how their hours, days and values are written. Translators find them here.

"chill" is what frost is called where it threatens none but trees that cold above freezing harms.
Names in braces: ``hazard`` one of HAZARDS, ``when`` its hours, ``trees`` a list of labels, ``here`` and ``there`` a
tree's worst moment as it stands and with what is proposed.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from babel.dates import format_date

if TYPE_CHECKING:
    from datetime import date, datetime

    from calendar_core.wording.style import Style

HAZARDS: dict[str, str] = {
    "heat": "heat",
    "sunburn": "sunburn",
    "hot roots": "hot pots",
    "drying": "drying out",
    "frost": "frost",
    "chill": "cold",
    "cold roots": "cold pots",
    "wind": "wind",
    "hail": "hail",
}

HEADS: dict[str, str] = {
    "danger": "Danger from {hazard}, {when}",
    "caution": "Look out for {hazard}, {when}",
}

WORST: dict[str, str] = {
    "heat": "{tree}: leaves likely at {typical}, at {bad} if it comes badly; {lines}.",
    "sunburn": "{tree}: likely {typical} more light than it is used to, {bad} if it comes badly; {lines}.",
    "hot roots": "{tree}: root ball likely at {typical}, at {bad} if it comes badly; {lines}.",
    "drying": "{tree}: likely drinks {typical} of the water its pot readily gives, {bad} if it comes badly; it is used up from {begins} on.",
    "frost": "{tree}: leaves or buds likely down to {typical}, to {bad} if it comes badly; {lines}.",
    "chill": "{tree}: air likely down to {typical}, to {bad} if it comes badly; {lines}.",
    "cold roots": "{tree}: roots by the wall of the pot likely down to {typical}, to {bad} if it comes badly; {lines}.",
    "wind": "{tree}: gusts likely up to {typical}, to {bad} if it comes badly; {lines}.",
    "hail": "Whatever stands in the open may be hit.",
}
LINES = "harm begins at {caution}, danger at {danger}"
"""What a hazard does to the tree that it threatens most, and the lines beyond which that harms."""
LINES_DEEP = (
    "harm begins at {caution}, danger at {danger} in the middle of the root ball, where {deep} is likely"
)
"""The lines of which that of danger is held against another place."""

GAINS: dict[str, str] = {
    "heat": "leaves {there} instead of {here}",
    "sunburn": "{there} more light instead of {here}",
    "hot roots": "root ball {there} instead of {here}",
    "drying": "{there} of its water instead of {here} from one watering to the next",
    "frost": "down to {there} instead of {here}",
    "chill": "down to {there} instead of {here}",
    "cold roots": "roots by the wall down to {there} instead of {here}",
    "wind": "gusts to {there} instead of {here}",
    "hail": "out of the hail",
}
"""What is gained by doing it, in the course of the weather that comes badly."""

BY, NOW = "By {hour}", "Now"
DO: dict[str, str] = {
    "move": "{by} move {trees} to “{spot}” ({gain}).",
    "water": "{by} water {trees} again ({gain}).",
    "lay down": "{by} lay {trees} down, out of the wind. Up again after {until}.",
    "cover": "{by} hang shade cloth of {cloth} % over {trees} ({gain}). Off again after {until}.",
    "shade pot": "{by} shade the pots of {trees} with a board or a pale cloth ({gain}).",
    "wrap": "{by} cover {trees} with fleece or a sheet ({gain}). Off again after {until}.",
    "set down": "{by} set {trees} on the ground, close together, and heap leaves, straw or fleece over the pots ({gain}). Back after {until}.",
}
HAVE = "{by} have {trees} in “{spot}”, as another warning asks too ({gain})."
TOO = "{heading}: {trees}."
MET_TOO = "{heading}: met by the same moves, for {trees}."
NOTHING: dict[str, str] = {
    "no better place": "No better place is known for {trees}: leave in place, and look again in time.",
}
BACK_AFTER = "Back after {until}."
NOTES: dict[str, str] = {
    "stays in": "They stay there until nights are mild.",
    "stays shaded": "They stay there for the weeks that their roots or newly opened leaves need.",
    "best there is": "Still past where harm begins, but the best there is here.",
    "warm room": "The last resort: a warm room wakes resting trees, so only until it is over.",
}
LIGHT = {
    True: "Light enough there for a hot week.",
    False: "Too dark there to stay longer.",
}

BACK = "Then by steps, so that its leaves are not burnt: {steps}."
STEP = "from {day} “{spot}”"
STEP_HOME = "from {day} where it stood"

REASONS: dict[str, str] = {
    "new leaves": "new leaves, so harm begins sooner: {trees}.",
    "opened up": "leaves newly opened to the sun, so harm begins sooner: {trees}.",
    "more light": "not yet used to so much light, so harm begins sooner: {trees}.",
    "fresh roots": "cut roots that do not drink enough yet, so harm begins sooner: {trees}.",
    "weak": "weak, so harm begins sooner: {trees}.",
    "chill": "from a warm climate, so harm begins sooner: {trees}.",
}

CHANGED: dict[str, str] = {
    "danger": "Now in danger: {trees}.",
    "earlier": "It begins earlier: {now}, not {then}.",
    "later": "It begins later: {now}, not {then}.",
    "longer": "It lasts longer: until {now}, not {then}.",
}

IN_DANGER = "In danger: {trees}."
TO_WATCH = "To watch: {trees}."
SURE_DANGER = "How sure: danger {danger}, some harm {caution}."
SURE_CAUTION = "How sure: some harm {caution}."
SURE_HAIL = "How sure: {caution}."
WATER_FIRST: dict[str, str] = {
    "heat": "Water well in the morning: a leaf that drinks stays cooler.",
    "sunburn": "Water well in the morning: a leaf that drinks stays cooler.",
    "hot roots": "Water well in the morning: a wet root ball warms more slowly.",
}
"""What water helps against, and why."""
PEOPLE = (
    "Hot for people too: it may feel like {feels} in shade, and more in sun. Work before ten or towards dusk."
)
CAUTION = "Caution: {text}"
MORE_TO_DO = "Trees not named here: {n}. See what to do with them by: leafclock warn."
JUDGED = "{garden}: judged {judged} on the forecast of {forecast}."
OFFICIAL = "Official warnings, labels and local rules come first. Forecasts err: look at your trees too."

UPDATED_SUBJECT = "Changed: {subject}"
WITHDRAWN_SUBJECT = "No longer expected: {hazard}, {when}"
WITHDRAWN = (
    "The warning of {hazard} ({when}) is withdrawn: the newest forecasts no longer show it where your trees stand. "
    "It named {trees}."
)
WITHDRAWN_DO = (
    "Nothing more needs to be moved or covered for it. What stands in shelter comes back as you see fit."
)

DIGEST_SUBJECT = "Tonight and tomorrow: {hazards}"
DIGEST_SUBJECT_NONE = "Tonight and tomorrow: no warnings"
DIGEST_SUBJECT_UNSEEN = "Tonight and tomorrow: part of the forecast is missing"
DIGEST_STANDS = "Tonight and tomorrow:"
DIGEST_NONE = "No warning stands for tonight and tomorrow. That is what the forecast shows, not a promise."
DIGEST_NONE_SEEN = "No warning stands for the hours of which the forecast tells."
SPAN = "{begin} to {end}"
UNSEEN = "The forecast tells nothing of {spans}: what comes then is not known here. Look at the sky and at official warnings."
FADING = "The newest forecast no longer shows it; the warning stands until the next ones agree."
TO_BRING_BACK = "To be brought back:"
OUTLOOK = "Further ahead:"
OUTLOOK_LINE = "{day}: danger from {hazard} {chance}, {trees}."

SILENCE_SUBJECT = "No warnings are being made: last judged {judged}"
SILENCE = (
    "Nothing has been judged for {age}, since {judged}. That you hear nothing says nothing about the weather: "
    "look at a forecast and at official warnings yourself. Ask why with: leafclock warn."
)
CANNOT_SUBJECT = "Cannot judge: the forecast is {age} old"
CANNOT = (
    "The newest forecast here is of {forecast}, {age} old: too old to judge by. Warnings that stand are "
    "left as they are, and new ones wait for a fresh forecast. Until then look at the weather and at official warnings yourself."
)

NO_FORECAST_SUBJECT = "No warnings yet: there is no forecast to judge by"
NO_FORECAST = (
    "No forecast hour by hour has come for this garden, so nothing is judged. It is asked for again every hour. "
    "Until it comes look at the weather and at official warnings yourself. Try by hand with: leafclock weather fetch."
)

EVENT_SUMMARY: dict[str, str] = {
    "move": "Move to “{spot}”: {trees}",
    "water": "Water: {trees}",
    "lay down": "Lay down: {trees}",
    "cover": "Shade cloth: {trees}",
    "shade pot": "Shade the pots: {trees}",
    "wrap": "Fleece: {trees}",
    "set down": "On the ground: {trees}",
}
BACK_SUMMARY = "Back to “{spot}”: {trees}"
BACK_ABOUT = "It was moved out of the weather's way, and that is over. Look at the sky first: forecasts err."
EVENT_REMINDER = "{summary}, by {by}"


def age(style: Style, span: timedelta) -> str:
    """Return how old something is, in hours or, beyond three days, in days.

    >>> from datetime import timedelta
    >>> from calendar_core.wording.style import Style
    >>> age(Style(), timedelta(hours=20)), age(Style(), timedelta(hours=100))
    ('20 hours', '4 days')
    """
    hours = span // timedelta(hours=1)
    if hours > 72:
        return style.translate("{n} days").format(n=hours // 24)
    return style.translate("{n} hours").format(n=hours)


def tree_count(style: Style, n: int) -> str:
    """Return a number of trees in words."""
    return style.translate("one tree") if n == 1 else style.translate("{n} trees").format(n=n)


def hour(style: Style, moment: datetime) -> str:
    """Return a time of day in its own zone, as it is said where such units are used.

    >>> from datetime import datetime
    >>> from calendar_core.wording.style import Style
    >>> at = datetime(2015, 6, 25, 15, 40)
    >>> hour(Style(), at), hour(Style("us"), at), hour(Style("us"), at.replace(hour=0, minute=0))
    ('15:40', '3:40 pm', 'midnight')
    """
    if style.units != "us":
        return style.clock(moment)
    if moment.minute == 0 and moment.hour in (0, 12):
        return style.translate("midnight") if moment.hour == 0 else style.translate("noon")
    minutes = f":{moment.minute:02d}" if moment.minute else ""
    return f"{moment.hour % 12 or 12}{minutes} {'am' if moment.hour < 12 else 'pm'}"


def weekday(style: Style, day: date) -> str:
    """Return the name of a weekday."""
    return format_date(day, "EEEE", locale=style.locale)


def dated(style: Style, day: date) -> str:
    """Return a weekday with its date, without the year.

    >>> from datetime import date
    >>> from calendar_core.wording.style import Style
    >>> dated(Style(), date(2015, 6, 25)), dated(Style("us"), date(2015, 6, 25))
    ('Thursday 25 June', 'Thursday, June 25')
    """
    return format_date(day, "EEEE, MMMM d" if style.units == "us" else "EEEE d MMMM", locale=style.locale)


def hazard_value(style: Style, hazard: str, value: float) -> str:
    """Return a value in the unit of its hazard, no finer than a forecast is.

    >>> from calendar_core.wording.style import Style
    >>> hazard_value(Style(), "heat", 43.6), hazard_value(Style("us"), "wind", 20.0), hazard_value(Style(), "drying", 0.8)
    ('44 °C', '45 mph', '80 %')
    """
    if hazard in ("sunburn", "drying"):
        return f"{100 * max(value, 0.0):.0f} %"
    if hazard == "wind":
        return f"{value * 2.23694:.0f} mph" if style.units == "us" else f"{value * 3.6:.0f} km/h"
    return style.temperature(value if style.units == "us" else round(value))
