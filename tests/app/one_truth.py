"""What the program says of one garden on one day, held against itself: no screen says what another one denies.

Nothing here knows what is right; it knows that two answers to one question cannot both be. The answers are the
program's own values, those that ``--json`` prints. Each finding is one line.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from calendar_core.app.garden.whole_trees import whole_tree
from calendar_core.app.plan.line_names import name_of
from calendar_core.app.plan.objections import objections
from calendar_core.app.plan.told_walks import next_walk
from calendar_core.app.plan.walks import review_plan
from calendar_core.app.warnings.stored_warnings import events_in, is_helped
from calendar_core.garden.state import asked_for_anyway
from calendar_core.knowledge.forms.operations import HEAVY, is_feeding
from calendar_core.planning.feeding.cakes import changes_cakes
from calendar_core.planning.feeding.holds import is_expected
from calendar_core.planning.items import PUBLISH_FROM
from calendar_core.planning.places.operations import INTO, OUT
from calendar_core.planning.waits import WAITS, wait_end
from calendar_core.planning.works.turns import REPOT
from calendar_core.publishing.revise import DAMPING
from calendar_core.wording.review.walk_text import WALK_GROUP
from calendar_core.wording.sentences import tree_names
from calendar_core.wording.tree_sets import ALIKE_DAYS
from tests.app.screens import DUE_DAYS, Screens
from tests.app.stays_truth import STAYS_CHECKS, read_day
from tests.app.told_truth import TOLD_CHECKS
from tests.app.work_truth import WORK_CHECKS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.planning.events import PublishedEvent
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item, StageDate
    from tests.app.screens import Check, Finding

STAY = timedelta(days=14)  # as long as a tree stays where it was brought (`stay_days` of config/places.toml)
SAME_SEASON = timedelta(days=120)  # two dates of a stage nearer than this are of one season
FLOWERS = range(
    50, 80
)  # principal stages 5 to 7 of the BBCH scale (Meier 2001): inflorescence, flower, fruit


def findings(session: Session, *checks: Check) -> list[Finding]:
    """Return all contradictions between what a garden's screens say on a day, or those some checks find.

    All checks publish the garden's calendar.
    """
    return findings_in(screens_of(session), *checks)


def screens_of(session: Session) -> Screens:
    """Return the screens of a garden on a day, for checks that hold two days together."""
    _plan_parts_once(session)
    return Screens(session)


def findings_in(screens: Screens, *checks: Check) -> list[Finding]:
    """Return the same of screens that are there."""
    found = [one for check in checks or CHECKS for one in check(screens)]
    return list(dict.fromkeys(found))


def _plan_parts_once(session: Session) -> None:
    """Let screens that plan the same trees in the same order share the plan: the planner is pure, and nothing is written."""
    part = session.part
    made: dict[tuple[UUID, ...], Session] = {}

    def once(trees: Sequence[Tree]) -> Session:
        which = tuple(tree.id for tree in trees)
        if which not in made:
            made[which] = part(trees)
        return made[which]

    session.__dict__["part"] = once


# -- asked and forbidden ------------------------------------------------------------------------------------------


def forbidden(screens: Screens) -> Iterator[Finding]:
    """Yield what is asked of a tree today though another screen says not to."""
    told: defaultdict[tuple[UUID, UUID, str], list[str]] = defaultdict(list)
    for screen, asked in screens.asked_today().items():
        for _, item in asked:
            for against in _against(screens, item):
                told[item.tree_id, item.id, against].append(screen)
    items = {item.id: item for item in screens.items}
    for (tree, item_id, against), where in told.items():
        name = screens.name(items[item_id]) if item_id in items else str(item_id)
        says = f"{name} is asked for today, but {against}"
        yield screens.finding(tree, f"{', '.join(dict.fromkeys(where))} / {against.partition(' ')[0]}", says)


def _against(screens: Screens, item: Item) -> Iterator[str]:
    session, today = screens.session, screens.session.today
    for reason in item.reasons:
        if reason.code in WAITS and wait_end(reason) > today:
            yield f"why says {reason.code} after {reason.subject} until {wait_end(reason)}"
    if item.label:
        return
    tree = next(tree for tree in session.trees if tree.id == item.tree_id)
    for text in objections(session, session.plan, tree, item.operation, today):
        yield f"before says: {text}"
    for reason in screens.spacings[item.tree_id].warnings(item.operation, today):
        yield f"what-if says {reason.code}: {session.speaker.reason(reason)}"
    if is_feeding(item.operation, session.knowledge.operations):
        yield from _unfed(screens, item)
    for one in session.plan.not_planned:
        if (one.tree_id, one.rule, one.cycle) == (item.tree_id, item.rule, item.cycle):
            yield f"why says it is not planned: {', '.join(reason.code for reason in one.reasons)}"


def _unfed(screens: Screens, item: Item) -> Iterator[str]:
    first = screens.fertilize[item.tree_id].steps[0].feeding
    if first.hold:
        yield f"fertilize says nothing now: {', '.join(reason.code for reason in first.hold)}"


# -- one thing, one date ------------------------------------------------------------------------------------------


def double_dated(screens: Screens) -> Iterator[Finding]:
    """Yield what has different days, trees or urgency on two screens."""
    today = screens.session.today
    now, coming = screens.planned
    due = {_line(one.group, today): one.group for one in screens.due}
    rota = {_line(task.group, today): task.group for task in screens.rota.tasks.values()}
    plan = {_line(group, today): group for group in (*now, *coming)}
    for one, other, names in (
        (due, plan, "due / plan"),
        (due, rota, "due / rota"),
        (plan, rota, "plan / rota"),
    ):
        for line in one.keys() & other.keys():
            yield from _differs(screens, one[line], other[line], names)
    urgencies = {name_of(one.group.items): one.urgency for one in screens.due}
    for group in now:
        if urgencies.get(name_of(group.items)) == "soon":
            yield screens.finding(None, "plan / due", f"{_what(screens, group)} is open now and yet to come")
    for group in coming:
        if urgencies.get(name_of(group.items)) in (
            "late",
            "closing",
            "now",
        ):  # what went badly stays open until its next day
            yield screens.finding(None, "plan / due", f"{_what(screens, group)} is yet to open and open now")
    yield from _days_of_rota(screens)
    for event in screens.calendar.events:
        if event.status != "CANCELLED" and event.uid in screens.groups:
            yield from _undamped(screens, event, screens.groups[event.uid])


def _line(group: EventGroup, today: date) -> tuple[UUID, bool]:
    """Return what a line of a day is about: of one event those trees for which it is time, or those that wait."""
    return group.uid, group.start <= today


def _what(screens: Screens, group: EventGroup) -> str:
    trees = ", ".join(sorted({screens.session.labels[item.tree_id] for item in group.items}))
    return f"{screens.name(group.items[0])} ({trees})"


def _differs(screens: Screens, one: EventGroup, other: EventGroup, names: str) -> Iterator[Finding]:
    said = [
        (g.start, g.end, sorted(screens.session.labels[i.tree_id] for i in g.items)) for g in (one, other)
    ]
    if said[0] != said[1]:
        told = " and ".join(f"{start} to {end} ({', '.join(trees)})" for start, end, trees in said)
        yield screens.finding(None, names, f"{screens.name(one.items[0])}: {told}")


def _days_of_rota(screens: Screens) -> Iterator[Finding]:
    for job, day in screens.rota.rota.days.items():
        task = screens.rota.tasks[job]
        late = task.overdue or task.protects  # such a move is done after its day where that had no time
        if not task.group.start <= day or (not late and day > task.group.end):
            says = (
                f"{_what(screens, task.group)} on {day}, its days are {task.group.start} to {task.group.end}"
            )
            yield screens.finding(None, "rota / plan", says)


def _undamped(screens: Screens, event: PublishedEvent, group: EventGroup) -> Iterator[Finding]:
    """Yield days of an event that no rule of damping keeps from those of the plan."""
    today = screens.session.today
    if max(event.end, group.end) < today:  # both say that it is over
        return
    rest = DAMPING.far_rest_d if (event.start - today).days > DAMPING.far_d else DAMPING.rest_d
    if (today - event.dates_changed).days < rest and event.dates_changed != event.created_at.date():
        return
    pairs = [("opens", event.start, group.start), ("ends", event.end, group.end)]
    for edge, told, planned in pairs:
        lead = max((told - today).days, 0)
        band = DAMPING.dearest * max(DAMPING.band_at_d(lead), DAMPING.later_band_d)
        opened = edge == "opens" and told <= today  # an opening that has been stays
        if not opened and abs((told - planned).days) > band:
            says = f"{_what(screens, group)} {edge} {told}, by the plan {planned}; damping allows {band} days"
            yield screens.finding(None, "calendar / plan", says)


# -- what the calendar says in words ------------------------------------------------------------------------------

WINDOW = re.compile(
    r"opens about (?P<opens>[^;(]+?)(?: \([^)]*\))?; closes about (?P<closes>[^;(.]+?)(?: \([^)]*\))?\. .*? (?:until|by) (?P<safe>[^;:.]+?)(?: already: look early)?\."
)
DUE = re.compile(r"due (?P<opens>[^;(]+?)(?: \([^)]*\))?; in time until (?P<closes>[^;(.]+)\.")
LATE = re.compile(r"Late since (?P<since>[^.]+)\.")


def texts(screens: Screens) -> Iterator[Finding]:
    """Yield trees that an event of the calendar names and whose days it does not tell as the plan has them."""
    for event in screens.events:
        group = screens.groups.get(event.uid)
        if group is None or {item.tree_id for item in group.items} != set(event.tree_ids):
            continue  # a tree came or went, which the next run tells
        age = (screens.session.today - event.text_changed).days
        fresh = age == 0 or age >= DAMPING.text_rest_d
        loose = ALIKE_DAYS if fresh else DAMPING.dearest * DAMPING.later_band_d
        for item in group.items:
            told = _told_of(screens, event, item)
            for edge, day in _edges(item).items():
                said = told.get(edge)
                if said is None or abs((said - day).days) > loose:
                    says = f"{screens.name(item)} {edge} {day}, its event says {said}"
                    yield screens.finding(item.tree_id, "calendar text / plan", says)
            opens = told.get("opens")
            if fresh and event.dates_changed == event.text_changed and opens and opens > event.end:
                says = f"{screens.name(item)} opens {opens} by an event that is over on {event.end}"
                yield screens.finding(item.tree_id, "calendar text / calendar", says)


def _edges(item: Item) -> dict[str, date]:
    if late := [r.found for r in item.reasons if r.code == "overdue" and isinstance(r.found, date)]:
        return {"since": min(late)}
    edges = {"opens": item.opens.likely, "closes": item.closes.likely}
    return edges if item.label else {**edges, "safe": item.closes.early}


def _told_of(screens: Screens, event: PublishedEvent, item: Item) -> dict[str, date]:
    """Return the days that an event's text tells of a tree: of the line that names it, or of all."""
    (when,) = (part for part in event.description.split("\n\n") if part.startswith("When:"))
    lines = when.removeprefix("When:").strip().split("\n")
    name = tree_names([item], screens.session.labels)[0]
    for line in lines:
        found = WINDOW.search(line) or DUE.search(line) or LATE.search(line)
        if found is not None and (len(lines) == 1 or _names(line.removeprefix("- "), name)):
            return {edge: read_day(text, event.start) for edge, text in found.groupdict().items()}
    return {}


