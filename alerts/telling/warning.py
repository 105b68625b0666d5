"""The text of a warning that is raised, changed or withdrawn."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from alerts.notices import Notice
from alerts.policy.cap import DANGER_SEVERITIES
from alerts.telling.to_do import advice_for, do_line, due_cautions
from calendar_core.wording.sentences import tree_list
from calendar_core.wording.warnings import warning_text as phrases

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime
    from uuid import UUID

    from alerts.policy.judging import WarningChange
    from alerts.policy.standing import Standing
    from alerts.telling.voice import Voice
    from alerts.threats import Advice, Level, Threat

MOST_LINES = 4
"""Things to do that are written out; the rest is counted (estimate: they fit on a phone beside the trees)."""


@dataclass(frozen=True, slots=True)
class Told:
    """The text of a notice; ``cautions`` are the keys of those that were due and are in it."""

    subject: str
    text: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Carried:
    """A warning that the message of another tells of too, with what threatens its trees and what to do about it."""

    standing: Standing
    threats: tuple[Threat, ...]
    advice: Sequence[Advice]

    @property
    def due(self) -> list[Advice]:
        """What is to be done about it."""
        return advice_for(self.standing, self.threats, self.advice)


def notice_of(
    voice: Voice,
    change: WarningChange,
    advice: Iterable[Advice],
    now: datetime,
    *,
    feels_c: float | None = None,
    carried: Sequence[Carried] = (),
) -> Notice:
    """Return the notice of a change that is to be told; raises ValueError for one that is not."""
    if change.action is None:
        raise ValueError("a change without an action is told to nobody")
    after, pieces = change.standing, list(advice)
    told = tell(voice, change, pieces, now, feels_c=feels_c, carried=carried)
    anew = told
    if change.action == "update":
        first = replace(change, action="new", what=(), before=None)
        anew = tell(voice, first, pieces, now, feels_c=feels_c, carried=carried)
    asked = [*advice_for(after, change.threats, pieces), *(piece for each in carried for piece in each.due)]
    return Notice(
        after.id,
        after.revision,
        change.action,
        after.severity,
        min([after.onset, *(each.standing.onset for each in carried)]),
        after.expires,  # what is told along and lasts longer is then told by itself
        told.subject,
        told.text,
        cap=change.cap or {},
        act_by=min((piece.by for piece in asked if piece.do != "nothing"), default=after.onset),
        anew_subject=anew.subject,
        anew_text=anew.text,
    )


def tell(
    voice: Voice,
    change: WarningChange,
    advice: Iterable[Advice],
    now: datetime,
    *,
    feels_c: float | None = None,
    carried: Sequence[Carried] = (),
) -> Told:
    """Return the text of a change, with what to do about each of its trees; the last paragraph is its age.

    Parameters
    ----------
    voice : Voice
        The reader's units, and the garden's names.
    change : Change
        What policy made of the warning.
    advice : iterable of Advice
        All that shelter answered; what is for other hazards, hours or trees is left out.
    now : datetime
        When was judged, aware.
    feels_c : float [degC]
        How hot the day feels in shade, where that strains people.
    carried : sequence of Carried
        Warnings of the same day and trees that are told here too.
    """
    if change.action == "withdraw":
        return _withdrawn(voice, change, now, carried)
    due = advice_for(change.standing, change.threats, advice)
    every = [*due, *(piece for each in carried for piece in each.due)]
    due = _staying_for_all(due, every)
    carried = [replace(each, advice=_staying_for_all(each.due, every)) for each in carried]
    keys = due_cautions(voice, change.standing, due)
    keys = tuple(
        dict.fromkeys(
            [*keys, *(key for each in carried for key in due_cautions(voice, each.standing, each.due))]
        )
    )
    subject = f"{heading(voice, change.standing, carried)}: {voice.names(_trees(change.threats)[:1])}"
    if (more := len(change.threats) - 1) > 0:
        subject += voice.say(" and {n} more", n=more)
    if change.action == "update":
        subject = voice.say(phrases.UPDATED_SUBJECT, subject=subject)
    parts = [
        _changed(voice, change),
        _what(voice, change),
        _do(voice, change.standing, due, now),
        *(_too(voice, each, now) for each in carried),
        _sure(voice, change),
        "" if feels_c is None else voice.say(phrases.PEOPLE, feels=voice.value("heat", feels_c)),
        "\n".join(
            voice.say(phrases.CAUTION, text=voice.style.text(voice.cautions[key].text)) for key in keys
        ),
        _tail(voice, change.standing, now),
    ]
    return Told(subject, "\n\n".join(part for part in parts if part), keys)


def heading(voice: Voice, standing: Standing, carried: Sequence[Carried] = ()) -> str:
    """Return level, hazard and hours of a warning in a few words, with the hazards as grave that it tells of too."""
    others = (each.standing for each in carried)
    alike = [standing, *(each for each in others if level_of(each) == level_of(standing))]
    hazards = tree_list([voice.hazard(each.hazard, each.levels) for each in alike])
    return voice.say(phrases.HEADS[level_of(standing)], hazard=hazards, when=voice.span(standing))


def level_of(standing: Standing) -> Level:
    """Return the level of a warning as a whole."""
    return "danger" if standing.severity in DANGER_SEVERITIES else "caution"


def _too(voice: Voice, carried: Carried, now: datetime) -> str:
    """Return what else comes to the same trees, and what to do about it beside what is asked for already."""
    standing, due = carried.standing, carried.due
    more = [piece for piece in due if not piece.asked]
    phrase = phrases.MET_TOO if due and not more else phrases.TOO
    trees = voice.names(standing.levels)
    lines = [voice.say(phrase, heading=heading(voice, standing), trees=trees)]
    return "\n".join([*lines, *(do_line(voice, standing, piece, now) for piece in more)])


def _staying_for_all(pieces: Iterable[Advice], every: Sequence[Advice]) -> list[Advice]:
    """Return moves whose trees come back after the last of ``every`` hazard that sends them to the same spot."""
    return [
        replace(piece, until=max(other.until for other in (piece, *every) if _one_stay(piece, other)))
        for piece in pieces
    ]


def _one_stay(move: Advice, other: Advice) -> bool:
    return other is move or (
        move.do == other.do == "move" and move.to == other.to and not set(move.trees).isdisjoint(other.trees)
    )


def _trees(threats: Iterable[Threat]) -> list[UUID]:
    return [threat.tree for threat in threats]


def _changed(voice: Voice, change: WarningChange) -> str:
    """Return what changed, which an update says first."""
    before, after = change.before, change.standing
    if before is None:
        return ""
    added = [
        tree
        for tree in _trees(change.threats)
        if after.levels[tree] == "danger" and before.levels.get(tree) != "danger"
    ]
    moments = {"longer": (after.expires, before.expires), "danger": (after.onset, before.onset)}
    lines = []
    for what in change.what:
        new, old = moments.get(what, (after.onset, before.onset))
        now, then = voice.hour(new, after.onset), voice.hour(old, after.onset)
        lines.append(voice.say(phrases.CHANGED[what], trees=voice.names(added), now=now, then=then))
    return " ".join(lines)


def _what(voice: Voice, change: WarningChange) -> str:
    """Return what comes when, to which trees, and why some bear less."""
    standing, worst = change.standing, change.threats[0]
    seen = {
        key: voice.value(worst.hazard, getattr(worst, key)) for key in ("typical", "bad", "caution", "danger")
    }
    lines_of = phrases.LINES
    if worst.deep is not None:
        seen["deep"], lines_of = voice.value(worst.hazard, worst.deep), phrases.LINES_DEEP
    levels = {
        level: [tree for tree in _trees(change.threats) if standing.levels[tree] == level]
        for level in ("danger", "caution")
    }
    lines = [
        f"{voice.span(standing, date=True)}.",
        *(
            voice.say(phrase, trees=voice.names(levels[level]))
            for level, phrase in (("danger", phrases.IN_DANGER), ("caution", phrases.TO_WATCH))
            if levels[level]
        ),
        voice.say(
            phrases.WORST[voice.kind(worst.hazard, [worst.tree])],
            tree=voice.trees[worst.tree],
            lines=voice.say(lines_of, **seen),
            begins=voice.hour(worst.begins, standing.onset),
            **seen,
        ),
        *_reasons(voice, change.threats),
    ]
    return "\n".join(lines)


def _reasons(voice: Voice, threats: Iterable[Threat]) -> list[str]:
    """Return a line for each reason that lowers lines, with its trees."""
    trees: dict[str, list[UUID]] = defaultdict(list)
    for threat in threats:
        for reason in threat.reasons:
            trees[reason].append(threat.tree)
    lines = [voice.say(phrases.REASONS[code], trees=voice.names(those)) for code, those in trees.items()]
    return [line[:1].upper() + line[1:] for line in lines]


def _do(voice: Voice, standing: Standing, advice: Sequence[Advice], now: datetime) -> str:
    """Return what to do, a line for trees that share it; of many lines the first and how many trees are left."""
    shown = sorted(advice, key=lambda piece: piece.do == "nothing")[:MOST_LINES]
    lines = [do_line(voice, standing, piece, now) for piece in shown]
    told = {tree for piece in shown for tree in piece.trees}
    left = {tree for piece in advice for tree in piece.trees} - told
    if left:
        lines.append(voice.say(phrases.MORE_TO_DO, n=len(left)))
    if lines and standing.hazard in phrases.WATER_FIRST:
        lines.append(voice.say(phrases.WATER_FIRST[standing.hazard]))
    return "\n".join(lines)


def _sure(voice: Voice, change: WarningChange) -> str:
    """Return the chances of the most endangered tree as frequencies."""
    caution, danger = (voice.style.chance(share) for share in change.threats[0].chances)
    if change.standing.hazard == "hail":
        return voice.say(phrases.SURE_HAIL, caution=caution)
    in_danger = change.standing.severity in DANGER_SEVERITIES
    phrase = phrases.SURE_DANGER if in_danger else phrases.SURE_CAUTION
    return voice.say(phrase, caution=caution, danger=danger)


def _withdrawn(voice: Voice, change: WarningChange, now: datetime, carried: Sequence[Carried]) -> Told:
    standing = change.standing
    gone = [standing, *(each.standing for each in carried)]
    hazards = tree_list([voice.hazard(each.hazard, each.levels) for each in gone])
    when, trees = voice.span(standing, date=True), voice.names(standing.levels)
    subject = voice.say(phrases.WITHDRAWN_SUBJECT, hazard=hazards, when=voice.span(standing))
    parts = [
        voice.say(phrases.WITHDRAWN, hazard=hazards, when=when, trees=trees),
        voice.say(phrases.WITHDRAWN_DO),
        _tail(voice, standing, now),
    ]
    return Told(subject, "\n\n".join(parts))


def _tail(voice: Voice, standing: Standing, now: datetime) -> str:
    return f"{voice.judged(now, standing.forecast_at)} {voice.say(phrases.OFFICIAL)}"
