"""What an entry of each kind holds: one list, by which entries are refused as they come in and set aside as they are read.

Keys that are not listed here are left as they are, so that a log may say more than this program reads.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from itertools import chain
from typing import TYPE_CHECKING, Any, get_args
from uuid import UUID

from calendar_core.garden.limits import (
    DAY_MIN,
    FIRST,
    LARGEST_MM,
    LARGEST_POT_L,
    LAST,
    MOST_PAIRS,
    STRONGEST,
    WEAKEST,
)
from calendar_core.knowledge.words import (
    AIMS,
    DEPARTURES,
    DIRECTIVES,
    PART_KINDS,
    POT_KINDS,
    ROUNDS,
    SIZES,
    LookDepth,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Container, Mapping, Sequence

    from calendar_core.garden.model import Entry

_LONGEST = 60  # signs of a value that are shown


@dataclass(frozen=True, slots=True)
class Key:
    """What may stand under a key: whether a value ``fits``, and the words for what would be ``right``."""

    right: str
    fits: Callable[[Any], bool]
    needed: bool = False


def faults_of(entry: Entry) -> tuple[str, ...]:
    """Return a line for each value of an entry that cannot be read, none of one that takes another back.

    Examples
    --------
    >>> from calendar_core.garden.model import Entry
    >>> from datetime import UTC, datetime
    >>> now, id = datetime(2015, 6, 24, tzinfo=UTC), UUID(int=1)
    >>> faults_of(Entry(id, id, (id,), now.date(), now, "owner", "state", {"vigour": "5"}))
    ("data.vigour: found '5'; right would be a whole number from 1 to 5",)
    """
    if entry.voids is not None:
        return ()
    out = []
    if entry.kind not in _FORMS:
        out.append(f"kind: found {_shown(entry.kind)}; right would be one of: {', '.join(_FORMS)}")
    if not FIRST <= entry.happened <= LAST:
        out.append(f"happened: found {entry.happened}; right would be a day from {FIRST.year} to {LAST.year}")
    if not isinstance(entry.data, dict):
        return (*out, f"data: found {_shown(entry.data)}; right would be an object of JSON")
    form, needed = _FORMS.get(entry.kind, _OTHER)
    for name, value in entry.data.items():
        key = form.get(name)
        if key is not None and not key.fits(value):
            out.append(f"data.{name}: found {_shown(value)}; right would be {key.right}")
    if entry.kind == "answer" and entry.data.get("answer") == "put off":
        needed = (*needed, "until")
    missing = (name for name in needed if name not in entry.data)
    return (*out, *(f"data.{name}: is missing; right would be {form[name].right}" for name in missing))


def unknown_work(entry: Entry, operations: Container[str]) -> tuple[str, ...]:
    """Return a line for each operation of an entry that the program does not know."""
    decided = entry.data.get("decided") or None  # "" takes back what was decided
    named = (("operation", entry.data.get("operation")), ("decided", decided))
    return tuple(
        f"data.{name}: found {_shown(found)}; right would be an operation of this program"
        for name, found in named
        if type(found) is str and entry.voids is None and found not in operations
    )


def _shown(value: object) -> str:
    shown = repr(value)
    return shown if len(shown) <= _LONGEST else f"{shown[:_LONGEST]}..."


def _is_text(value: object) -> bool:
    return type(value) is str


def _is_number(value: object, least: float, most: float) -> bool:
    """Tell a number within limits; JSON's true and false are none, nor are NaN and infinity."""
    return type(value) in (int, float) and least <= value <= most  # type: ignore[operator]


def _is_id(value: object) -> bool:
    try:
        return type(value) is str and bool(UUID(value))
    except ValueError:
        return False


def _is_day(value: object) -> bool:
    try:
        return type(value) is str and FIRST <= date.fromisoformat(value) <= LAST
    except ValueError:
        return False


def _is_time(value: object) -> bool:
    try:
        return value is None or (
            type(value) is str and (value == "" or time.fromisoformat(value) is not None)
        )
    except ValueError:
        return False


def _is_week(value: object, fits: Callable[[object], bool]) -> bool:
    return isinstance(value, list | tuple) and len(value) == 7 and all(map(fits, value))


def _are_sizes(value: object) -> bool:
    return isinstance(value, dict) and all(_is_number(size, 0.0, LARGEST_MM) for size in value.values())


def _are_answers(value: object) -> bool:
    return isinstance(value, dict) and all(
        _is_text(said) or _is_number(said, -_ANY, _ANY) for said in value.values()
    )


def _is_asked(value: object) -> bool:
    return (
        isinstance(value, dict)
        and value.get("round") in ROUNDS
        and _is_whole(value.get("cycle"), FIRST.year, LAST.year)
        and _are_answers(value.get("answers"))
    )


def _is_whole(value: object, least: int, most: int) -> bool:
    return type(value) is int and least <= value <= most