def _names(line: str, name: str) -> bool:
    """Tell whether the trees at the head of a line are, or hold, one of this name."""
    return re.search(rf"(?:^|, | and ){re.escape(name)}(?:: |, | and )", line) is not None


# -- nothing lost, nothing twice ----------------------------------------------------------------------------------


def missing(screens: Screens) -> Iterator[Finding]:
    """Yield what is due on one screen and on no other: each stands in the plan, and ahead or open in the calendar."""
    now, coming = screens.planned
    plan = {(i.id, g.uid) for g in (*now, *coming) for i in g.items}
    told = {(tree, event.uid) for event in screens.events for tree in event.tree_ids}
    told |= {(tree, event.uid) for event in screens.calendar.events if event.lent for tree in event.tree_ids}
    longest = timedelta(
        days=DAMPING.dearest * DAMPING.later_band_d
    )  # by so much damping may end an event sooner
    ended = {event.uid: event.end for event in screens.calendar.events if event.end < screens.session.today}
    over = {
        uid
        for uid, end in ended.items()
        if uid in screens.groups and screens.groups[uid].end <= end + longest
    }
    for one in screens.due:
        for item in one.group.items:
            if (item.id, one.group.uid) not in plan:
                yield screens.finding(
                    item.tree_id, "due / plan", f"{screens.name(item)} is due and not planned"
                )
            lasts = one.group.end >= screens.session.today and one.group.uid not in over
            if lasts and (item.tree_id, one.group.uid) not in told:
                says = f"{screens.name(item)} is due by {one.group.end} and in no event"
                yield screens.finding(item.tree_id, "due / calendar", says)
    due = {i.id for one in screens.due for i in one.group.items}
    for group in now:
        for item in group.items:
            if item.id not in due:
                yield screens.finding(item.tree_id, "plan / due", f"{screens.name(item)} is open, not due")


