"""Warnings as they are stored: what was last told of each, where its trees stood then, and the moves it asks for."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID

from alerts.notices import as_data
from alerts.outbox.standing import StandingWarning, warnings_since
from alerts.policy import standing as forms
from alerts.telling.events import left_of, way_back
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.warnings.voices import voice_of
from calendar_core.app.warnings.ways_back import asked_once, one_way, wanted_out
from calendar_core.garden.state import states
from calendar_core.planning.events import TimedEvent
from calendar_core.storage import log

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from sqlalchemy import Connection

    from alerts.notices import Notice
    from alerts.policy.standing import Standing
    from alerts.telling.voice import Voice
    from calendar_core.app.shell.session import Session

KEPT = timedelta(days=2)
"""A night belongs to the day of its morning, so a warning of yesterday may still matter."""
RETURNS_KEPT = timedelta(days=40)
"""As long as the way back into the sun may take (estimate: its steps are weeks)."""
STAYS = "stays"
"""Under this a warning keeps the spots, by tree, to which the season's moves brought trees: from there none is asked back."""


def known_warnings(connection: Connection, garden_id: UUID, now: datetime) -> dict[UUID, StandingWarning]:
    """Return the warnings that still matter by id, withdrawn and passed ones too."""
    return {warning.id: warning for warning in warnings_since(connection, garden_id, now - KEPT)}


def holding(known: Iterable[StandingWarning], now: datetime) -> tuple[StandingWarning, ...]:
    """Return the warnings that hold, the earliest first."""
    active = [warning for warning in known if warning.state == "active" and warning.expires > now]
    return tuple(sorted(active, key=lambda warning: (warning.onset, warning.hazard)))


def active_now(session: Session, now: datetime) -> tuple[StandingWarning, ...]:
    """Return the warnings of a garden that hold."""
    return holding(_as_trees_stand(session, now - KEPT, now), now)


def tellers_now(session: Session, now: datetime) -> tuple[StandingWarning, ...]:
    """Return the warnings that hold, but for those that another of them tells of."""
    active = {warning.id: warning for warning in active_now(session, now)}
    return tuple(warning for warning in active.values() if helper_of(warning, active) is None)


def timed_events(session: Session, now: datetime) -> tuple[TimedEvent, ...]:
    """Return what the warnings that hold ask to be done by an hour, once where several ask for the same; and ways back."""
    active = {warning.id: warning for warning in active_now(session, now)}
    asked = [
        event
        for warning in active.values()
        if is_told(warning) or helper_of(warning, active) is None
        for event in events_in(warning)
    ]
    return (*asked_once(voice_of(session), asked), *returns_now(session, now))


def returns_now(session: Session, now: datetime) -> tuple[TimedEvent, ...]:
    """Return the steps back of trees that were moved for a warning, the earliest first, until they are made or long past.

    A tree comes back when the last of its warnings is over, and not while the season keeps it under cover.
    """
    known = _as_trees_stand(session, now - RETURNS_KEPT, now)
    steps = one_way(voice_of(session), [returns_in(warning) for warning in known])
    ahead = wanted_out(session, [step for step in steps if step.start > now - KEPT])
    return tuple(sorted(ahead, key=lambda step: step.start))


def standing_in(warning: StandingWarning) -> Standing:
    """Return a stored warning as it was last told."""
    return forms.from_data(warning.data["standing"])


def events_in(warning: StandingWarning) -> list[TimedEvent]:
    """Return what a stored warning asks to be done by an hour."""
    return [_event(data) for data in warning.data["events"]]


def _as_trees_stand(session: Session, since: datetime, now: datetime) -> list[StandingWarning]:
    """Return warnings without the trees that were moved since they were told, which nobody may have judged yet."""
    with session.store.read() as connection:
        known = warnings_since(connection, session.garden.id, since)
        trees = {UUID(tree) for warning in known for tree in warning.data.get("spots", ())}
        trees |= {tree for warning in known for step in returns_in(warning) for tree in step.tree_ids}
        if not trees:
            return list(known)
        entries = log.entries(connection, session.garden.id, session.today, trees)
    stand = states(list(trees), entries, session.today)
    spots = {tree: state.spot for tree, state in stand.items() if state.spot is not None}
    # A way back was made up when the trees were moved, not anew whenever it is asked for.
    moved_at = [entry.recorded_at for entry in entries if entry.kind == "state" and "spot" in entry.data]
    at = max(moved_at, default=now)
    return [lifted(voice_of(session), warning, spots, at, session.gone) for warning in known]


def returns_in(warning: StandingWarning) -> list[TimedEvent]:
    """Return the steps back of trees that were moved for a stored warning."""
    return [_event(data) for data in warning.data.get("returns", ())]


def without_way_back(warning: StandingWarning, spots: Mapping[UUID, UUID]) -> StandingWarning:
    """Return a warning that asks none of some trees back while they stand where the season's move brought them."""
    named = set(warning.data.get("spots", {})).union(
        str(tree) for step in returns_in(warning) for tree in step.tree_ids
    )
    stays = {str(tree): str(spot) for tree, spot in spots.items() if str(tree) in named}
    if not stays:
        return warning
    return replace(warning, data={**warning.data, STAYS: {**warning.data.get(STAYS, {}), **stays}})


