"""What is to be done about a warning: which advice is due, one line of it, and what to mind."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

from calendar_core.wording.warnings import warning_text as phrases

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence
    from datetime import datetime

    from alerts.policy.standing import Standing
    from alerts.telling.voice import Voice
    from alerts.threats import Advice, Threat

MOST_MOVED = 14
"""Trees named where something is to be done with them: whoever does it must know them all (estimate)."""
STAYS = ("stays in", "stays shaded")


def advice_for(standing: Standing, threats: Sequence[Threat], advice: Iterable[Advice]) -> list[Advice]:
    """Return the advice for a warning's hazard, hours and trees, that for the most endangered tree first."""
    rank = {threat.tree: place for place, threat in enumerate(threats)}
    due = [
        replace(piece, trees=trees)
        for piece in advice
        if piece.hazard == standing.hazard
        and piece.by < standing.expires
        and piece.until >= standing.onset
        and (trees := tuple(tree for tree in piece.trees if tree in rank))
    ]
    return sorted(due, key=lambda piece: (min(rank[tree] for tree in piece.trees), piece.by))


def due_cautions(voice: Voice, standing: Standing, advice: Collection[Advice]) -> tuple[str, ...]:
    """Return the keys of the cautions due with a hazard, as bad as it is, and with what is done about it."""
    means = [key for piece in advice for key in voice.rules.means[piece.do].cautions]
    coldest = min((piece.here for piece in advice), default=-inf)
    due = dict.fromkeys((*voice.rules.hazard[standing.hazard].cautions, *means))
    lines = {key: voice.cautions[key].down_to_c for key in due}
    return tuple(key for key, line in lines.items() if line is None or coldest <= line)


def do_line(voice: Voice, standing: Standing, advice: Advice, now: datetime, most: int = MOST_MOVED) -> str:
    """Return one thing to do, with the trees it is for, as many as ``most`` by name."""
    trees = voice.names(advice.trees, most)
    if advice.do == "nothing":
        return voice.say(phrases.NOTHING[advice.why], trees=trees)
    by = (
        voice.say(phrases.NOW) if advice.by <= now else voice.say(phrases.BY, hour=voice.hour(advice.by, now))
    )
    line = voice.say(
        phrases.HAVE if advice.asked else phrases.DO[advice.do],
        by=by,
        until=voice.hour(advice.until, standing.onset),
        trees=trees,
        spot=voice.spots[advice.to] if advice.to else "",
        gain=_gain(voice, advice),
        cloth=advice.cloth_percent,
    )
    more = [phrases.NOTES[advice.why]] if advice.why in phrases.NOTES else []
    more += [] if advice.enough is None or advice.why == "stays shaded" else [phrases.LIGHT[advice.enough]]
    if advice.do == "move" and not advice.back and advice.why not in STAYS:
        more.insert(0, phrases.BACK_AFTER)
    until = voice.hour(advice.until, standing.onset)
    return " ".join([line, *(voice.say(phrase, until=until) for phrase in more), *_back(voice, advice)])


def _back(voice: Voice, advice: Advice) -> list[str]:
    """Return the steps by which a tree comes back into the sun, the last of which is its old place."""
    if not advice.back:
        return []
    *between, (home, _) = advice.back
    steps = [
        voice.say(phrases.STEP, day=phrases.dated(voice.style, day), spot=voice.spots[spot])
        for day, spot in between
    ]
    steps.append(voice.say(phrases.STEP_HOME, day=phrases.dated(voice.style, home)))
    return [voice.say(phrases.BACK, steps=", ".join(steps))]


def _gain(voice: Voice, advice: Advice) -> str:
    here, there = (voice.value(advice.hazard, value) for value in (advice.here, advice.there))
    return voice.say(phrases.GAINS[voice.kind(advice.hazard, advice.trees)], here=here, there=there)