def twice(screens: Screens) -> Iterator[Finding]:
    """Yield what is asked of a tree twice on a day by one screen under one name; all fertilizing is one thing."""
    operations, name = screens.session.knowledge.operations, screens.session.speaker.name
    for screen, asked in screens.asked_today().items():
        met = Counter(
            (item.tree_id, operations[item.operation].counts_as or name(item), item.part)
            for item in {(uid, item.id): item for uid, item in asked}.values()
        )
        for (tree, told, part), times in met.items():
            if times > 1:
                yield screens.finding(tree, screen, f"{told} {part}".strip() + f" is asked {times} times")


# -- heavy work ---------------------------------------------------------------------------------------------------


def heavy(screens: Screens) -> Iterator[Finding]:
    """Yield trees with two heavy jobs in a cycle, planned, told or done."""
    session = screens.session
    told = {event.uid for event in screens.events}
    for tree in session.trees:
        spacing, state = screens.spacings[tree.id], session.grove.states[tree.id]
        done = {(spacing.cycle(job), job.operation) for job in spacing.jobs if job.weight >= HEAVY}
        planned = [i for i in screens.items if i.tree_id == tree.id and spacing.weight(i.operation) >= HEAVY]
        for item in planned:
            yield from _rivals(screens, item, planned, done, state)
        in_calendar = {
            (i.cycle, i.operation)
            for uid, group in screens.groups.items()
            for i in group.items
            if uid in told and i in planned and not asked_for_anyway(i.operation, state, i.cycle)
        }
        for cycle, times in Counter(cycle for cycle, _ in in_calendar).items():
            if times > 1:
                works = ", ".join(sorted(work for of, work in in_calendar if of == cycle))
                yield screens.finding(tree.id, "calendar", f"{times} heavy jobs in {cycle}: {works}")


