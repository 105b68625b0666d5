"""Season: heat and day length against past years, stages and windows of twelve months, by species or by tree."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from babel.dates import get_month_names
from fastapi import APIRouter
from markupsafe import Markup
from starlette.responses import Response

from calendar_core.app.plan.season_curves import SeasonCurves, season_curves
from calendar_core.app.plan.season_rows import busiest
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.session import Session
from calendar_core.pages.shell.access import Reader
from calendar_core.pages.shell.answering import page
from calendar_core.planning.groups import published_items
from calendar_core.planning.items import PUBLISH_FROM
from calendar_core.planning.seasons.season_line import season_line
from calendar_core.publishing.pictures.strips import Days, Window, window_strip
from calendar_core.publishing.pictures.year import YearPicture, YearText, year_picture
from calendar_core.wording.pages.season_page_text import (
    SEASON,
    heat_title,
    picture_said,
    stage_sentence,
    work_sentence,
)
from calendar_core.wording.plan.deciding_text import deciding
from calendar_core.wording.plan.season_text import season_sentences
from calendar_core.wording.sentences import stage_words, tree_list, tree_names
from calendar_core.wording.tree_sets import alike

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item, StageDate

router = APIRouter()
MOST_NAMED = 6  # trees that a strip names (estimate: two lines of a phone)


@dataclass(frozen=True)
class SeasonStrip:
    """A strip of the page with its sentence."""

    name: str
    picture: Markup
    sentence: str


@dataclass(frozen=True)
class SeasonPictures:
    """The pictures of the garden's year, for a phone and for a desk, and what is said of it.

    ``works`` are the strips of the species that were asked for, drawn once: one may have hundreds of trees.
    """

    curves: SeasonCurves
    sentences: Sequence[str]
    phone: Markup
    desk: Markup
    works: dict[str, list[SeasonStrip]] = field(default_factory=dict)


def season_pictures(session: Session) -> SeasonPictures:
    """Return the pictures of the garden's year; it makes the plan, on which the strips rest."""
    curves, style = season_curves(session), session.style
    stages = (stage for dated in session.plan.stages.values() for stage in dated)
    season = season_line(session.garden, session.weather.sky.traces, stages, session.today)
    told = season_sentences(season, style, session.today)
    text = YearText(
        picture_said(style, session.today, told),
        heat_title(style, curves.summed_from),
        style.say(SEASON["this_year"]),
        style.say(SEASON["ahead"]),
        style.say(SEASON["past"]),
        style.say(SEASON["usual"]),
        style.say(SEASON["day_length"]),
        style.say(SEASON["today"]),
        months(session),
        style.say(SEASON["hours"]),
    )
    past = None if curves.past is None else np.quantile(curves.past, [0.1, 0.5, 0.9], axis=0)
    picture = YearPicture(
        text, curves.start, curves.end, session.today, tuple(curves.day_length_h.tolist()),
        () if curves.this_year is None else tuple(curves.this_year.tolist()), _curves(curves.ahead), _curves(past),
    )  # fmt: skip
    phone, desk = (Markup(year_picture(picture, desk=wide)) for wide in (False, True))  # noqa: S704 - our own
    return SeasonPictures(curves, told, phone, desk)


def months(session: Session) -> tuple[str, ...]:
    """Return the short names of the months."""
    names = get_month_names("abbreviated", locale=session.style.locale)
    return tuple(names[month] for month in range(1, 13))


def _curves(values: NDArray[np.float64] | None) -> tuple[tuple[float, ...], ...]:
    return () if values is None else tuple(tuple(curve) for curve in values.tolist())


@router.get("/season", include_in_schema=False)
def season(visit: Reader, of: str = "") -> Response:
    """Show the season of a species, or of a tree."""
    shown = visit.site.kept(visit.session, season_pictures)
    session, pictures = shown.session, shown.value
    name, trees = _chosen(session, of)
    days = Days(pictures.curves.start, pictures.curves.end)
    return page(
        visit,
        "season.html",
        title="Season",
        current="season",
        season=" ".join(pictures.sentences),
        phone=pictures.phone,
        desk=pictures.desk,
        how=session.style.say(SEASON["how"]),
        chosen=of,
        name=name,
        species=sorted((session.knowledge.profiles[key].common, key) for key in {t.species for t in session.trees}),
        trees=[(tree.label, tree.id) for tree in session.trees],
        stages=list(stage_strips(session, trees[0], days)) if trees else [],
        no_stages=session.style.say(SEASON["no_stages"]),
        works=_works(session, pictures, trees, days),
        no_work=session.style.say(SEASON["no_work"]),
    )  # fmt: skip


