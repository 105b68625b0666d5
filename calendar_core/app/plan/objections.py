"""What speaks against work on a day, in sentences: its season, the tree's strength, what was done before."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from calendar_core.app.shell.session import knowledge
from calendar_core.planning.items import Item
from calendar_core.planning.waits import WAITS, wait_end
from calendar_core.planning.works.objections import too_late, untimely
from calendar_core.storage.services import get_forecast_hours
from calendar_core.weather.hourly import HOUR
from calendar_core.wording.plan.plan_text import OBJECTIONS, either_part

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.items import Plan

MEASURED = ("graft_ratio", "graft_waits")


def objections(session: Session, plan: Plan, tree: Tree, operation: str, on: date) -> list[str]:
    """Return what a plan says against work on a tree, each once; nothing where its window is open."""
    profile, form = session.knowledge.profiles[tree.species], session.knowledge.operations[operation]
    style = session.style
    if operation in profile.never:
        why = profile.never[operation].why
        return [style.say(OBJECTIONS["never"], work=form.label, species=profile.common, why=why)]
    if not _known(profile, operation) and _seasonal(operation):
        return [style.say(OBJECTIONS["not_known"], work=form.label, species=profile.common)]
    lines = [*_too_hot(session, profile, operation, on), *_not_ready(session, plan, tree, operation)]
    for outcome in untimely(plan, tree.id, operation, on):
        if isinstance(outcome, Item):
            season = "hardly" if outcome.opens.early <= on <= outcome.closes.late else "not_season"
            lines.append(style.say(OBJECTIONS[season], window=session.speaker.window(outcome)))
            waits = (r for r in outcome.reasons if r.code in WAITS and wait_end(r) > on)
            lines += [session.speaker.reason(reason) for reason in waits]
        else:
            lines += [session.speaker.reason(reason) for reason in outcome.reasons]
    if lines:
        lines += [session.speaker.reason(reason) for reason in too_late(plan, tree.id, operation)]
    return list(dict.fromkeys(lines))


def _not_ready(session: Session, plan: Plan, tree: Tree, operation: str) -> Iterator[str]:
    """Yield of each part that the operation is the end of what its measurements say, unless it is ready."""
    rules = session.knowledge.aftercare
    ending = {key for key, rule in rules.items() if rule.ready and operation in rule.ends.after}
    followed = [
        item
        for item in plan.items
        if item.tree_id == tree.id and item.follows and item.follows.rule in ending
    ]
    if ending and not followed:
        yield either_part(session.style, [kind for key in sorted(ending) for kind in rules[key].of])
    for item in followed:
        if item.follows and item.label != rules[item.follows.rule].ready:
            said = [session.speaker.reason(reason) for reason in item.reasons if reason.code in MEASURED]
            yield f"{item.part}: {' '.join(said) or session.style.say(OBJECTIONS['never_measured'])}"


def _too_hot(session: Session, profile: Profile, operation: str, on: date) -> Iterator[str]:
    """Yield the cautions of an operation which the forecast bears out."""
    works = [key for work in profile.work if work.operation == operation for key in work.cautions]
    for key in dict.fromkeys([*session.knowledge.operations[operation].cautions, *works]):
        caution = session.knowledge.cautions[key]
        hottest = None if caution.from_c is None else _hottest(session, on, caution.within_days)
        if caution.from_c is not None and hottest is not None and hottest[0] >= caution.from_c:
            style, (t_c, day) = session.style, hottest
            heat, said = style.temperature(round(t_c)), style.text(caution.text)
            yield style.say(OBJECTIONS["hot"], heat=heat, day=style.day(day, session.today), caution=said)


def _hottest(session: Session, on: date, days: int) -> tuple[float, date] | None:
    """Return the highest temperature [degC] that is forecast from a day on, with its day; None where nothing is."""
    garden, zone = session.garden, ZoneInfo(session.garden.zone)
    with session.store.read() as connection:
        stored = get_forecast_hours(connection, garden.latitude, garden.longitude)
    if stored is None:
        return None
    hours = [(stored.start + n * HOUR).astimezone(zone).date() for n in range(len(stored.series["t_c"]))]
    known = [
        (float(t_c), day)
        for t_c, day in zip(stored.series["t_c"], hours, strict=True)
        if on <= day <= on + timedelta(days=days) and t_c == t_c  # noqa: PLR0124 - NaN
    ]
    return max(known, default=None)


def _known(profile: Profile, operation: str) -> bool:
    return any(work.operation == operation for work in profile.work)


def _seasonal(operation: str) -> bool:
    """Tell whether any species has windows for an operation; others, such as severing a graft, have no season."""
    return any(_known(profile, operation) for profile in knowledge().profiles.values())