def _rivals(
    screens: Screens, item: Item, planned: Sequence[Item], done: set[tuple[int, str]], state: TreeState
) -> Iterator[Finding]:
    if asked_for_anyway(item.operation, state, item.cycle):
        return
    before = {operation for cycle, operation in done if cycle == item.cycle}
    others = {
        one.operation
        for one in planned
        if one.cycle == item.cycle and one.id != item.id
        if one.operation != item.operation or not (one.part_id or item.part_id)  # parts get one job together
    }
    anyway = {one for one in (*before, *others) if asked_for_anyway(one, state, item.cycle)}
    if before - anyway and item.status == "due":
        says = f"{screens.name(item)} is due though {', '.join(sorted(before))} was done in {item.cycle}"
        yield screens.finding(item.tree_id, "plan / log", says)
    if others - anyway:
        says = f"{screens.name(item)} stands beside {', '.join(sorted(others))}"
        yield screens.finding(item.tree_id, "plan", says)


# -- where trees stand --------------------------------------------------------------------------------------------


def standing(screens: Screens) -> Iterator[Finding]:
    """Yield moves to nowhere, in and out within two weeks, and trees asked in that are said to stand safe."""
    session = screens.session
    moves: defaultdict[UUID, list[Item]] = defaultdict(list)
    for item in session.plan.items:
        if item.operation in (INTO, OUT):
            moves[item.tree_id].append(item)
    for tree, some in moves.items():
        state = session.grove.states[tree]
        for item in some:
            yield from _move(screens, item, state)
        made = sorted(((_made_on(item, session.today), item) for item in some), key=lambda one: one[0])
        for (day, one), (later, after) in pairwise(made):
            days = (later - day).days
            if one.operation != after.operation and days < STAY.days:
                says = f"{one.operation} {day} and {after.operation} {later}: {days} days"
                yield screens.finding(tree, "plan", says)
    for event in screens.calendar.moves:
        for spot in (event.to, *event.at, *(spot for _, spot in event.back)):
            if spot is not None and spot not in session.spots:
                yield screens.finding(None, "calendar", f"{event.summary} names a spot that is not there")


