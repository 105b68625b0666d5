"""Words of the weather a plan rests on: whose, how old, what was not believed, what dates came from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from calendar_core.planning.seasons.frost_dates import Frost
    from calendar_core.weather.combine import LevelDifference
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

STATUS: dict[str, str] = {
    "record": "{place}: {days} from {first} to {last}.",
    "behind": "The last {n} days are not measured yet; forecast or possible weather stands in for them.",
    "years_missing": "Of {years} the service's days are not in: leafclock weather fetch",
    "level": "Your own days read {low} (nights) and {high} (days) above the service over {n} shared days.",
    "moved": "The service's days are moved by that; as they come with: leafclock weather level off",
    "as_they_come": "The service's days are taken as they come; moved by that with: leafclock weather level on",
    "forecast": "Forecast of {day} from {source}, {members}, to {last}.",
    "members": "{n} members",
    "one_course": "one course",
    "old": "That is {n} days old; newer: leafclock weather fetch",
    "newest": "The service has no newer one before {hour} UTC.",
    "newer": "A newer one: leafclock weather fetch",
    "hours": "Hour by hour from {source}, {age}, to {day} {hour}.",
    "hours_old": "{hours} old",
    "fresh": "less than an hour old",
    "no_hours": "No hours of the coming days are in: leafclock weather fetch",
    "credit": "Credit: {credit}.",
}

FROSTS: dict[str, str] = {
    "last_spring_frost": "Last frost of spring: {when}.",
    "first_autumn_frost": "First frost of autumn: {when}.",
}

FROST_WHEN: dict[str, str] = {
    "never": "hardly ever comes here",
    "over": "likely over since {usual}; in {n} of 100 years one still comes",
    "over_by": "likely over since {usual}; in {n} of 100 years one still comes, by {by} in nine years of ten",
}

FETCHED: dict[str, str] = {
    "in": "In: {days}, from {first} to {last}.",
    "rejected": "{year}: {values} not believed; see: leafclock weather check",
    "years": "{years} of past days in, from {first} to {last}.",
    "none": "No past day was missing.",
    "far": "The service answers for a place {km} km away: look whether its climate is yours.",
    "level_on": "Days of the service are brought to the level of your own thermometer.",
    "level_off": "Days of the service are taken as they come.",
}

REJECTED: dict[str, str] = {
    "no_days": "No measured days are in yet. Get some with: leafclock weather fetch",
    "none": "Every value that came in was believed.",
}

BEHIND: dict[str, str] = {
    "published": "Published on {day} by version {program}, knowledge {knowledge}.",
    "weather": "Weather: {rests}, measured to {last}.",
    "normals": "monthly normals of {place}",
    "years": "{years} past years of {place}",
    "no_day": "no day",
    "forecast": "Forecast: {source}, issued {issued}, {members} members, to {last}.",
    "log": "Log: {n} entries.",
}
"""What the dates published on a day were made from."""


def record_line(style: Style, place: str, days: int, first: date, last: date) -> str:
    """Return whose days are in, how many, from when to when."""
    told = style.number_of(days, "day", "days")
    return style.say(STATUS["record"], place=place, days=told, first=first, last=last)


def years_missing(style: Style, n: int) -> str:
    """Return of how many years days are missing."""
    return style.say(STATUS["years_missing"], years=style.number_of(n, "year", "years"))


def level_lines(style: Style, level: LevelDifference, *, moved: bool) -> list[str]:
    """Return how the garden's own days differ from the service's, and whether these are ``moved`` by it."""
    low, high = (style.difference(value) for value in (level.t_min_c, level.t_max_c))
    read = style.say(STATUS["level"], low=low, high=high, n=level.days)
    return [read, style.say(STATUS["moved" if moved else "as_they_come"])]


def frost_words(speaker: Speaker, found: Frost | None) -> str:
    """Return when a frost is likely; past its usual date, the chance that one still comes."""
    style, today = speaker.style, speaker.today
    if found is None:
        return style.say(FROST_WHEN["never"])
    if found.dates.likely >= today:
        return speaker.likely(found.dates)
    usual, n = style.day(found.dates.likely, today), round(found.chance * 100)
    if found.dates.late < today:
        return style.say(FROST_WHEN["over"], usual=usual, n=n)
    return style.say(FROST_WHEN["over_by"], usual=usual, n=n, by=style.day(found.dates.late, today))


def forecast_line(speaker: Speaker, source: str, issued: date, members: int, last: date) -> str:
    """Return one sentence about a forecast: whose, of when, how far."""
    style, today = speaker.style, speaker.today
    told = style.say(STATUS["members"], n=members) if members > 1 else style.say(STATUS["one_course"])
    day, end = style.day(issued, today), style.day(last, today)
    return style.say(STATUS["forecast"], day=day, source=source, members=told, last=end)


def hours_line(speaker: Speaker, source: str, age_h: int, until: datetime) -> str:
    """Return one sentence about the hours of the coming days: whose, how old, how far; ``until`` in its own zone."""
    style = speaker.style
    age = style.say(STATUS["fresh"])
    if age_h > 0:
        age = style.say(STATUS["hours_old"], hours=style.number_of(age_h, "hour", "hours"))
    day, hour = style.day(until.date(), speaker.today), style.clock(until)
    return style.say(STATUS["hours"], source=source, age=age, day=day, hour=hour)


def behind_lines(speaker: Speaker, on: date, data: Mapping[str, Any]) -> list[str]:
    """Return what the dates published on a day were made from, as the snapshot ``data`` of that day has it."""
    say, known, ahead = speaker.style.say, data["weather"], data["weather"]["forecast"]
    day = speaker.style.day(on, speaker.today)
    lines = [say(BEHIND["published"], day=day, program=data["program"], knowledge=data["knowledge"])]
    rests = say(BEHIND["years"], years=known["years"], place=known["place"])
    if known["kind"] == "normals":
        rests = say(BEHIND["normals"], place=known["place"])
    lines.append(say(BEHIND["weather"], rests=rests, last=known["measured_to"] or say(BEHIND["no_day"])))
    if ahead:
        source, issued, members, last = (ahead[key] for key in ("source", "issued", "members", "to"))
        lines.append(say(BEHIND["forecast"], source=source, issued=issued, members=members, last=last))
    return [*lines, say(BEHIND["log"], n=data["entries"])]