def stored(
    garden_id: UUID,
    standing: Standing,
    notice: Notice | None,
    events: Sequence[TimedEvent],
    spots: Mapping[UUID, UUID],
    before: StandingWarning | None,
    now: datetime,
) -> StandingWarning:
    """Return a warning as it is stored; of what nobody is told, text, events and spots stay those of ``before``."""
    data: dict[str, Any] = dict(before.data) if before is not None else {}
    if notice is not None:
        stood = {str(tree): str(spots[tree]) for tree in standing.levels}
        data |= {
            "subject": notice.subject,
            "text": notice.text,
            "notice": as_data(notice),
            "events": as_json(list(events)),
            "spots": stood,
            "moved": [],
            "gone": [],
        }
        # What is over was told by whom it was left to, and is taken back there.
        if standing.state == "active":
            data |= {"helped_by": "", "carried": False}
    data["standing"] = forms.as_data(standing)
    made_at = before.made_at if before is not None else now
    return StandingWarning(
        standing.id, garden_id, standing.hazard, standing.severity, standing.onset, standing.expires, standing.state,
        standing.revision, data, made_at, standing.forecast_at,
    )  # fmt: skip


def lifted(
    voice: Voice,
    warning: StandingWarning,
    spots: Mapping[UUID, UUID],
    now: datetime,
    gone: Collection[UUID] = (),
) -> StandingWarning:
    """Return a warning as if it had never named trees that were moved since, with their way back; or as it is.

    It is over, and nobody told, if none is left. ``spots`` is where trees stand now, ``gone`` those that have left.
    """
    stood = {UUID(tree): UUID(spot) for tree, spot in warning.data.get("spots", {}).items()}
    moved = {tree for tree, spot in stood.items() if tree not in gone and spots.get(tree, spot) != spot}
    returns = list(returns_in(warning))
    for event in events_in(warning) if is_told(warning) else ():
        stops = {event.to, *(spot for _, spot in event.back)}
        homes = {tree: stood[tree] for tree in event.tree_ids if tree in moved and spots[tree] in stops}
        returns += way_back(voice, event, homes, now)
    returns = _not_made(voice, warning, returns, spots, gone)
    if returns or returns_in(warning):
        warning = replace(warning, data={**warning.data, "returns": as_json(returns)})
    left = moved | stood.keys() & set(gone)
    return _without(voice, warning, left, moved) if left else warning


def _not_made(
    voice: Voice,
    warning: StandingWarning,
    returns: Sequence[TimedEvent],
    spots: Mapping[UUID, UUID],
    gone: Collection[UUID],
) -> list[TimedEvent]:
    """Return the steps back of the trees that stand where they lead from, but for those that the season keeps there."""
    stays = {
        UUID(tree) for tree, spot in warning.data.get(STAYS, {}).items() if str(spots.get(UUID(tree))) == spot
    }
    left = []
    for step in returns:
        elsewhere = {
            tree
            for tree in step.tree_ids
            if tree in gone or tree in stays or spots.get(tree, step.at[0]) not in step.at
        }
        if not elsewhere.issuperset(step.tree_ids):
            left.append(left_of(voice, step, elsewhere))
    return left


def _without(
    voice: Voice, warning: StandingWarning, trees: set[UUID], moved: Collection[UUID]
) -> StandingWarning:
    standing = standing_in(warning)
    levels = {tree: level for tree, level in standing.levels.items() if tree not in trees}
    left = replace(standing, levels=levels, state=standing.state if levels else "withdrawn")
    data = {
        **warning.data,
        "standing": forms.as_data(left),
        "events": as_json(
            [
                left_of(voice, event, trees)
                for event in events_in(warning)
                if not trees.issuperset(event.tree_ids)
            ]
        ),
        "moved": [*warning.data["moved"], *map(str, moved)],
        "gone": [*warning.data.get("gone", ()), *map(str, trees.difference(moved))],
        "spots": {tree: spot for tree, spot in warning.data["spots"].items() if UUID(tree) not in trees},
    }
    return replace(warning, state=warning.state if levels else "withdrawn", data=data)


def helped(warning: StandingWarning, by: StandingWarning, *, carried: bool = False) -> StandingWarning:
    """Return a warning of which nobody is told because what another asks for helps against it too.

    One that is ``carried`` is told of in the message of the other, with what it asks for itself.
    """
    return replace(warning, data={**warning.data, "helped_by": str(by.id), "carried": carried})


def is_carried(warning: StandingWarning) -> bool:
    """Tell whether a warning was told of in the message of another."""
    return is_helped(warning) and bool(warning.data.get("carried"))


def is_helped(warning: StandingWarning) -> bool:
    """Tell whether a warning was left to another to tell."""
    return bool(warning.data.get("helped_by"))


def goes_on_from_before(warning: StandingWarning) -> bool:
    """Tell whether a warning was left to that of the day before, whose moves last through it."""
    standing = standing_in(warning)
    before = forms.warning_id(warning.garden_id, standing.hazard, standing.day - timedelta(days=1))
    return warning.data.get("helped_by") == str(before)


def is_told(warning: StandingWarning) -> bool:
    """Tell whether somebody was told what a warning asks for, in a message of its own or along with another."""
    return not is_helped(warning) or is_carried(warning)


def helper_of(warning: StandingWarning, known: Mapping[UUID, StandingWarning]) -> StandingWarning | None:
    """Return the warning that helps against one, if it is known."""
    return known.get(UUID(warning.data["helped_by"])) if is_helped(warning) else None


def _event(data: Mapping[str, Any]) -> TimedEvent:
    moments = {name: datetime.fromisoformat(data[name]) for name in ("start", "end", "revised_at")}
    trees = tuple(UUID(tree) for tree in data["tree_ids"])
    to = UUID(data["to"]) if data.get("to") else None
    back = tuple(
        (datetime.fromisoformat(when), UUID(spot) if spot else None) for when, spot in data.get("back", ())
    )
    ids = {"uid": UUID(data["uid"]), "tree_ids": trees, "to": to, "at": tuple(map(UUID, data.get("at", ())))}
    return TimedEvent(**{**data, **moments, **ids, "back": back})


MOVED = "Moved"
