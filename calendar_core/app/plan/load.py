"""Spacing of work for the commands: what speaks against it, and the order that loses least."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from calendar_core.garden.cycle import calendar_of
from calendar_core.planning.load.order import OrderChoice, Wanted, choice
from calendar_core.planning.load.spacing import Spacing
from calendar_core.planning.planner import air_over
from calendar_core.planning.rota.tasks import CLAIM
from calendar_core.planning.seasons.regrowth import regrowth
from calendar_core.planning.works.heavy_jobs import SURE_ENOUGH
from calendar_core.wording.plan.plan_text import SPACING
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item, Plan, Reason

    Days = tuple[date, date]

Warned = Mapping[UUID, tuple["Reason", ...]]

CYCLES = 3  # this one and those that work may be put off to
CHOSEN_DAYS = (
    28  # how long work without a window of its own may be done from the day that was named (estimate)
)
CROWDED = {"one_heavy_job", "heavy_done"}


def spacings(session: Session, trees: Iterable[Tree]) -> Iterator[tuple[Tree, Spacing]]:
    """Yield trees, each with what it bears."""
    garden, knowledge = session.garden, session.knowledge
    air, which = air_over(garden, session.weather.sky, knowledge, session.today), list(trees)
    made: Plan | None = session.__dict__.get("plan")  # trees do not depend on others: a plan of all serves
    plan = session.part(which).plan if made is None else made
    for tree in which:
        profile = knowledge.profiles[tree.species]
        calendar, state = calendar_of(garden, profile), session.states[tree.id]
        back = regrowth(state, plan.stages[tree.id], profile, knowledge)
        rules, middles = (knowledge.spacing, knowledge.operations), plan.middles[tree.id]
        yield tree, Spacing(*rules, profile, calendar, air, state, middles, back)


def warned(session: Session, trees: Iterable[Tree], operation: str, on: date, share: float | None) -> Warned:
    """Return what speaks against work on a day, for the trees for which anything does."""
    rules, form = session.knowledge.spacing, session.knowledge.operations[operation]
    if not max(form.weight, rules.least_weight(share)):
        return {}
    found = {tree.id: spacing.warnings(operation, on, share) for tree, spacing in spacings(session, trees)}
    return {tree: reasons for tree, reasons in found.items() if reasons}


def codes(found: Warned) -> list[str]:
    """Return the codes of warnings, as the log keeps them with work that was done all the same."""
    return sorted({reason.code for reasons in found.values() for reason in reasons})


def warning_lines(session: Session, found: Warned) -> list[str]:
    """Return warnings in sentences, each once for all its trees."""
    trees: dict[str, list[str]] = {}
    for tree, reasons in found.items():
        for reason in reasons:
            trees.setdefault(session.speaker.reason(reason), []).append(session.labels[tree])
    note = SPACING["note"]
    return [session.style.say(note, trees=tree_list(those), warning=text) for text, those in trees.items()]


# -- choices --------------------------------------------------------------------------------------------------


def choices(
    session: Session, trees: Iterable[Tree], operation: str, on: date, share: float | None
) -> dict[UUID, OrderChoice]:
    """Return for each tree what it means to do an operation on a day; nothing for one that weighs nothing."""
    return {
        tree.id: choice(spacing, *_wanted(session, tree, spacing, operation, on, share), on)
        for tree, spacing in spacings(session, trees)
        if spacing.weight(operation, share)
    }


def _wanted(
    session: Session, tree: Tree, spacing: Spacing, operation: str, on: date, share: float | None
) -> tuple[Wanted, list[Wanted]]:
    """Return the operation that was named, and what else of some weight the plan wants of a tree."""
    items = [item for item in session.plan.items if item.tree_id == tree.id and not item.label]
    claims: dict[str, int] = {}
    rules: dict[str, str] = {}
    for item in items:
        if item.status != "possible" and item.chance >= SURE_ENOUGH and spacing.weight(item.operation):
            rules.setdefault(item.operation, item.rule)
            claim = CLAIM.get(item.reasons[0].code if item.reasons else "", 1)
            claims[item.operation] = max(claim, claims.get(item.operation, 1))
    others = [
        Wanted(name, spacing.weight(name), claims[name], _windows(session, tree, spacing, rule))
        for name, rule in rules.items()
        if name != operation
    ]
    rule = rules.get(operation) or next((i.rule for i in items if i.operation == operation), "")
    windows = _windows(session, tree, spacing, rule) or _yearly(
        spacing, (on, on + timedelta(days=CHOSEN_DAYS))
    )
    value = claims.get(operation, CLAIM["wished"])
    return Wanted(operation, spacing.weight(operation, share), value, windows), others


def _windows(session: Session, tree: Tree, spacing: Spacing, rule: str) -> tuple[Days, ...]:
    """Return a work's windows from today on, one a cycle; past the plan's last it is taken to open each year alike.

    A cycle in which only another heavy job keeps it out of the plan has one too.
    """
    mine = [item for item in session.plan.items if (item.tree_id, item.rule) == (tree.id, rule)]
    if not mine:
        return ()
    known = {item.cycle: _days(item, session.today) for item in mine}
    first = min(known)
    for absent in session.plan.not_planned:
        here = (absent.tree_id, absent.rule) == (tree.id, rule) and absent.cycle < first
        if here and {reason.code for reason in absent.reasons} <= CROWDED:
            known[absent.cycle] = _shifted(known[first], absent.cycle - first)
    ahead = [known[cycle] for cycle in sorted(known) if known[cycle][1] >= session.today]
    every = [_in_cycle(spacing, days) for days in ahead]
    return (*every, *_yearly(spacing, every[-1])[1:])[:CYCLES]


def _days(item: Item, today: date) -> Days:
    """Return from when work can likely be done, and until when it is safe in nine years of ten."""
    first = max(item.opens.likely, today)
    return first, max(first, item.closes.early)


def _yearly(spacing: Spacing, days: Days) -> tuple[Days, ...]:
    return tuple(_in_cycle(spacing, _shifted(days, years)) for years in range(CYCLES))


def _shifted(days: Days, years: int) -> Days:
    first, last = days
    moved = first.replace(year=first.year + years, day=min(first.day, 28))
    return moved, moved + (last - first)


def _in_cycle(spacing: Spacing, days: Days) -> Days:
    """Return days cut off where the next cycle begins."""
    first, last = days
    return first, min(last, spacing.calendar.next_start(first) - timedelta(days=1))
