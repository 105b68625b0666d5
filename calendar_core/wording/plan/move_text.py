"""Words of told dates that moved: by how much, since when, and what moved them."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.garden.state import NOT_YET
from calendar_core.wording.sentences import stage_words, tree_list

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.moved_dates import DateMove, MovePart, Spell, Written
    from calendar_core.wording.sentences import Speaker

MOVES: dict[str, str] = {
    "nothing": "No date that was told has moved since {day}.",
    "opens": "Opening moved to {day}, {shift} than told on {told}: {why}.",
    "safe": "Last safe day moved to {day}, {shift} than told on {told}: {why}.",
    "looks": "Moved to {day}, {shift} than told on {told}: {why}.",
    "row": "{work}, {trees}: {move}",
    "earlier": "{days} earlier",
    "later": "{days} later",
    "part": "{cause} ({days})",
    "since_opens": "Since {told}: {work} ({trees}) {shift}",
    "since_safe": "Since {told}: {work} ({trees}) closes {shift}",
    "since_why": "{move}, {why}.",
    "since_by": "{move}, by {why}.",
    "since": "{move}.",
}

CAUSES: dict[str, str] = {
    "knowledge": "what the program knows has changed",
    "record": "what was stored of the garden or of earlier days was changed",
    "time": "the days that passed",
    "weather": "the weather that came",
    "weather_of": "the weather of {days}",
    "forecast": "the forecast",
    "usual_warmer": "{days} were {degrees} warmer than usual",
    "usual_colder": "{days} were {degrees} colder than usual",
    "expected_warmer": "{days} were {degrees} warmer than forecast",
    "expected_colder": "{days} were {degrees} colder than forecast",
    "usual_warmer_one": "{days} was {degrees} warmer than usual",
    "usual_colder_one": "{days} was {degrees} colder than usual",
    "expected_warmer_one": "{days} was {degrees} warmer than forecast",
    "expected_colder_one": "{days} was {degrees} colder than forecast",
    "usual_warmer_short": "{days} {degrees} above usual",
    "usual_colder_short": "{days} {degrees} below usual",
    "expected_warmer_short": "{days} {degrees} above forecast",
    "expected_colder_short": "{days} {degrees} below forecast",
}
"""What moved a date, with the days it did so by behind it where there are several causes."""

BRIEF: dict[str, str] = {
    "knowledge": "new knowledge",
    "record": "what was corrected",
    "time": "the days that passed",
    "weather": "the weather",
    "forecast": "the forecast",
    "sight": "what you saw",
    "entry": "what you wrote",
}
"""The same where there is no room."""

NOTES: dict[str, str] = {
    "seen": "{what} seen on {day}",
    "not yet": "no {what} yet on {day}",
    "work": "{what} on {day}",
    "wish": "your wish of {day}",
    "answer": "your answer of {day}",
    "choice": "your choice of {day}",
    "state": "what you wrote of the tree on {day}",
    "part": "what you wrote of a part on {day}",
    "measure": "what you measured on {day}",
    "look": "your look of {day}",
    "review": "your look of {day}",
    "walk": "your walk of {day}",
    "hours": "your hours of {day}",
    "away": "your days away, written on {day}",
    "gone": "what you wrote on {day}",
    "void": "what you took back on {day}",
}
"""Entries that moved a date, by their kind."""

MOST_NOTES = 2  # told of one cause; more would be a log
AS_USUAL_C = 0.25  # a difference that rounds to nothing beside a station's own error (estimate)
ONE_LINE = 76  # signs of the first screen's line beside its indent


def move_sentence(speaker: Speaker, move: DateMove, *, brief: bool = False) -> str:
    """Return where a date moved, by how much since it was told, and what moved it; the parts add up.

    It holds nothing that changes from day to day.
    """
    style = speaker.style
    return style.say(
        MOVES["looks" if move.label else move.side],
        day=style.day(move.after, speaker.today),
        shift=_shift(speaker, move.days),
        told=style.day(move.told_on, speaker.today),
        why=_causes(speaker, move, brief=brief),
    )


def change_texts(speaker: Speaker, moves: Sequence[DateMove], labels: Mapping[UUID, str]) -> list[str]:
    """Return what moved alike for some trees in several lengths, the fullest first."""
    move, trees = moves[0], [labels[move.tree_id] for move in moves]
    return [
        speaker.style.say(
            MOVES["row"],
            work=speaker.name(move),
            trees=tree_list(trees, most=most),
            move=_lower(move_sentence(speaker, move, brief=brief)),
        )
        for brief, most in ((False, 6), (False, 2), (False, 1), (True, 2), (True, 1))
    ]


def moved_alike(speaker: Speaker, moves: Iterable[DateMove]) -> list[list[DateMove]]:
    """Return moves of which one sentence is true, each set in one list, in the order of their first."""
    found: dict[tuple[object, ...], list[DateMove]] = {}
    for move in moves:
        key = (move.moved_on, speaker.name(move), move.part, move_sentence(speaker, move))
        found.setdefault(key, []).append(move)
    return list(found.values())


def matters_line(speaker: Speaker, moves: Sequence[DateMove], labels: Mapping[UUID, str]) -> str:
    """Return the one line of what matters most, with its main cause: the fullest that fits `ONE_LINE`, else the shortest."""
    style, move = speaker.style, moves[0]
    trees = [labels[move.tree_id] for move in moves]
    heads = [
        style.say(
            MOVES[f"since_{move.side}"],
            told=_since(speaker, move.told_on),
            work=_lower(speaker.name(move)),
            trees=tree_list(trees, most=most),
            shift=_shift(speaker, move.days),
        )
        for most in (3, 1)
    ]
    main = max(move.parts, key=lambda part: part.days * (1 if move.days > 0 else -1))
    fuller = _cause(speaker, main), _cause(speaker, main, short=True)
    texts = [style.say(MOVES["since_why"], move=head, why=why) for head in heads for why in fuller]
    texts += [style.say(MOVES["since_by"], move=head, why=style.say(BRIEF[main.cause])) for head in heads]
    texts.append(style.say(MOVES["since"], move=heads[-1]))
    return next((text for text in texts if len(text) <= ONE_LINE), texts[-1])


def nothing_moved(speaker: Speaker, day: date) -> str:
    """Return that no date has moved since a day."""
    return speaker.style.say(MOVES["nothing"], day=speaker.style.day(day, speaker.today))


def _since(speaker: Speaker, day: date) -> str:
    """Return a day of the last week by its name, another by its date."""
    near = speaker.today - timedelta(days=7) < day < speaker.today
    return speaker.style.weekday_name(day) if near else speaker.style.day(day, speaker.today)


def _shift(speaker: Speaker, days: int) -> str:
    count = speaker.style.number_of(abs(days), "day", "days")
    return speaker.style.say(MOVES["earlier" if days < 0 else "later"], days=count)


def _causes(speaker: Speaker, move: DateMove, *, brief: bool) -> str:
    """Return what moved a date; several causes each with its days, and with their direction where they differ."""
    style, parts = speaker.style, move.parts
    told = [style.say(BRIEF[part.cause]) if brief else _cause(speaker, part) for part in parts]
    if len(parts) == 1:
        return told[0]
    one_way = len({part.days > 0 for part in parts}) == 1
    days = [
        style.number_of(abs(part.days), "day", "days") if one_way else _shift(speaker, part.days)
        for part in parts
    ]
    rows = zip(told, days, strict=True)
    return ", ".join(style.say(MOVES["part"], cause=cause, days=shift) for cause, shift in rows)


def _cause(speaker: Speaker, part: MovePart, *, short: bool = False) -> str:
    if part.spell is not None:
        return _spell(speaker, part.spell, short=short)
    if part.written:
        return tree_list([_note(speaker, note) for note in part.written], most=MOST_NOTES)
    return speaker.style.say(CAUSES.get(part.cause, BRIEF[part.cause]))


def _spell(speaker: Speaker, spell: Spell, *, short: bool) -> str:
    """Return how days were: "1 to 23 June were 2.1 degC warmer than usual"."""
    style = speaker.style
    days = style.days(spell.first, spell.last, speaker.today)
    if abs(spell.warmer_c) < AS_USUAL_C:
        return style.say(CAUSES["weather_of"], days=days)
    how = "warmer" if spell.warmer_c > 0 else "colder"
    single = spell.first == spell.last or days == style.month(spell.first)
    form = "_short" if short else "_one" if single else ""
    degrees = style.difference(abs(spell.warmer_c)).removeprefix("+")
    return style.say(CAUSES[f"{spell.than}_{how}{form}"], days=days, degrees=degrees)


def _note(speaker: Speaker, note: Written) -> str:
    style, kind, what = speaker.style, str(note.kind), note.what
    if kind == "seen" and what.startswith(NOT_YET):
        kind, what = "not yet", what.removeprefix(NOT_YET)
    if what in speaker.operations:
        what = _lower(style.translate(speaker.operations[what].label))
    return style.say(NOTES[kind], what=stage_words(what), day=style.day(note.on, speaker.today))


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