_ANY = 1e9  # an answer may be a count or a length of anything; what is larger was never meant (estimate)


def _text(*, needed: bool = False) -> Key:
    return Key("text", _is_text, needed)


def _one_of(words: Sequence[str], *, needed: bool = False) -> Key:
    known = frozenset(words)
    return Key(f"one of: {', '.join(words)}", lambda value: type(value) is str and value in known, needed)


def _whole(least: int, most: int, *, needed: bool = False) -> Key:
    return Key(f"a whole number from {least} to {most}", lambda value: _is_whole(value, least, most), needed)


def _number(least: float, most: float, *, needed: bool = False) -> Key:
    return Key(f"a number from {least:g} to {most:g}", lambda value: _is_number(value, least, most), needed)


def _maybe(key: Key) -> Key:
    """Return a key under which null says that it is not known."""
    return Key(f"{key.right}, or null", lambda value: value is None or key.fits(value))


def _id(*, needed: bool = False) -> Key:
    return Key("an id", _is_id, needed)


def _day(*, needed: bool = False) -> Key:
    return Key(f"a day from {FIRST.year} to {LAST.year}, such as 2015-06-24", _is_day, needed)


_TRUE_OR_FALSE = Key("true or false", lambda value: type(value) is bool)
_SIZES = Key(f"numbers by name, each from 0 to {LARGEST_MM:g}", _are_sizes)
_CYCLE = _whole(FIRST.year, LAST.year)
_ASKED = Key("round, cycle and answers of a review", _is_asked)

_OF_ALL = {"note": _text(), "values": _SIZES, "asked": _ASKED}

_KEYS: Mapping[str, Mapping[str, Key]] = {
    "state": {
        "aim": _one_of(AIMS),
        "vigour": _whole(WEAKEST, STRONGEST),
        "size": _one_of(SIZES),
        "spot": _id(),
        "pot": _maybe(_one_of(POT_KINDS)),
        "pot_litres": _maybe(Key(f"a number above 0, at most {LARGEST_POT_L:g}", lambda v: _is_number(v, 0.0, LARGEST_POT_L) and v > 0)),
        "substrate": _text(),
    },
    "work": {
        "operation": _text(needed=True),
        "share": _maybe(_number(0.0, 1.0)),
        "regret": _text(),
        "against": Key("a list of texts", lambda value: isinstance(value, list | tuple) and all(map(_is_text, value))),
    },
    "seen": {"stage": _text(needed=True)},
    "wish": {"operation": _text(needed=True), "cycle": _maybe(_CYCLE), "anyway": _TRUE_OR_FALSE},
    "answer": {"item": _id(needed=True), "answer": _text(needed=True), "until": _day()},
    "choice": {"question": _text(needed=True), "option": _text(needed=True)},
    "part": {
        "kind": _one_of(PART_KINDS),
        "name": _text(),
        "height_mm": _number(0.0, LARGEST_MM),
        "side": _text(),
        "directive": _one_of(DIRECTIVES),
        "pairs": _whole(1, MOST_PAIRS),
        "decide_by": _text(),
        "instead_of": _id(),
        "decided": _text(),
        "gone": _TRUE_OR_FALSE,
    },
    "measure": {},
    "look": {"rule": _text(needed=True), "of": _id(needed=True), "went": _one_of(("well", "badly"))},
    "hours": {
        "weekly": Key(
            f"seven whole numbers from 0 to {DAY_MIN}, the minutes of Monday to Sunday",
            lambda value: _is_week(value, lambda minutes: _is_whole(minutes, 0, DAY_MIN)),
            needed=True,
        ),
        "begins": Key(
            "seven times, such as 18:30, or null", lambda value: _is_week(value, _is_time)
        ),
    },
    "away": {"from": _day(needed=True), "until": _day(needed=True)},
    "gone": {"why": _one_of(DEPARTURES, needed=True)},
    "review": {
        "round": _one_of(ROUNDS, needed=True),
        "cycle": _whole(FIRST.year, LAST.year, needed=True),
        "depth": _one_of(get_args(LookDepth), needed=True),
        "timed_as": _maybe(_one_of(get_args(LookDepth))),
        "minutes": _maybe(_number(0.0, DAY_MIN)),
        "answers": Key("answers by what was asked", _are_answers),
        "broken_off": _TRUE_OR_FALSE,
    },
    "walk": {
        "off": _day(needed=True),
        "on": _day(needed=True),
        "minutes": _number(0.0, DAY_MIN, needed=True),
    },
}  # fmt: skip


def _form(keys: Mapping[str, Key]) -> tuple[Mapping[str, Key], tuple[str, ...]]:
    form = dict(chain(_OF_ALL.items(), keys.items()))
    return form, tuple(name for name, key in form.items() if key.needed)


_FORMS = {kind: _form(keys) for kind, keys in _KEYS.items()}
_OTHER = _form({})