def _made_on(item: Item, today: date) -> date:
    """Return the day by which a move in is made, today if it is late, or the first of one out."""
    if "overdue" in {reason.code for reason in item.reasons}:
        return today
    return item.closes.early if item.operation == INTO else item.opens.likely


def _move(screens: Screens, item: Item, state: TreeState) -> Iterator[Finding]:
    session, today = screens.session, screens.session.today
    unknown = [spot for spot in (item.to, *item.also) if spot is not None and spot not in session.spots]
    if unknown:
        yield screens.finding(item.tree_id, "plan", f"{item.operation} names a spot that is not there")
    if item.to is not None and item.to == state.spot and item.opens.likely <= today:
        yield screens.finding(item.tree_id, "plan", f"{item.operation} leads to where the tree stands")
    safe = [
        reason.code
        for one in session.plan.not_planned
        if (one.tree_id, one.operation) == (item.tree_id, item.operation) and one.cycle == item.cycle
        for reason in one.reasons
        if reason.code in ("stands_sheltered", "stands_open", "cold_never")
    ]
    if safe:
        yield screens.finding(
            item.tree_id, "plan / why", f"{item.operation} {item.cycle} is asked, and {safe[0]}"
        )
    came = state.moves[-1][0] if len(state.moves) > 1 else None
    deadly = any(reason.code == "cold_forecast" for reason in item.reasons)
    if came is not None and item.opens.likely <= today and _made_on(item, today) - came < STAY and not deadly:
        back = (item.operation == INTO) == (_profile(screens, state.spot) == "open")
        if back:
            says = f"{item.operation} by {_made_on(item, today)}, and it was moved on {came}"
            yield screens.finding(item.tree_id, "plan / log", says)


def _profile(screens: Screens, spot: UUID | None) -> str:
    found = screens.session.spots.get(spot) if spot is not None else None
    return "open" if found is None else found.profile


def warned_elsewhere(screens: Screens) -> Iterator[Finding]:
    """Yield trees that a warning sends to another spot than the plan, within the forecast's reach."""
    session = screens.session
    soon = session.today + timedelta(days=session.knowledge.places.least_days.value)
    plan = {
        item.tree_id: item
        for item in screens.items
        if item.protects and item.to is not None and item.closes.early <= soon
    }
    for warning in screens.warnings:
        for event in () if is_helped(warning) else events_in(warning):
            for tree in event.tree_ids:
                item = plan.get(tree)
                if event.to is None or event.at or item is None or event.to == item.to:
                    continue
                says = f"{warning.hazard} sends it to {_spot(screens, event.to)}, the plan to {_spot(screens, item.to)}"
                yield screens.finding(tree, "warn / plan", says)


def _spot(screens: Screens, spot: UUID | None) -> str:
    found = screens.session.spots.get(spot) if spot is not None else None
    return "nowhere" if found is None else found.name


# -- stages and turns ---------------------------------------------------------------------------------------------


def stages(screens: Screens) -> Iterator[Finding]:
    """Yield stages out of their order, told twice, or foretold though they were seen."""
    session = screens.session
    for tree in session.trees:
        order = {name: place for place, name in enumerate(session.knowledge.profiles[tree.species].stages)}
        dated = session.plan.stages[tree.id]
        for (stage, cycle), times in Counter((one.stage, one.cycle) for one in dated).items():
            if times > 1:
                yield screens.finding(tree.id, "stages", f"{stage} {cycle} is told {times} times")
        for cycle in sorted({one.cycle for one in dated}):
            here = sorted((one for one in dated if one.cycle == cycle), key=lambda one: order[one.stage])
            # Flowers keep no order with leaves; each of them does among its own.
            yield from _disordered(screens, tree.id, [one for one in here if one.bbch in FLOWERS])
            yield from _disordered(screens, tree.id, [one for one in here if one.bbch not in FLOWERS])
        yield from _seen_otherwise(screens, tree.id, dated)


