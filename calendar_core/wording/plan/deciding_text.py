"""The one fact that decides the date of a line, or that its trees are in it, in a few words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.items import Range
from calendar_core.planning.waits import WAITS, late_since, wait_end
from calendar_core.wording.sentences import tree_list, tree_names
from calendar_core.wording.tree_sets import ALIKE_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.items import Item, Reason
    from calendar_core.wording.sentences import Speaker

DAY = "{day}"  # stands in a fact for its day, so that trees of other days can share it
OPENS, CLOSES = "opens_", "closes_"

DECIDING: dict[str, str] = {
    # what cannot wait
    "concern": "not well on {found}",
    "feeds_for": "none since {needed}; to be {verb} about {found}, which wants it",
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
    "no_rest": "too warm there to rest in winter, since {found}",
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
    "hold": "{verb} on {found}: waits {needed}",
    "leaves_back": "{verb} on {found}: waits {needed} for new leaves",
    "again": "last {verb} on {found}, again after {needed}",
    "work_ahead": "to be {verb} about {found}: waits {needed} after it",
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
    "large_first": "large trees first; {fact}",
    "small_last": "small trees last; {fact}",
    "no_end": "open until about {day}",
    "open": "open from about {day}",
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
    "mean_year_above": "days average {needed}",
    "mean_year_below": "days average under {needed}",
    "heat_since": "{needed} since {subject}",
}
"""The moments of `EVENTS` in few words."""

OWN = ("concern", "feeds_for")  # told of its tree alone, by name, whatever is true of others
AT_MOST = 60  # signs that a fact has at most with another beside it (about a line of a terminal)
FAR = timedelta(
    days=31
)  # trees of one line whose days lie within a month share a fact, with its first and last day


@dataclass(frozen=True)
class Fact:
    """A fact in words, `DAY` in place of its ``day``; ``own`` is told of its tree alone."""

    words: str
    day: date | None = None
    own: bool = False


def deciding(speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str]) -> str:
    """Return the fact that decides the date of the items of a line, or that their trees are in it.

    It is true of all of them, or names those of which it is: the first to open, or who was not well.
    """
    ordered = sorted(items, key=lambda i: (i.opens.likely, i.closes.early, str(i.tree_id)))
    found = [list(_facts(speaker, item)) for item in ordered]
    mine = next((facts[0] for facts in found if facts and facts[0].own), None)
    if mine is None:
        for fact in found[0]:
            if (days := _days(fact, found)) is not None:
                return _told(speaker, fact, days)
        mine = found[0][0]
    those = [item for item, facts in zip(ordered, found, strict=True) if facts and facts[0] == mine]
    text = _told(speaker, mine, [mine.day] if mine.day else [])
    if len(those) == len(ordered):
        return text
    return speaker.style.say(WINDOWS["of"], trees=tree_list(tree_names(those, labels), most=2), text=text)


def _days(fact: Fact, found: Sequence[Sequence[Fact]]) -> list[date] | None:
    """Return the days of a fact if it is one of all items, none where it has none; None if it is not, or they lie far apart."""
    days = []
    for facts in found:
        same = next((other for other in facts if other.words == fact.words), None)
        if same is None:
            return None
        days += [same.day] if same.day else []
    if days and max(days) - min(days) > FAR:
        return None
    return days if not days or (max(days) - min(days)).days > ALIKE_DAYS else days[:1]


def _told(speaker: Speaker, fact: Fact, days: Sequence[date]) -> str:
    if not days:
        return fact.words
    first, last = min(days), max(days)
    return fact.words.replace(DAY, speaker.style.span(Range(first, first, last), speaker.today))


# -- the facts of an item, what decides first ----------------------------------------------------------


def _facts(speaker: Speaker, item: Item) -> Iterator[Fact]:
    """Yield what decides of an item, the best first."""
    said = {reason.code: reason for reason in reversed(item.reasons)}  # of one code the first
    window = list(_window(speaker, item, said))
    facts = [*_by_code(speaker, item, said), *window]
    if "decided" in said:
        decided = speaker.style.say(WINDOWS["decided"], **_values(speaker, said["decided"]))
        facts = [_beside(speaker, Fact(decided), facts), *facts]
    elif "wished" in said:
        asked = [replace(fact, words=speaker.style.say(WINDOWS["asked"], fact=fact.words)) for fact in facts]
        facts = asked or [Fact(speaker.style.translate(WINDOWS["asked_alone"]))]
    since = late_since([item])
    if since is not None and facts and facts[0].day != since:
        late = speaker.style.say(WINDOWS["late"], text=facts[0].words, day=_day(speaker, since))
        facts[0] = replace(facts[0], words=late)
    yield from facts


def _by_code(speaker: Speaker, item: Item, said: Mapping[str, Reason]) -> Iterator[Fact]:
    for code, phrase in DECIDING.items():
        reason = said.get(code)
        if reason is None or not _holds(reason, item):
            continue
        values = _values(speaker, reason)
        on = reason.found if isinstance(reason.found, date) else reason.needed
        key = "found" if isinstance(reason.found, date) else "needed"
        day = on if isinstance(on, date) else None
        if day is not None:
            values[key] = DAY
        words = speaker.style.say(phrase, **values)
        if code == "concern":
            words = _after(speaker, words, said)
        yield Fact(words, day if DAY in words else None, own=code in OWN)


def _after(speaker: Speaker, words: str, said: Mapping[str, Reason]) -> str:
    """Return what was not well, with the work or part that is followed."""
    since = next((said[code] for code in ("follows", "watched") if code in said), None)
    if since is None:
        return words
    fact = speaker.style.say(DECIDING[since.code], **_values(speaker, since))
    return speaker.style.say(WINDOWS["more"], text=words, fact=fact)


def _holds(reason: Reason, item: Item) -> bool:
    """Tell whether what an item waits for is what it opens by; other facts are never waited for."""
    opens = item.opens.likely
    if reason.code in WAITS:
        return wait_end(reason) >= opens
    if reason.code in ("not_recovered", "apart_weeks"):
        return not isinstance(reason.needed, date) or reason.needed >= opens
    if reason.code == "heat_ahead":
        return isinstance(reason.found, date) and reason.found + timedelta(days=1) >= opens
    if reason.code == "feeding_bloom":
        return isinstance(reason.found, date) and reason.found >= opens
    return True


def _beside(speaker: Speaker, first: Fact, others: Sequence[Fact]) -> Fact:
    """Return a fact with the next beside it, if both are short."""
    for other in others[:1]:
        words = speaker.style.say(WINDOWS["more"], text=first.words, fact=other.words)
        if len(_told(speaker, Fact(words), [other.day] if other.day else [])) <= AT_MOST:
            return Fact(words, other.day)
    return first


def _window(speaker: Speaker, item: Item, said: Mapping[str, Reason]) -> Iterator[Fact]:
    """Yield what opens a window, if it is not open; else what closes it, and since what it is open."""
    opening = next((reason for code, reason in said.items() if code.startswith(OPENS)), None)
    closing = next((reason for code, reason in said.items() if code.startswith(CLOSES)), None)
    is_open = item.opens.likely <= speaker.today
    if closing is not None and isinstance(closing.found, date):
        half = "large_first" if is_open else "small_last"
        if half in said:
            fact = _opens(speaker, replace(closing, code=closing.code.replace(CLOSES, OPENS)))
            yield replace(fact, words=speaker.style.say(WINDOWS[half], fact=fact.words))
        if is_open:
            yield _closes(speaker, closing)
    if opening is not None:
        after = said.get("after_stage")
        if (
            not is_open
            and after is not None
            and isinstance(after.found, date)
            and after.found >= item.opens.likely
        ):
            words = speaker.style.say(
                WINDOWS["after_stage"], subject=_values(speaker, after)["subject"], day=DAY
            )
            yield Fact(words, after.found)
        if isinstance(opening.found, date):
            yield _opens(speaker, opening, since=is_open)
    bound = item.closes.likely if is_open else item.opens.likely
    yield Fact(speaker.style.say(WINDOWS["no_end" if is_open else "open"], day=DAY), bound)


def _opens(speaker: Speaker, reason: Reason, *, since: bool = False) -> Fact:
    return _side(speaker, reason, "since" if since else "opens_shifted" if reason.days else "opens")


def _closes(speaker: Speaker, reason: Reason) -> Fact:
    return _side(speaker, reason, "closes_shifted" if reason.days else "closes")


def _side(speaker: Speaker, reason: Reason, side: str) -> Fact:
    """Return what opens or closes a window, with its likely day."""
    phrase = WINDOWS.get(reason.code, WINDOWS[side])
    values = _values(speaker, reason)
    moment = MOMENTS.get(reason.code.partition("_")[2])
    event = "" if moment is None else speaker.style.say(moment, **values)
    if reason.days:
        event = f"{speaker.shift(reason.days)} {event}"
    words = speaker.style.say(phrase, **{**values, "event": event, "day": DAY})
    return Fact(words, reason.found if isinstance(reason.found, date) else None)


def _values(speaker: Speaker, reason: Reason) -> dict[str, str]:
    """Return the values of a reason, with the verb of the operation that it is about."""
    values = speaker.values(reason)
    operation = speaker.operations.get(reason.subject)
    verb = values["subject"]
    if operation is not None and not operation.done.endswith(" on"):  # before a day that reads twice
        verb = speaker.style.translate(operation.done).lower()
    return {**values, "verb": verb}


def _day(speaker: Speaker, day: date) -> str:
    return speaker.style.day(day, speaker.today)
