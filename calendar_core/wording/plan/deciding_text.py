"""The one fact that decides the date of a line, or that its trees are in it, in a few words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.items import Range
from calendar_core.planning.waits import WAITS, late_since, wait_end
from calendar_core.wording.plan.fact_text import DECIDING, LATE, MOMENTS, WINDOWS
from calendar_core.wording.sentences import tree_list, tree_names
from calendar_core.wording.tree_sets import ALIKE_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from uuid import UUID

    from calendar_core.planning.items import Item, Reason
from calendar_core.wording.sentences import Speaker

DAY = "{day}"  # stands in a fact for its day, so that trees of other days can share it
OPENS, CLOSES = "opens_", "closes_"

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


def deciding(
    speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str], *, late: bool = True
) -> str:
    """Return the fact that decides the date of the items of a line, or that their trees are in it.

    It is true of all of them, or names those of which it is: the first to open, or who was not well. Without ``late``
    it does not tell since when they are late, as where that stands beside it.
    """
    ordered = sorted(items, key=lambda i: (i.opens.likely, i.closes.early, str(i.tree_id)))
    found = [list(_facts(speaker, item, late=late)) for item in ordered]
    mine = next((facts[0] for facts in found if facts[0].own), None)
    if mine is None:
        for fact in found[0]:
            if (days := _days(fact, found)) is not None:
                return _told(speaker, fact, days)
        mine = found[0][0]
    those = [item for item, facts in zip(ordered, found, strict=True) if facts[0] == mine]
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


def _facts(speaker: Speaker, item: Item, *, late: bool) -> Iterator[Fact]:
    """Yield what decides of an item, the best first."""
    said: dict[str, Reason] = {}  # of one code the first that holds
    for reason in item.reasons:
        if _holds(reason, item):
            said.setdefault(reason.code, reason)
    phrases = DECIDING if late or late_since([item]) is None else DECIDING | LATE
    facts = [*_by_code(speaker, said, phrases), *_window(speaker, item, said)]
    if "decided" in said:
        decided = speaker.style.say(WINDOWS["decided"], found=_values(speaker, said["decided"])["found"])
        facts = [_beside(speaker, Fact(decided), facts), *facts]
    elif "wished" in said:
        asked = [replace(fact, words=speaker.style.say(WINDOWS["asked"], fact=fact.words)) for fact in facts]
        facts = asked or [Fact(speaker.style.translate(WINDOWS["asked_alone"]))]
    facts = facts or [_bounds(speaker, item)]
    since = late_since([item]) if late else None
    if since is not None and facts[0].day != since:
        day = speaker.style.day(since, speaker.today)
        words = speaker.style.say(WINDOWS["late"], text=facts[0].words, day=day)
        facts[0] = replace(facts[0], words=words)
    yield from facts


def _by_code(speaker: Speaker, said: Mapping[str, Reason], phrases: Mapping[str, str]) -> Iterator[Fact]:
    for code, phrase in phrases.items():
        if code not in said:
            continue
        reason, values = said[code], _values(speaker, said[code])
        dated = {key: on for key in ("needed", "found") if isinstance(on := getattr(reason, key), date)}
        for key in list(dated)[-1:]:  # the day of what was found goes before that of what is needed
            values[key] = DAY
        words = speaker.style.say(phrase, **values)
        if code == "concern":
            words = _after(speaker, words, said)
        day = list(dated.values())[-1] if DAY in words else None
        yield Fact(words, day, own=code in OWN)


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
    if reason.code in ("feeding_bloom", "after_stage"):
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
            bare = replace(closing, code=closing.code.replace(CLOSES, OPENS))
            fact = (
                _opens(speaker, bare)
                if bare.code.removeprefix(OPENS) in MOMENTS
                else _closes(speaker, closing)
            )
            yield replace(fact, words=speaker.style.say(WINDOWS[half], fact=fact.words))
        if is_open:
            yield _closes(speaker, closing)
    if "after_stage" in said and not is_open:
        yield _side(speaker, said["after_stage"], "after_stage")
    if opening is not None and isinstance(opening.found, date):
        yield _opens(speaker, opening, since=is_open)


def _bounds(speaker: Speaker, item: Item) -> Fact:
    """Return the next end of a window, where nothing else is known of it."""
    is_open = item.opens.likely <= speaker.today
    words = speaker.style.say(WINDOWS["until" if is_open else "from"], day=DAY)
    return Fact(words, item.closes.likely if is_open else item.opens.likely)


def _opens(speaker: Speaker, reason: Reason, *, since: bool = False) -> Fact:
    side = "since" if since else "opens"
    return _side(speaker, reason, f"{side}_shifted" if reason.days else side)


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