def _disordered(screens: Screens, tree: UUID, here: Iterable[StageDate]) -> Iterator[Finding]:
    known = [(one, one.range.likely) for one in here if one.range is not None and one.share >= PUBLISH_FROM]
    for (one, day), (after, later) in pairwise(known):
        if later < day:
            says = f"{after.stage} {later} comes before {one.stage} {day} of {one.cycle}"
            yield screens.finding(tree, "stages", says)


def _seen_otherwise(screens: Screens, tree: UUID, dated: Sequence[StageDate]) -> Iterator[Finding]:
    """Yield stages that were seen on a day, and are told for another of the same season."""
    state = screens.session.grove.states[tree]
    last = {sight.stage: sight.on for sight in state.seen}
    for one in dated:
        day = last.get(one.stage)
        if day is None or one.range is None or abs(one.range.likely - day) > SAME_SEASON:
            continue
        if not one.seen or one.range.likely != day:
            told = "seen" if one.seen else "foretold"
            says = f"{one.stage} was seen on {day} and is {told} for {one.range.likely}"
            yield screens.finding(tree, "stages / log", says)
    for stage, day in state.not_yet:
        for one in dated:
            near = one.range is not None and abs(one.range.likely - day) < SAME_SEASON / 4
            if (
                one.stage == stage
                and one.range is not None
                and near
                and one.range.likely <= day
                and not one.seen
            ):
                says = f"{stage} was not there on {day} and is foretold for {one.range.likely}"
                yield screens.finding(tree, "stages / log", says)


def turns(screens: Screens) -> Iterator[Finding]:
    """Yield trees whose turn to be repotted is of another spring than the plan's."""
    for turn in screens.repotting:
        planned = [i for i in screens.session.plan.items if (i.tree_id, i.operation) == (turn.tree_id, REPOT)]
        due = [item for item in planned if item.status == "due" and item.chance >= PUBLISH_FROM]
        if turn.year is None and due:
            yield screens.finding(
                turn.tree_id, "repotting / plan", f"of no known year, due in {due[0].cycle}"
            )
        if turn.year is not None and due and due[0].cycle != turn.year:
            says = f"its turn is {turn.year}, the plan has it due in {due[0].cycle}"
            yield screens.finding(turn.tree_id, "repotting / plan", says)
        early = [
            i for i in planned if i.cycle == turn.year and "interval_early" in {r.code for r in i.reasons}
        ]
        if early:
            yield screens.finding(
                turn.tree_id, "repotting / plan", f"its turn is {turn.year}, by the plan too early"
            )


# -- a sitter's sheet, and what is shown of a tree ------------------------------------------------------------------


def sheets(screens: Screens) -> Iterator[Finding]:
    """Yield what a sitter is asked for today that is not due, and moves that protect a tree and are not on the sheet."""
    due = {item.id: item for one in screens.due for item in one.group.items}
    asked = {item.id: item for group in screens.sitter for item in group.items}
    for item in asked.values():
        if item.id not in due and item.opens.likely <= screens.session.today:
            yield screens.finding(item.tree_id, "sitter / due", f"{screens.name(item)} is asked, not due")
    for item in due.values():
        if item.protects and item.id not in asked:
            yield screens.finding(item.tree_id, "sitter / due", f"{screens.name(item)} is not on the sheet")


def shown(screens: Screens) -> Iterator[Finding]:
    """Yield trees of which ``tree show`` tells other items, days or stages than ``due``, ``plan`` and ``stages``."""
    session = screens.session
    now, coming = screens.planned
    told = {"due": [one.group for one in screens.due], "plan": [*now, *coming]}
    for tree in session.trees:
        whole = whole_tree(session, tree)
        here = {item.id: (item.opens, item.closes) for item in whole["items"]}
        for screen, groups in told.items():
            for item in (item for group in groups for item in group.items if item.tree_id == tree.id):
                if here.get(item.id) != (item.opens, item.closes):
                    says = f"{screens.name(item)} is shown with other days, or not at all"
                    yield screens.finding(tree.id, f"tree show / {screen}", says)
        if tuple(whole["stages"]) != session.plan.stages[tree.id]:
            yield screens.finding(tree.id, "tree show / stages", "its stages are others")


# -- what is fed --------------------------------------------------------------------------------------------------


