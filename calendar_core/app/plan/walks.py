"""The walks of a garden: who is to be looked at when, as the log, the grower's time and the weather allow."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from calendar_core.garden.cycle import calendar_of
from calendar_core.garden.hours import free_minutes
from calendar_core.garden.state import valid_entries
from calendar_core.planning.aftercare.followed import concerns
from calendar_core.planning.places.operations import INTO
from calendar_core.planning.planner import air_over
from calendar_core.planning.review.checklist import checklist
from calendar_core.planning.review.depth import Pace, why_full
from calendar_core.planning.review.rounds import RoundWindow, TreeSeason, round_windows
from calendar_core.planning.review.walk_days import Light, WalkDay, walk_days
from calendar_core.planning.review.walks import Round, Stop, Walk, walks_of
from calendar_core.planning.seasons.frost_dates import frost_dates
from calendar_core.science.year.daylight import sun_times

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.knowledge.words import LookDepth
    from calendar_core.planning.items import Item
    from calendar_core.planning.review.checklist import Question
    from calendar_core.planning.review.walks import Turn

WEEKS = 10  # as far ahead as walks are planned: a round of six weeks that begins within the month


@dataclass(frozen=True)
class ReviewPlan:
    """The round with its walks, and the days on which there can be one."""

    round: Round
    days: Sequence[WalkDay]

    @property
    def pressing(self) -> tuple[Walk, ...]:
        """The walks that the calendar, the rota and the first screen tell."""
        return tuple(walk for walk in self.round.walks if walk.pressing)

    def within(self, end: date) -> ReviewPlan:
        """Return the same walks as far as they are before a day: how far one looks changes none."""
        near = replace(self.round, walks=tuple(walk for walk in self.round.walks if walk.on < end))
        return ReviewPlan(near, [day for day in self.days if day.day < end])


def review_plan(session: Session, weeks: int = WEEKS) -> ReviewPlan:
    """Return the walks of the coming weeks; the rota has the time that they leave."""
    last = session.today + timedelta(days=7 * weeks - 1)
    some = [stop for stop in stops(session) if stop.window.opens <= last]
    days = days_for_walks(session, weeks) if some else []
    return ReviewPlan(walks_of(some, days), days)


def stops(session: Session) -> list[Stop]:
    """Return a stop for each tree that has not been looked at in its round, whenever that opens."""
    states, knowledge, today = session.grove.states, session.knowledge, session.today
    items, frosts, moved = items_by_tree(session), first_frosts(session), moved_trees(session)
    pace = Pace(states, {tree.id: tree.species for tree in session.trees}, knowledge.review.minutes)
    out = []
    for tree in session.trees:
        window = _window(session, tree, frosts)
        if window is None:
            continue
        state = states[tree.id]
        spot = session.spots.get(state.spot) if state.spot else None
        why = why_full(state, items[tree.id], knowledge, today)
        depth: LookDepth = "full" if why else "glance"
        due_in = _due_in(items[tree.id], window)
        weak = state.vigour <= knowledge.review.full.weak_vigour.value
        turn: Turn = "bench"
        if spot is not None and spot.quarantine:
            turn = "quarantine"
        elif weak or concerns(state, knowledge.aftercare, today):
            turn = "concern"
        elif due_in is not None:
            turn = "tender"
        out.append(
            Stop(
                tree.id, window, depth, pace.minutes(tree.id, state, depth), turn,
                due_in if turn == "tender" else None, spot.name if spot else "", tree.label, why,
                moved.get(tree.id),
            )
        )  # fmt: skip
    return out


def items_by_tree(session: Session) -> Mapping[UUID, list[Item]]:
    """Return the items of the plan by tree; of a tree without any an empty list."""
    out: defaultdict[UUID, list[Item]] = defaultdict(list)
    for item in session.plan.items:
        out[item.tree_id].append(item)
    return out


def _window(session: Session, tree: Tree, frosts: Sequence[date]) -> RoundWindow | None:
    """Return the round in which a tree is to be looked at next, None where none is known."""
    done = {(review.round, review.cycle) for review in session.grove.states[tree.id].reviews}
    windows = windows_since(session, tree, frosts, session.today)
    return next((window for window in windows if (window.round, window.cycle) not in done), None)


def windows_since(session: Session, tree: Tree, frosts: Sequence[date], since: date) -> list[RoundWindow]:
    """Return the rounds of a tree that were not over on a day, the first first."""
    return round_windows(_season(session, tree, frosts), session.knowledge.review, since)


def _season(session: Session, tree: Tree, frosts: Sequence[date]) -> TreeSeason:
    profile = session.knowledge.profiles[tree.species]
    calendar = calendar_of(session.garden, profile)
    after = calendar.next_start(session.today)
    before = after.replace(year=after.year - 1)
    begins = {calendar.cycle(day): day for day in (before, after)}
    return TreeSeason(tree.id, profile, session.plan.stages[tree.id], frosts, begins)


def questions(session: Session, stop: Stop) -> tuple[Question, ...]:
    """Return what is asked of the tree of a stop."""
    tree = next(tree for tree in session.trees if tree.id == stop.tree_id)
    return checklist(
        tree.id, session.grove.states[tree.id], session.knowledge.profiles[tree.species],
        session.plan.items, stop.depth, stop.window.asked, session.knowledge, session.today,
    )  # fmt: skip


def _due_in(items: Sequence[Item], window: RoundWindow) -> date | None:
    """Return by when a tree is to be brought in, where that comes before its round is over."""
    moves = [item.closes.likely for item in items if item.operation == INTO and item.protects]
    return min((day for day in moves if day <= window.closes), default=None)


def first_frosts(session: Session) -> tuple[date, ...]:
    """Return the likely first frost of the autumn that is to come, empty where frost is rare."""
    air = air_over(session.garden, session.weather.sky, session.knowledge, session.today)
    frost = frost_dates(air, session.today)["first_autumn_frost"]
    return () if frost is None else (frost.dates.likely,)


def days_for_walks(session: Session, weeks: int, *, begun: bool = True) -> list[WalkDay]:
    """Return the days of the coming weeks with the time there is for a walk.

    Without ``begun`` today has the time that it had before a walk was begun on it.
    """
    free = free_minutes(session.entries, session.today, weeks * 7)
    days = [session.today + timedelta(days=place) for place in range(len(free))]
    light = [_light(session, day) for day in days]
    if begun and _walked(session):
        free[0] = 0
    return walk_days(
        days, free.tolist(), light, _extremes(session), moved_walks(session), session.knowledge.review
    )


def _walked(session: Session) -> bool:
    """Tell whether trees were looked at today: what is left of that walk goes on, and no other begins."""
    return any(
        review.on == session.today for state in session.grove.states.values() for review in state.reviews
    )


def _light(session: Session, day: date) -> Light:
    zone = ZoneInfo(session.garden.zone)
    sun = sun_times(session.garden.latitude, session.garden.longitude, day, zone)
    setting = None if sun.set is None else sun.set.astimezone(zone)
    same = setting is not None and setting.date() == day
    return Light(60 * sun.length_h, setting.time() if setting is not None and same else None)


def _extremes(session: Session) -> list[tuple[float, float]]:
    """Return least and most [degC] of the days that are forecast, the middle of the possible years."""
    traces = session.weather.sky.traces
    forecast = traces.known.forecast
    if forecast is None or forecast.to < session.today:
        return []
    first = (session.today - traces.start).days
    last = first + (forecast.to - session.today).days + 1
    low, high = (np.median(each[:, first:last], axis=0) for each in (traces.t_min_c, traces.t_max_c))
    return list(zip(low.tolist(), high.tolist(), strict=True))


def moved_trees(session: Session) -> dict[UUID, date]:
    """Return by tree the day to which the grower moved its walk last: it is not looked at before."""
    moves = [entry for entry in valid_entries(session.entries, session.today) if entry.kind == "walk"]
    return {tree: date.fromisoformat(move.data["on"]) for move in moves for tree in move.tree_ids}


def moved_walks(session: Session) -> dict[date, int]:
    """Return minutes by day as the grower moved walks: none on a day given up, those of the walk on the other."""
    out: dict[date, int] = {}
    for entry in valid_entries(session.entries, session.today):
        if entry.kind == "walk":
            off, on = date.fromisoformat(entry.data["off"]), date.fromisoformat(entry.data["on"])
            out |= {off: 0, on: int(entry.data["minutes"])}
    return out
