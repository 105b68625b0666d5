"""What commands print about the season, stages and plan, in the order a grower reads it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from calendar_core.app.plan.card import cards_of
from calendar_core.app.plan.line_names import due_groups, groups_of, name_of
from calendar_core.app.plan.planned import by_start, planned_groups
from calendar_core.app.plan.sights import nearest_sight
from calendar_core.app.plan.views.short_plan import how_to_see_more, section, short_sections
from calendar_core.app.plan.walks import review_plan
from calendar_core.app.shell.output import columns, command, heading, say
from calendar_core.app.shell.program import program
from calendar_core.app.shell.session import Session
from calendar_core.planning.items import PUBLISH_FROM, Reason
from calendar_core.planning.seasons.season_line import season_line
from calendar_core.wording.plan.feeding_text import strengths
from calendar_core.wording.plan.plan_text import (
    PLAN,
    STAGES,
    before_all,
    question,
    stage_row,
    standing,
    within_weeks,
)
from calendar_core.wording.plan.season_text import season_sentences
from calendar_core.wording.review.walk_text import WalkSpeaker
from calendar_core.wording.sentences import stage_words, tree_list, tree_names
from calendar_core.wording.tree_sets import alike, by_text, of_trees, reasons

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item, StageDate

FIRST_ITEMS = 5
WALK_AHEAD = timedelta(
    weeks=3
)  # from when the next walk of a review is told: a weekend or two to keep free (estimate)
STEADY = 3  # vigour of a tree in ordinary health; that it is wanted goes without saying


def header(session: Session) -> None:
    """Print the garden, the day and the season line."""
    garden, style = session.garden, session.style
    say(f"{garden.name}, {garden.place}. {style.weekday(session.today)}")
    stages = (stage for dated in session.plan.stages.values() for stage in dated)
    season = season_line(garden, session.weather.sky.traces, stages, session.today)
    for sentence in season_sentences(season, style, session.today):
        say(sentence)
    known = session.weather.sky.traces.known
    say(session.speaker.weather(known, session.weather.sky.traces.t_min_c.shape[0]))
    if session.weather.credit:
        say(style.say(PLAN["weather"], credit=session.weather.credit))
    walks, tells = review_plan(session), WalkSpeaker(session.speaker)
    if walks.pressing and walks.pressing[0].on <= session.today + WALK_AHEAD:
        say(tells.coming(walks.pressing[0]))
    elif walks.round.walks and not walks.pressing:
        say(tells.missed(walks.round.walks))


def plan_view(session: Session, weeks: int, *, everything: bool) -> None:
    """Print the plan, two lines an item at most: by months, and with ``everything`` what is merely possible."""
    now, coming_up = planned_groups(session, weeks)
    short_sections(session, now, coming_up)
    _nothing(session, weeks, [*now, *coming_up])
    for title, groups in _not_due(session, weeks) if everything else ():
        section(session, title, groups, named=False)
    how_to_see_more(session)


def long_plan_view(session: Session, weeks: int, *, everything: bool) -> None:
    """Print the plan with all that is told of its items: what is open, what opens in the next weeks, the cautions."""
    now, coming_up = planned_groups(session, weeks)
    _section(session, session.style.say(PLAN["open"]), now)
    _section(session, within_weeks(session.style, PLAN["opening"], weeks), coming_up)
    _nothing(session, weeks, [*now, *coming_up])
    for title, groups in _not_due(session, weeks) if everything else ():
        _section(session, title, groups, named=False)
    _cautions(session, [item for group in (*now, *coming_up) for item in group.items])


def _nothing(session: Session, weeks: int, groups: Sequence[EventGroup]) -> None:
    if not groups:
        say()
        say(within_weeks(session.style, PLAN["nothing"], weeks))


def _not_due(session: Session, weeks: int) -> list[tuple[str, list[EventGroup]]]:
    """Return what is merely possible, and what is unlikely, each with its title."""
    until = session.today + timedelta(weeks=weeks)
    wanted = [i for i in session.plan.items if i.opens.likely <= until]
    possible = [i for i in wanted if i.status == "possible" and i.chance >= PUBLISH_FROM]
    unlikely = [i for i in wanted if i.chance < PUBLISH_FROM]
    return [
        (session.style.say(PLAN[key]), by_start(groups_of(session, some)))
        for key, some in (("possible", possible), ("unlikely", unlikely))
    ]


def first_plan(session: Session) -> None:
    """Print the first plan of a garden: the season, at most five items, one question, what to do next."""
    header(session)
    groups = by_start(due_groups(session))[:FIRST_ITEMS]
    style = session.style
    _section(session, style.say(PLAN["first"]), groups)
    if not groups:
        say()
        say(
            style.say(PLAN["nothing_ahead"])
            if session.trees
            else style.say(PLAN["no_trees"], program=program())
        )
    _cautions(session, [item for group in groups for item in group.items])
    _question(session)
    say()
    say(style.say(PLAN["next"]))
    command("plan", "--all")
    command("calendar", "FILE.ics")


def _section(session: Session, title: str, groups: Sequence[EventGroup], *, named: bool = True) -> None:
    if not groups:
        return
    heading(title)
    for group in groups:
        _group(session, group, f"  [{name_of(group.items)}]" if named else "")


def _group(session: Session, group: EventGroup, name: str) -> None:
    items, speaker, labels = group.items, session.speaker, session.labels
    item = items[0]
    say()
    say(f"{speaker.name(item)}: {tree_list(tree_names(items, labels))}{name}", indent=2, hanging=2)
    for some in alike(items):
        say(of_trees(speaker.window(some[0]), some, items, labels), indent=4)
    for how, those in by_text(items, lambda item: session.style.text(item.how)).items():
        say(of_trees(how, those, items, labels), indent=4)
    if given := strengths(speaker, items, labels):
        say(given, indent=4)
    said = [cause for cause in reasons(items, speaker) if telling(cause.reason)]
    of_all = [cause for cause in said if len(cause.items) == len(items)]
    if of_all:
        say(" ".join(speaker.reason(cause.reason) for cause in of_all), indent=4)
    for cause in said:
        if cause not in of_all:  # on a line of its own, or it would be read of the tree before it
            say(of_trees(speaker.reason(cause.reason), cause.items, items, labels), indent=4)
    for tree in cards_of(session, group.items):
        command("before", f"'{session.labels[tree]}'", f"'{item.operation}'", indent=4)


def telling(reason: Reason) -> bool:
    """Tell whether a reason belongs in the plan itself; ``why`` gives them all."""
    if reason.code == "overdue":  # the look itself says since when
        return False
    return reason.code != "vigour_enough" or float(str(reason.needed)) > STEADY


def _cautions(session: Session, items: Sequence[Item]) -> None:
    """Print each caution once, with the work it belongs to."""
    works: dict[str, list[str]] = {}
    for item in items:
        label = session.speaker.name(item).lower()
        for key in item.cautions:
            if label not in works.setdefault(key, []):
                works[key].append(label)
    if works:
        heading(session.style.say(PLAN["cautions"]))
        for key, labels in works.items():
            text = session.style.text(session.knowledge.cautions[key].text)
            say(f"{text} ({tree_list(labels)})", indent=2, hanging=2)


def _question(session: Session) -> None:
    """Ask about the sight that is nearest in time and not written down: an answer narrows the dates."""
    sight = nearest_sight(session)
    if sight is None:
        return
    say()
    tree, stage, closed = sight
    assert stage.range is not None  # noqa: S101 - only such are sights
    say(question(session.speaker, stage.stage, stage.range.likely, tree.label, buds_closed=closed))
    if closed:
        command("seen", f"'{tree.label}'", "closed")
    command("seen", f"'{tree.label}'", f"'{stage_words(stage.stage)}'", "DAY")


def stages_view(session: Session, trees: Sequence[Tree]) -> None:
    """Print per species the stage now and the likely dates of the coming ones; trees that differ on their own."""
    kinds: dict[tuple[str, tuple[StageDate, ...]], list[str]] = {}
    for tree in trees:
        kinds.setdefault((tree.species, session.plan.stages[tree.id]), []).append(tree.label)
    for (species, stages), labels in kinds.items():
        profile = session.knowledge.profiles[species]
        heading(f"{profile.common} ({profile.latin}): {tree_list(labels)}")
        now = stage_now(stages, session.today)
        if now is not None:
            say(standing(session.style, profile, now), indent=2)
        elif ahead := coming(stages, session.today):
            say(before_all(session.style, profile, ahead[0]), indent=2)
        columns([stage_row(session.speaker, stage) for stage in coming(stages, session.today)])
        for stage in rare(stages):
            chance, words = session.style.chance(stage.share), stage_words(stage.stage)
            say(session.style.say(STAGES["rare"], stage=words, chance=chance), indent=2)
        if any(s.share == 0 and profile.stages[s.stage].need for s in stages):
            why = session.speaker.reason(Reason("no_winter"))
            say(session.style.say(STAGES["no_spring"], why=why), indent=2)


def stage_now(stages: Sequence[StageDate], today: date) -> StageDate | None:
    """Return the latest stage that has likely come."""
    past = [s for s in stages if s.range is not None and s.share >= PUBLISH_FROM and s.range.likely <= today]
    return max(past, key=lambda s: s.range.likely) if past else None  # type: ignore[union-attr]


def coming(stages: Sequence[StageDate], today: date, most_days: int = 366) -> list[StageDate]:
    """Return the stages still to come within a year, in order."""
    last = today + timedelta(days=most_days)
    ahead = [
        s
        for s in stages
        if s.range is not None and s.share >= PUBLISH_FROM and today < s.range.likely <= last
    ]
    return sorted(ahead, key=lambda s: s.range.likely)  # type: ignore[union-attr]


def rare(stages: Sequence[StageDate]) -> list[StageDate]:
    """Return the stages that come in less than half of the possible years, each once."""
    seldom = {s.stage: s for s in stages if 0 < s.share < PUBLISH_FROM}
    return list(seldom.values())