def _works(
    session: Session, pictures: SeasonPictures, trees: Sequence[Tree], days: Days
) -> list[SeasonStrip]:
    """Return the windows of work of a species as they were drawn before, or of a tree, which takes no time."""
    if len(trees) < 2:
        return list(work_strips(session, trees, days))
    species = trees[0].species
    if species not in pictures.works:
        pictures.works[species] = list(work_strips(session, trees, days))
    return pictures.works[species]


def _chosen(session: Session, of: str) -> tuple[str, list[Tree]]:
    """Return the trees of a species or the tree of an id, with their name; those with most work where none is chosen."""
    if not session.trees:
        return "", []
    species = of or busiest(session).species
    some = [tree for tree in session.trees if species in (tree.species, str(tree.id))]
    if not some:
        raise Refusal(
            f"'{of}' is no species or tree of this garden; right would be one of the list on this page"
        )
    alone = species == str(some[0].id)
    return some[0].label if alone else session.knowledge.profiles[some[0].species].common, some


def stage_strips(session: Session, tree: Tree, days: Days) -> Iterator[SeasonStrip]:
    """Give the stages of a tree that are seen within some days, in the order of time."""
    found: dict[str, list[StageDate]] = {}
    ahead = [stage for stage in session.plan.stages[tree.id] if stage.share >= PUBLISH_FROM and stage.range]
    for stage in sorted(ahead, key=lambda stage: stage.range.likely if stage.range else days.end):
        comes = stage.range
        if comes and comes.late >= days.start and comes.early <= days.end and comes.likely <= days.end:
            found.setdefault(stage.stage, []).append(stage)
    for name, stages in found.items():
        dates = [(stage.range, stage.share) for stage in stages if stage.range]
        windows = [Window(comes, chance=share) for comes, share in dates]
        yield _strip(session, stage_words(name), days, windows, stage_sentence(session.speaker, dates))


def work_strips(session: Session, trees: Sequence[Tree], days: Days) -> Iterator[SeasonStrip]:
    """Give the windows of work of some trees that are seen within some days, a strip for those that are alike."""
    which = {tree.id for tree in trees}
    theirs = [item for item in session.plan.items if item.tree_id in which]
    published = published_items(theirs, {}, session.knowledge, session.grove.states)
    mine = [item for item in published if item.opens.likely <= days.end and item.closes.late >= days.start]
    by_name: dict[str, list[Item]] = {}
    for item in sorted(
        mine, key=lambda item: (item.opens.likely, item.closes.likely, session.speaker.name(item))
    ):
        by_name.setdefault(session.speaker.name(item), []).append(item)
    for name, items in by_name.items():
        for some in alike(items):
            yield _work(session, name, some, len(which), days)


def _work(session: Session, name: str, items: Sequence[Item], of: int, days: Days) -> SeasonStrip:
    """Return the strip of items whose windows are alike; trees are named unless all are meant."""
    which = {item.tree_id for item in items}
    trees = tree_list(tree_names(items, session.labels), most=MOST_NAMED)
    named = (
        name
        if len(which) == of and not items[0].part
        else session.style.say(SEASON["some"], work=name, trees=trees)
    )
    # What is the same of each need be found of one only: a species may have a thousand trees.
    same = len({(item.opens, item.closes, item.reasons, item.part) for item in items}) == 1
    reason = deciding(session.speaker, items[:1] if same else items, session.labels, late=False)
    told = work_sentence(session.speaker, session.speaker.window(items[0]), reason)
    return _strip(session, named, days, [Window(items[0].opens, items[0].closes, items[0].chance)], told)


def _strip(session: Session, name: str, days: Days, windows: Sequence[Window], sentence: str) -> SeasonStrip:
    svg = window_strip(f"{name}. {sentence}", days, windows, session.today, months(session))
    return SeasonStrip(f"{name[:1].upper()}{name[1:]}", Markup(svg), sentence)  # noqa: S704 - our own