def wasted(screens: Screens) -> Iterator[Finding]:
    """Yield doses so shortly before planned work, such as repotting, that they go with the old soil."""
    today, knowledge = screens.session.today, screens.session.knowledge
    doses = _doses(screens)
    for rule in knowledge.feeding.before:
        for item in (one for one in screens.items if one.operation == rule.operation):
            in_rota = [
                day for tree, work, day in _in_rota(screens) if (tree, work) == (item.tree_id, rule.operation)
            ]
            expected = is_expected(item, rule, today)
            days = [*in_rota, *([max(item.opens.likely, today)] if expected else [])]
            for screen, tree, fed in doses:
                meant = tree == item.tree_id and (expected or screen == "rota")
                for day in days if meant else ():
                    if day - timedelta(weeks=rule.weeks) < fed <= day:
                        says = f"fed on {fed}, and {rule.operation} is planned on {day}"
                        yield screens.finding(tree, f"{screen} / {rule.operation}", says)


def unseasonable(screens: Screens) -> Iterator[Finding]:
    """Yield doses that the rota gives a day on which `fertilize` says that nothing is given."""
    operations = screens.session.knowledge.operations
    for tree, work, day in _in_rota(screens):
        if not is_feeding(work, operations) or tree not in screens.fertilize:
            continue
        steps = [step.feeding for step in screens.fertilize[tree].steps if step.feeding.day <= day]
        if steps and steps[-1].hold:
            says = f"fed on {day}, on which it gets nothing from {steps[-1].day} on"
            yield screens.finding(tree, "rota / fertilize", says)


def _in_rota(screens: Screens) -> Iterator[tuple[UUID, str, date]]:
    for job, day in screens.rota.rota.days.items():
        task = screens.rota.tasks[job]
        yield from ((item.tree_id, item.operation, day) for item in task.items if not item.label)


def _doses(screens: Screens) -> set[tuple[str, UUID, date]]:
    """Return by screen when a tree is fed; cakes that are changed are a dose too."""
    today, known = screens.session.today, screens.session.knowledge

    def feeds(item: Item) -> bool:
        return is_feeding(item.operation, known.operations) or changes_cakes(item, known)

    asked = [(screen, item) for screen, some in screens.asked_today().items() for _, item in some]
    asked += [("plan", item) for group in screens.planned[1] for item in group.items]
    out = {(screen, item.tree_id, max(item.opens.likely, today)) for screen, item in asked if feeds(item)}
    out |= {
        ("rota", tree, day) for tree, work, day in _in_rota(screens) if is_feeding(work, known.operations)
    }
    steps = ((one.tree_id, step) for one in screens.fertilize.values() for step in one.steps)
    return out | {("fertilize", tree, day) for tree, step in steps for day in step.dates}


def walks(screens: Screens) -> Iterator[Finding]:
    """Yield walks that the calendar, the rota or ``due`` tells otherwise than the plan of the round, and days too full."""
    session, planned = screens.session, review_plan(screens.session).pressing
    wanted = {(walk.on, frozenset(stop.tree_id for stop in walk.stops)) for walk in planned}
    told = {(e.start, frozenset(e.tree_ids)) for e in screens.events if e.group.startswith(WALK_GROUP)}
    for on, _ in told ^ wanted:
        says = (
            "in the calendar alone" if any(on == day for day, _ in told - wanted) else "not in the calendar"
        )
        yield screens.finding(None, "calendar / review plan", f"the walk of {on} is {says}")
    used = Counter({walk.on: walk.minutes for walk in screens.rota.walks})
    for job, day in screens.rota.rota.days.items():
        used[day] += screens.rota.tasks[job].job.minutes
    for walk in screens.rota.walks:
        free = int(screens.rota.free[(walk.on - session.today).days])
        if used[walk.on] > max(free, walk.minutes):
            yield screens.finding(None, "rota / review plan", f"{walk.on}: {used[walk.on]} of {free} min")
    near = next_walk(session, DUE_DAYS)
    if near is not None and near.start != min(walk.on for walk in planned):
        yield screens.finding(None, "due / review plan", f"the next walk is told for {near.start}")


CHECKS: tuple[Check, ...] = (
    forbidden,
    double_dated,
    texts,
    missing,
    twice,
    heavy,
    standing,
    warned_elsewhere,
    stages,
    turns,
    sheets,
    shown,
    wasted,
    unseasonable,
    walks,
    *WORK_CHECKS,
    *STAYS_CHECKS,
    *TOLD_CHECKS,
)
