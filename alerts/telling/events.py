"""What is to be done about a warning, as timed events of the calendar."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import datetime, time
from typing import TYPE_CHECKING
from uuid import uuid5

from alerts.telling.to_do import STAYS, advice_for, do_line, due_cautions
from calendar_core.planning.events import TimedEvent
from calendar_core.weather.hourly import HOUR
from calendar_core.wording.warnings import warning_text as phrases

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from uuid import UUID

    from alerts.policy.judging import WarningChange
    from alerts.policy.standing import Standing
    from alerts.telling.voice import Voice
    from alerts.threats import Advice

MORNING = time(9)  # when a tree is brought a step back into the sun (estimate: before the day's work)


def events_of(
    voice: Voice, change: WarningChange, advice: Iterable[Advice], now: datetime
) -> tuple[TimedEvent, ...]:
    """Return an event for each thing to do about a warning; nothing for trees that are left as they are."""
    due = advice_for(change.standing, change.threats, advice)
    alike: Counter[UUID] = Counter()
    events = []
    for piece in due:
        if piece.do != "nothing":
            first = event_id(change.standing.id, piece)
            events.append(_event(voice, change.standing, piece, alike[first], now))
            alike[first] += 1
    return tuple(events)


def event_id(warning: UUID, advice: Advice, occurrence: int = 0) -> UUID:
    """Return the id of the event for one thing to do about a warning; ``occurrence`` counts moves to the same spot.

    Trees go to one spot at several hours, or come back at several.
    """
    return uuid5(warning, f"{advice.do}|{advice.to}" + (f"|{occurrence}" if occurrence else ""))


def left_of(voice: Voice, move: TimedEvent, moved: Collection[UUID]) -> TimedEvent:
    """Return a move, or a way back, for the trees that have not made it yet."""
    left = tuple(tree for tree in move.tree_ids if tree not in moved)
    return move if move.to is None or len(left) == len(move.tree_ids) else for_trees(voice, move, left)


def for_trees(voice: Voice, move: TimedEvent, trees: tuple[UUID, ...]) -> TimedEvent:
    """Return a move, or a way back, of other trees."""
    phrase = phrases.BACK_SUMMARY if move.at else phrases.EVENT_SUMMARY["move"]
    spot = "" if move.to is None else voice.spots[move.to]
    return replace(move, tree_ids=trees, summary=voice.say(phrase, spot=spot, trees=voice.names(trees)))


def way_back(
    voice: Voice, move: TimedEvent, homes: Mapping[UUID, UUID], now: datetime
) -> tuple[TimedEvent, ...]:
    """Return an event for each step back of trees that were moved; ``homes`` are the spots they stood at, by tree."""
    out = []
    for n, (when, to) in enumerate(move.back):
        trees: defaultdict[UUID, list[UUID]] = defaultdict(list)
        for tree, home in homes.items():
            trees[to or home].append(tree)
        for spot, those in trees.items():
            whose = ",".join(sorted(tree.hex for tree in those))
            summary = voice.say(phrases.BACK_SUMMARY, spot=voice.spots[spot], trees=voice.names(those))
            out.append(
                TimedEvent(
                    uid=uuid5(move.uid, f"back|{n}|{spot}|{whose}"),
                    tree_ids=tuple(those),
                    start=when,
                    end=when + HOUR,
                    summary=summary,
                    description=f"{summary}.\n\n{voice.say(phrases.BACK_ABOUT)}",
                    reminder=summary,
                    sequence=0,
                    revised_at=now,
                    to=spot,
                    at=tuple(
                        stop for stop in (move.to, *(step for _, step in move.back[:n])) if stop is not None
                    ),
                )
            )
    return tuple(out)


def _steps(voice: Voice, advice: Advice) -> tuple[tuple[datetime, UUID | None], ...]:
    """Return from when trees stand where after a move; nothing where the plan brings them out."""
    if advice.do != "move" or advice.why in STAYS:
        return ()
    if not advice.back:
        return ((advice.until, None),)
    return tuple((datetime.combine(day, MORNING, voice.zone), spot) for day, spot in advice.back)


def _event(voice: Voice, standing: Standing, advice: Advice, occurrence: int, now: datetime) -> TimedEvent:
    spot = voice.spots[advice.to] if advice.to else ""
    summary = voice.say(phrases.EVENT_SUMMARY[advice.do], spot=spot, trees=voice.names(advice.trees))
    keys = due_cautions(voice, standing, [advice])
    cautions = [voice.say(phrases.CAUTION, text=voice.style.text(voice.cautions[key].text)) for key in keys]
    about = [
        do_line(voice, standing, advice, now, most=len(advice.trees)),
        *cautions,
        f"{voice.judged(now, standing.forecast_at)} {voice.say(phrases.OFFICIAL)}",
    ]
    by = voice.hour(advice.by, advice.by)
    return TimedEvent(
        uid=event_id(standing.id, advice, occurrence),
        tree_ids=advice.trees,
        start=advice.by,
        end=advice.until,
        summary=summary,
        description="\n\n".join(about),
        reminder=voice.say(phrases.EVENT_REMINDER, summary=summary, by=by),
        sequence=standing.revision,
        revised_at=now,
        to=advice.to,
        back=_steps(voice, advice),
    )
