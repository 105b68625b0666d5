"""Words of the review's walks: rounds, days, the trees of a walk in their order, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import TYPE_CHECKING

from calendar_core.planning.events import ComputedEvent
from calendar_core.wording.sentences import ROUND_NAMES, tree_list

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.knowledge.words import LookDepth
    from calendar_core.planning.review.rounds import RoundWindow
    from calendar_core.planning.review.walk_days import WalkDay, WhyNot
    from calendar_core.planning.review.walks import Round, Stop, Turn, Walk
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

TURN_TITLES: dict[Turn, str] = {
    "concern": "Weak, or something went badly",
    "tender": "Goes under cover soon",
    "bench": "Along the benches: {spot}",
    "quarantine": "Quarantine, last: clean the tools after each tree",
}

DEPTHS: dict[LookDepth, str] = {"full": "full look", "glance": "glance"}

WHY_NOT: dict[WhyNot, str] = {
    "no time": "no time free",
    "dark": "dark in the time that is free",
    "cold": "frost is forecast",
    "hot": "heat is forecast",
    "short": "too little time",
    "moved": "you moved the walk",
}

WALKS: dict[str, str] = {
    "nothing": "Nothing is to be looked at in the next {weeks}.",
    "ahead": "The next round opens about {day}.",
    "round": "{round}: {trees} in {walks}, {time}.",
    "window": "{trees}: {first} to {last}.",
    "chance": "It comes so {chance}.",
    "day": "{day}: {time}",
    "day_lit": "{day}: {time}; sunset at {sunset}",
    "stop": "{tree}: {depth}, {time}.",
    "elsewhere": "no spot",
    "skipped": "No walk on {days}: {why}.",
    "left": "No day for",
    "left_line": "{tree}: {depth}, {time}; its round ends on {day}.",
    "more_time": "More free time would help; write yours with: {program} hours",
    "title": "{round}: {first}",
    "title_more": "{round}: {first} and {more}",
    "event": "A walk of {time}, {trees}.",
    "event_order": "{title}: {trees}.",
    "event_ask": "What to look at, tree by tree: leafclock review plan. A sheet to print: leafclock review sheet.",
    "event_light": "Sunset at {sunset}.",
    "reminder": "{title}: tomorrow, {time}",
    "rota": "{round}: {trees}, {time}; in order: leafclock review plan",
    "moved": "The walk of {off} is on {on}. Entry {entry}.",
    "missed": "Not looked over after leaf fall: {trees}. Until about {day} it still can be done: leafclock review plan",
    "next": "Next walk on {day}: {title}. Its trees in order: leafclock review plan",
}


WALK = "walk"
WALK_GROUP = f"{WALK}|"  # what the groups of its events begin with, before the round
MOST_DAYS = 5  # that are named one by one


@dataclass(frozen=True)
class WalkSpeaker:
    """Makes the sentences of walks for one reader."""

    speaker: Speaker

    @property
    def style(self) -> Style:
        """How values are written."""
        return self.speaker.style

    def heads(self, walks: Sequence[Walk]) -> list[str]:
        """Return a sentence for each round: how many trees, in how many walks, how long."""
        out = []
        for name in dict.fromkeys(stop.window.round for walk in walks for stop in walk.stops):
            some = [[stop for stop in walk.stops if stop.window.round == name] for walk in walks]
            own = [stops for stops in some if stops]
            trees = self.style.number_of(sum(map(len, own)), "tree", "trees")
            minutes = sum(stop.minutes for stops in own for stop in stops)
            out.append(
                self.style.say(
                    WALKS["round"], round=self.style.translate(ROUND_NAMES[name]), trees=trees,
                    walks=self.style.number_of(len(own), "walk", "walks"), time=self.minutes(minutes),
                )
            )  # fmt: skip
        return out

    def windows(self, walks: Sequence[Walk]) -> list[str]:
        """Return from when to when trees are looked at and why, a line for those that open together."""
        alike: dict[tuple[object, ...], list[Stop]] = {}
        for stop in (stop for walk in walks for stop in walk.stops):
            codes = tuple((reason.code, reason.subject) for reason in stop.window.reasons)
            alike.setdefault((stop.window.round, stop.window.opens, codes), []).append(stop)
        first = [
            min((stop.window for stop in some), key=lambda window: window.closes) for some in alike.values()
        ]
        return [self._window(window, some) for window, some in zip(first, alike.values(), strict=True)]

    def _window(self, window: RoundWindow, some: Sequence[Stop]) -> str:
        style, today = self.style, self.speaker.today
        told = style.say(
            WALKS["window"], trees=tree_list([stop.label for stop in some], most=6),
            first=style.day(window.opens, today), last=style.day(window.closes, today),
        )  # fmt: skip
        sure = (
            ()
            if round(window.chance * 10) >= 10
            else (style.say(WALKS["chance"], chance=style.chance(window.chance)),)
        )
        return " ".join([told, *(self.speaker.reason(reason) for reason in window.reasons), *sure])

    def minutes(self, minutes: float) -> str:
        """Return a time in words, a minute at least."""
        return self.style.minutes(max(1, round(minutes)))

    def day(self, walk: Walk) -> str:
        """Return the title of a walk's day."""
        day, time = self.style.weekday(walk.on), self.minutes(walk.minutes)
        if walk.day.sunset is None:
            return self.style.say(WALKS["day"], day=day, time=time)
        return self.style.say(WALKS["day_lit"], day=day, time=time, sunset=self.sunset(walk))

    def sunset(self, walk: Walk) -> str:
        """Return when the sun sets on a walk's day, empty where it does not."""
        setting = walk.day.sunset
        return "" if setting is None else self.style.clock(datetime.combine(walk.on, setting))

    def turns(self, stops: Iterable[Stop]) -> list[tuple[str, list[Stop]]]:
        """Return the stops of a walk under a title for each stretch of it."""
        runs = groupby(stops, key=lambda stop: (stop.turn, stop.spot if stop.turn == "bench" else ""))
        return [(self._title(turn, spot), list(some)) for (turn, spot), some in runs]

    def _title(self, turn: Turn, spot: str) -> str:
        where = spot or self.style.translate(WALKS["elsewhere"])
        return self.style.translate(TURN_TITLES[turn]).format(spot=where)

    def stop(self, stop: Stop) -> str:
        """Return a tree with its look, how long it takes, and why a full one."""
        told = self.style.say(
            WALKS["stop"],
            tree=stop.label,
            depth=self.style.translate(DEPTHS[stop.depth]),
            time=self.minutes(stop.minutes),
        )
        return " ".join([told, *(self.speaker.reason(reason) for reason in stop.why[:1])])

    def skipped(self, days: Sequence[WalkDay]) -> list[str]:
        """Return the days without a walk for light or weather, those of one reason together."""
        out = []
        for why in ("dark", "cold", "hot", "moved"):
            some = [self.style.day(day.day, self.speaker.today) for day in days if day.why_not == why]
            if some:
                told = (
                    tree_list(some)
                    if len(some) <= MOST_DAYS
                    else self.style.number_of(len(some), "day", "days")
                )
                out.append(
                    self.style.say(WALKS["skipped"], days=told, why=self.style.translate(WHY_NOT[why]))
                )
        return out

    def left(self, stop: Stop) -> str:
        """Return a tree that has no day."""
        return self.style.say(
            WALKS["left_line"], tree=stop.label, depth=self.style.translate(DEPTHS[stop.depth]),
            time=self.minutes(stop.minutes), day=self.style.day(stop.window.closes, self.speaker.today),
        )  # fmt: skip

    def title(self, walk: Walk) -> str:
        """Return a walk in a line: its round, its first tree and how many more."""
        first, *rest = walk.stops
        name = self.style.translate(ROUND_NAMES[first.window.round])
        if not rest:
            return self.style.say(WALKS["title"], round=name, first=first.label)
        more = self.style.number_of(len(rest), "more tree", "more trees")
        return self.style.say(WALKS["title_more"], round=name, first=first.label, more=more)

    def coming(self, walk: Walk) -> str:
        """Return when the next walk is, and of whom."""
        return self.told(walk.on, self.title(walk))

    def told(self, on: date, title: str) -> str:
        """Return when the next walk is, by its title."""
        return self.style.say(WALKS["next"], day=self.style.weekday(on), title=title)

    def missed(self, walks: Sequence[Walk]) -> str:
        """Return how many trees were not looked at in the best time, and until when they still can be."""
        stops = [stop for walk in walks for stop in walk.stops]
        trees = self.style.number_of(len(stops), "tree", "trees")
        last = min(stop.window.closes for stop in stops)
        return self.style.say(WALKS["missed"], trees=trees, day=self.style.day(last, self.speaker.today))

    def line(self, walk: Walk) -> str:
        """Return a walk among the work of a day: its round, trees and time."""
        name = self.style.translate(ROUND_NAMES[walk.stops[0].window.round])
        trees = tree_list([stop.label for stop in sorted(walk.stops, key=lambda stop: stop.natural)])
        return self.style.say(WALKS["rota"], round=name, trees=trees, time=self.minutes(walk.minutes))

    def event(self, uid: UUID, walk: Walk, near_days: int) -> ComputedEvent:
        """Return a walk as an event of the calendar."""
        title, first = self.title(walk), walk.stops[0].window
        trees = self.style.number_of(len(walk.stops), "tree", "trees")
        order = [
            self.style.say(
                WALKS["event_order"],
                title=head,
                trees=tree_list([self._named(stop) for stop in some], most=40),
            )
            for head, some in self.turns(walk.stops)
        ]
        parts = [
            self.style.say(WALKS["event"], time=self.minutes(walk.minutes), trees=trees),
            "\n".join(order),
        ]
        if walk.day.sunset is not None:
            parts.append(self.style.say(WALKS["event_light"], sunset=self.sunset(walk)))
        parts.append(self.style.translate(WALKS["event_ask"]))
        near = (walk.on - self.speaker.today).days <= near_days
        return ComputedEvent(
            uid, f"{WALK_GROUP}{first.round}", first.cycle, tuple(sorted(stop.tree_id for stop in walk.stops)), walk.on, walk.on,
            title, "\n\n".join(parts), self.style.say(WALKS["reminder"], title=title, time=self.minutes(walk.minutes)),
            (self.style.translate(ROUND_NAMES[first.round]),), "CONFIRMED" if near else "TENTATIVE",
        )  # fmt: skip

    def _named(self, stop: Stop) -> str:
        return f"{stop.label} ({self.style.translate(DEPTHS[stop.depth])})"

    def ahead(self, found: Round, opens: Sequence[date], weeks: int) -> str:
        """Return that nothing is to be looked at, and when the next round opens."""
        told = self.style.say(WALKS["nothing"], weeks=self.style.number_of(weeks, "week", "weeks"))
        if not opens or found.walks:
            return told
        return f"{told} {self.style.say(WALKS['ahead'], day=self.style.day(min(opens), self.speaker.today))}"
