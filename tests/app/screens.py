"""What a grower can read of one garden on one day: each screen's own values, for checks that hold them together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from calendar_core.app.calendar.publishing import Publication, publish
from calendar_core.app.plan.kept_plan import due_items
from calendar_core.app.plan.line_names import events_of, groups_of
from calendar_core.app.plan.load import spacings
from calendar_core.app.plan.planned import planned_groups
from calendar_core.app.warnings.warning import judge_garden
from calendar_core.app.work.ahead import looks_until
from calendar_core.app.work.fertilizing import Can, FeedingAdvice, advice
from calendar_core.app.work.first_screen import FirstScreen, first_screen
from calendar_core.app.work.rota import Levelled, levelled
from calendar_core.planning.items import PUBLISH_FROM
from calendar_core.planning.rota.urgency import Urgency, urgent
from calendar_core.planning.works.turns import Turn, repotting
from calendar_core.storage.calendar_files import CalendarFile

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from uuid import UUID

    from alerts.outbox.standing import StandingWarning
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.events import PublishedEvent
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.planning.load.spacing import Spacing

    Check = Callable[["Screens"], Iterable["Finding"]]

WEEKS, DUE_DAYS = 6, 7  # how far ``plan`` and ``due`` look unasked
ROTA_WEEKS = 4  # how far ``rota`` does


@dataclass(frozen=True)
class Finding:
    """Two screens that cannot both be right: of a tree, "" where it is of none."""

    garden: str
    day: date
    tree: str
    screens: str
    says: str

    def __str__(self) -> str:
        return f"{self.garden}, {self.day}, {self.tree or 'all trees'} [{self.screens}]: {self.says}"


@dataclass(frozen=True)
class Screens:
    """What a grower can read on a day; each screen is asked once. The calendar is published by asking for it."""

    session: Session

    @cached_property
    def due(self) -> list[Urgency]:
        """What ``due`` lists."""
        found = groups_of(self.session, due_items(self.session, DUE_DAYS))
        return urgent(found, self.session.today, DUE_DAYS)

    @cached_property
    def planned(self) -> tuple[list[EventGroup], list[EventGroup]]:
        """What ``plan`` lists as open now, and as opening later."""
        return planned_groups(self.session, WEEKS)

    @cached_property
    def rota(self) -> Levelled:
        """What ``rota`` prints."""
        return levelled(self.session, ROTA_WEEKS)

    @cached_property
    def fertilize(self) -> dict[UUID, FeedingAdvice]:
        """What ``fertilize`` says of each tree."""
        found = advice(self.session, self.session.trees, Can(None, 1.0), WEEKS)
        return {one.tree_id: one for one in found}

    @cached_property
    def repotting(self) -> list[Turn]:
        """What ``repotting`` lists."""
        return repotting(self.session.grove, self.session.knowledge, self.session.plan)

    @cached_property
    def sitter(self) -> tuple[EventGroup, ...]:
        """What a sitter's sheet asks for, from today for as long as ``due`` looks."""
        last = self.session.today + timedelta(days=DUE_DAYS)
        return groups_of(self.session, looks_until(self.session, last))

    @cached_property
    def calendar(self) -> Publication:
        """What subscribers are told."""
        return publish(self.session, allow_many=True)

    @cached_property
    def rota_told(self) -> Levelled:
        """What ``rota`` prints once subscribers have been told."""
        _ = self.calendar  # told by being asked for
        return levelled(self.session, ROTA_WEEKS)

    @cached_property
    def first(self) -> FirstScreen:
        """What ``leafclock`` prints without a command once subscribers have been told."""
        _ = self.calendar
        return first_screen(self.session)

    @cached_property
    def calendar_of_tree(self) -> tuple[Tree, Publication] | None:
        """What is told of one tree, another each day, and with it of all; None for a garden without trees."""
        _ = self.calendar
        trees = self.session.trees
        if not trees:
            return None
        tree = trees[self.session.today.toordinal() % len(trees)]
        file = CalendarFile("tree.ics", "tree", tree.id)
        return tree, publish(self.session, file, allow_many=True)

    @cached_property
    def calendar_of_helper(self) -> Publication:
        """What a helper is told of the days away, and with it all."""
        _ = self.calendar
        return publish(self.session, CalendarFile("helper.ics", "helper"), allow_many=True)

    @cached_property
    def warnings(self) -> tuple[StandingWarning, ...]:
        """The warnings that would hold after ``warn``."""
        return judge_garden(self.session, self.session.clock.now, dry_run=True).standing

    @cached_property
    def spacings(self) -> dict[UUID, Spacing]:
        """What each tree bears, as ``what-if`` and ``before`` have it."""
        return {tree.id: one for tree, one in spacings(self.session, self.session.trees)}

    @cached_property
    def items(self) -> list[Item]:
        """What is due or wished and likely enough."""
        return [i for i in self.session.plan.items if i.status != "possible" and i.chance >= PUBLISH_FROM]

    @cached_property
    def events(self) -> list[PublishedEvent]:
        """The events that stand in the calendar and are not over."""
        told = (one for one in self.calendar.events if one.status != "CANCELLED" and not one.lent)
        return [one for one in told if one.end >= self.session.today]

    @cached_property
    def groups(self) -> dict[UUID, EventGroup]:
        """All that is due or wished as it is grouped, by its id."""
        return {group.uid: group for group in events_of(self.session, self.items)}

    def asked_today(self) -> dict[str, list[tuple[UUID, Item]]]:
        """Return by screen what is asked of trees today, with the id of the event it stands in."""
        today = self.session.today
        rota = [
            (task.group, tree)
            for task in self.rota.tasks.values()
            if self.rota.rota.days.get(task.job.id) == today
            for tree in task.trees
        ]
        now = {one.uid: set(one.tree_ids) for one in self.events if one.start <= today}
        return {
            "due": [(u.group.uid, i) for u in self.due if u.group.start <= today for i in u.group.items],
            "plan, open now": [(g.uid, i) for g in self.planned[0] for i in g.items],
            "sitter": [(g.uid, i) for g in self.sitter if g.start <= today for i in g.items],
            "rota": [(g.uid, i) for g, tree in rota for i in g.items if i.tree_id == tree],
            "calendar": [
                (uid, i)
                for uid, trees in now.items()
                if uid in self.groups
                and self.groups[uid].start <= today  # else damping keeps an earlier opening
                for i in self.groups[uid].items
                if i.tree_id in trees
                and i.opens.likely <= today  # an event keeps trees that open days after others
            ],
        }

    def finding(self, tree: UUID | None, screens: str, says: str) -> Finding:
        """Return a finding of this garden and day."""
        label = "" if tree is None else self.session.labels[tree]
        return Finding(self.session.garden.name, self.session.today, label, screens, says)

    def name(self, item: Item) -> str:
        """Return what an item is called, with its cycle and part."""
        part = f" of {item.part}" if item.part else ""
        return f"{item.rule or item.operation}{part} {item.cycle}"
