"""The rows of the season chart: which stages and work of which trees stand on it, and what is said of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.planning.groups import published_items
from calendar_core.planning.items import PUBLISH_FROM, Range
from calendar_core.publishing.chart.content import Strip, StripRow
from calendar_core.wording.plan.plan_text import CHART, how_often, short_likely, short_window
from calendar_core.wording.sentences import stage_words, tree_list
from calendar_core.wording.tree_sets import ALIKE_DAYS, alike

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item, StageDate


def busiest(session: Session) -> Tree:
    """Return the tree with most kinds of work ahead, of equals the first."""
    kinds = {tree.id: set[str]() for tree in session.trees}
    for item in _published(session, session.trees):
        kinds[item.tree_id].add(session.speaker.name(item))
    return max(session.trees, key=lambda tree: len(kinds[tree.id]))


def phone_rows(session: Session, trees: Sequence[Tree], start: date, end: date) -> Iterator[StripRow]:
    """Give the stages of each kind of tree: one tree speaks for its kind. With a single tree its work too."""
    for species in dict.fromkeys(tree.species for tree in trees):
        tree = next(tree for tree in trees if tree.species == species)
        common = session.knowledge.profiles[species].common
        if len(trees) > 1:
            yield from _stage_rows(session, tree, common, start, end)
        else:
            heading = f"{tree.label}, {common}"
            stages = list(_stage_rows(session, tree, heading, start, end))
            yield from stages
            yield from _work_rows(
                session, tree, session.style.say(CHART["work"]) if stages else heading, start, end
            )


def _stage_rows(session: Session, tree: Tree, heading: str, start: date, end: date) -> Iterator[StripRow]:
    """Give a row for each stage of a tree."""
    for name, stages in _stages(session, tree, start, end).items():
        dated = [(stage.range, stage.share) for stage in stages if stage.range]
        said = [how_often(session.style, short_likely(session.style, days), share) for days, share in dated]
        strips = tuple(Strip(days, None, share) for days, share in dated)
        yield StripRow(name, heading, strips, session.style.say(CHART["again"]).join(said))


def _work_rows(session: Session, tree: Tree, heading: str, start: date, end: date) -> Iterator[StripRow]:
    """Give a row for each name of work of a tree."""
    by_name: dict[str, list[Item]] = {}
    for item in _published(session, [tree]):
        if _is_seen(item, start, end):
            by_name.setdefault(session.speaker.name(item), []).append(item)
    for name, items in by_name.items():
        said = dict.fromkeys(short_window(session.style, item) for item in items)
        strips = tuple(Strip(item.opens, item.closes, item.chance) for item in items)
        yield StripRow(name, heading, strips, session.style.say(CHART["again"]).join(said))


def desk_rows(session: Session, trees: Sequence[Tree], start: date, end: date) -> Iterator[StripRow]:
    """Give the stages of every species, then the work of all trees by its name: a row for each species.

    Looks that species share stand on one row.
    """
    part = session.style.say(CHART["stages"])
    for species in dict.fromkeys(tree.species for tree in trees):
        heading = session.knowledge.profiles[species].common
        every = sum(tree.species == species for tree in session.trees)
        for some, strips in _stage_sets(session, [t for t in trees if t.species == species], start, end):
            label = "" if len(some) == every else _named(session, some)
            yield StripRow(label, heading, strips, part=part)
    part, work = session.style.say(CHART["work"]), _work_by_name(session, trees, start, end)
    for name, rows in work.items():
        for species, items in rows.items():
            profiles = session.knowledge.profiles
            kinds = [species] if species else dict.fromkeys(item.species for item in items)
            label = tree_list([profiles[kind].common for kind in kinds])
            yield StripRow(label, name, tuple(_captioned(session, items, kinds, start)), part=part)


def _stage_sets(
    session: Session, trees: Sequence[Tree], start: date, end: date
) -> list[tuple[list[Tree], tuple[Strip, ...]]]:
    """Return the trees of a species in sets whose stages come within days of each other, with their strips."""
    style, sets = session.style, []
    shown = {
        tree.id: [dated for dates in _stages(session, tree, start, end).values() for dated in dates]
        for tree in trees
    }
    left = list(trees)
    while left:
        first = shown[left[0].id]
        some = [tree for tree in left if _come_together(first, shown[tree.id])]
        left = [tree for tree in left if tree not in some]
        strips = []
        for dated in first:
            assert dated.range is not None  # noqa: S101 - of stages that come
            day = style.short_day(dated.range.likely)
            said = style.say(CHART["stage"], stage=stage_words(dated.stage), day=day)
            strips.append(Strip(dated.range, None, dated.share, how_often(style, said, dated.share)))
        if strips:
            sets.append((some, tuple(strips)))
    return sets


def _come_together(some: Sequence[StageDate], others: Sequence[StageDate]) -> bool:
    return [(a.stage, a.cycle) for a in some] == [(a.stage, a.cycle) for a in others] and all(
        abs((a.range.likely - b.range.likely).days) <= ALIKE_DAYS
        for a, b in zip(some, others, strict=True)
        if a.range and b.range
    )


def _work_by_name(
    session: Session, trees: Sequence[Tree], start: date, end: date
) -> dict[str, dict[str, list[Item]]]:
    """Return what is to be done by its name and species, that which species share under none."""
    found: dict[str, dict[str, list[Item]]] = {}
    begun = Range(*[start - timedelta(days=1)] * 3)
    for item in _published(session, trees):
        if _is_seen(item, start, end):
            # Of what was open before the axis begins it does not matter since when: trees stand together by its end.
            seen = replace(item, opens=begun) if item.opens.late < start else item
            rows = found.setdefault(session.speaker.name(item), {})
            rows.setdefault("" if item.shared else item.species, []).append(seen)
    return found


def _captioned(session: Session, items: Sequence[Item], kinds: Iterable[str], start: date) -> Iterator[Strip]:
    """Give a strip for each set of trees whose windows are alike; trees are named unless all of the row are meant."""
    style, every = session.style, {tree.id for tree in session.trees if tree.species in set(kinds)}
    by_chance: dict[tuple[int, int], list[Item]] = {}
    for item in items:
        by_chance.setdefault((item.cycle, round(item.chance * 10)), []).append(item)
    for together in by_chance.values():
        for some in alike(together):
            said = short_window(style, some[0], seen_from=start)
            which = {item.tree_id for item in some}
            if which != every:
                names = _named(session, [tree for tree in session.trees if tree.id in which])
                said = style.say(CHART["of_trees"], trees=names, dates=said)
            yield Strip(some[0].opens, some[0].closes, some[0].chance, said)


def _named(session: Session, trees: Sequence[Tree]) -> str:
    """Return trees by their labels, those of a species that are all the garden has by its name."""
    names: dict[str, None] = {}
    for tree in trees:
        every = [other for other in session.trees if other.species == tree.species]
        whole = len(every) > 1 and all(other in trees for other in every)
        names[session.knowledge.profiles[tree.species].common if whole else tree.label] = None
    return tree_list(list(names))


def _stages(session: Session, tree: Tree, start: date, end: date) -> dict[str, list[StageDate]]:
    """Return the stages of a tree that are seen on the axis, by their names in the order of time."""
    found: dict[str, list[StageDate]] = {}
    ahead = [dated for dated in session.plan.stages[tree.id] if dated.share >= PUBLISH_FROM]
    for dated in sorted(ahead, key=lambda dated: dated.range.likely if dated.range else end):
        days = dated.range
        if days and days.likely <= end and (days.likely >= start or days.late >= session.today):
            found.setdefault(stage_words(dated.stage), []).append(dated)
    return found


def _published(session: Session, trees: Sequence[Tree]) -> list[Item]:
    """Return what is to be done for some trees, as it opens."""
    which = {tree.id for tree in trees}
    items = published_items(session.plan.items, {}, session.knowledge, session.grove.states)
    mine = [item for item in items if item.tree_id in which]
    return sorted(mine, key=lambda item: (item.opens.likely, item.closes.likely, session.speaker.name(item)))


def _is_seen(item: Item, start: date, end: date) -> bool:
    return item.opens.likely <= end and item.closes.late >= start
