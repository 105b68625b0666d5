"""The season chart of a garden: values and words put together for the drawing room."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from babel.dates import get_month_names

from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import write_whole
from calendar_core.planning.groups import published_items
from calendar_core.planning.items import PUBLISH_FROM
from calendar_core.planning.seasons.axis import Axis
from calendar_core.planning.seasons.season_line import HEAT_BASE_C, HeatCurves
from calendar_core.publishing.chart.content import ChartText, SeasonChart, StageRow
from calendar_core.publishing.chart.season import season_png, season_svg
from calendar_core.wording.plan.plan_text import CHART, chart_note, short_likely, short_span
from calendar_core.wording.sentences import stage_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def draw_season(session: Session, trees: Sequence[Tree], path: Path) -> None:
    """Write the chart as SVG or PNG, by the file's ending; a single tree is drawn with its work."""
    draw = {".svg": season_svg, ".png": season_png}.get(path.suffix.lower())
    if draw is None:
        raise Refusal(f"{path}: right would be a file ending in .svg or .png")
    write_whole(path, draw(season_chart(session, trees)))


def season_chart(session: Session, trees: Sequence[Tree]) -> SeasonChart:
    """Return the chart of the growing year that today lies in."""
    style, traces = session.style, session.weather.sky.traces
    curves = HeatCurves(traces, session.garden.latitude, session.today)
    end = curves.start + timedelta(days=364)
    days, at = 365, curves.index
    possible = curves.possible[:, :days] * (9 / 5 if style.units == "us" else 1)
    heat = np.where(np.arange(days) <= at, np.median(possible, axis=0), np.nan)
    ahead = np.where(np.arange(days) >= at, np.quantile(possible, [0.1, 0.5, 0.9], axis=0), np.nan)
    past = curves.past[:, :days] * (9 / 5 if style.units == "us" else 1)
    measured = traces.known.kind != "normals"
    return SeasonChart(
        text=_text(session),
        today=session.today,
        start=curves.start,
        end=end,
        day_length_h=Axis(curves.start, days, session.garden.latitude).day_length_h,
        heat=heat if measured else None,
        heat_range=ahead,
        past_heat=past if measured else None,
        rows=tuple(row for row in _rows(session, trees) if curves.start <= row.opens.likely <= end),
    )


def _text(session: Session) -> ChartText:
    style, garden, traces = session.style, session.garden, session.weather.sky.traces
    names = get_month_names("abbreviated", locale=style.locale)
    unit = "°F·d" if style.units == "us" else "°C·d"
    return ChartText(
        title=f"{garden.name}, {garden.place}",
        subtitle=style.weekday(session.today),
        description=style.say(CHART["about"]),
        today=style.say(CHART["today"]),
        heat=style.say(CHART["heat"]),
        heat_range=style.say(CHART["heat_range"]),
        past_heat=style.say(CHART["past_heat"]),
        day_length=style.say(CHART["day_length"]),
        months=tuple(names[month] for month in range(1, 13)),
        heat_unit=f"{unit} > {style.temperature(HEAT_BASE_C)}",
        note=chart_note(
            style, session.speaker.weather(traces.known, len(traces.t_min_c)), session.weather.credit
        ),
    )


def _rows(session: Session, trees: Sequence[Tree]) -> Iterator[StageRow]:
    """Give the stages of each kind of tree: one tree speaks for its kind. With a single tree its work too."""
    for species in dict.fromkeys(tree.species for tree in trees):
        profile = session.knowledge.profiles[species]
        tree = next(tree for tree in trees if tree.species == species)
        stages = session.plan.stages[tree.id]
        heading = profile.common if len(trees) > 1 else f"{tree.label}, {profile.common}"
        for stage in stages:
            if stage.range is not None and stage.share >= PUBLISH_FROM:
                yield StageRow(
                    stage_words(stage.stage), heading, short_likely(session.style, stage.range), stage.range
                )
        if len(trees) > 1:
            continue
        for item in published_items(session.plan.items, {}, session.knowledge, session.grove.states):
            if item.tree_id == tree.id:
                label = session.knowledge.operations[item.operation].label
                sentence = short_span(session.style, item.opens.likely, item.closes.likely)
                yield StageRow(label, session.style.say(CHART["work"]), sentence, item.opens, item.closes)
