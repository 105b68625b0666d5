"""The season chart of a garden: values and words put together for the drawing room."""

from __future__ import annotations

from typing import TYPE_CHECKING

from babel.dates import get_month_names

from calendar_core.app.plan.season_curves import season_curves
from calendar_core.app.plan.season_rows import desk_rows, phone_rows
from calendar_core.app.shell.files import DRAWING, look_for_chart, write_whole
from calendar_core.planning.seasons.season_line import HEAT_BASE_C
from calendar_core.publishing.chart.content import ChartText, SeasonChart
from calendar_core.publishing.chart.season import season_png, season_svg
from calendar_core.wording.plan.plan_text import CHART, chart_note

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree
    from calendar_core.publishing.chart.season import Form


def draw_season(session: Session, trees: Sequence[Tree], path: Path, form: Form = "phone") -> None:
    """Write the chart as SVG or PNG, by the file's ending; on the phone sheet a single tree is drawn with its work."""
    kind = look_for_chart(path)
    draw = season_svg if kind is DRAWING else season_png
    write_whole(path, draw(season_chart(session, trees, form), form), kind)


def season_chart(session: Session, trees: Sequence[Tree], form: Form = "phone") -> SeasonChart:
    """Return the chart of twelve months from today, with the weeks before."""
    curves = season_curves(session)
    rows = desk_rows if form == "desk" else phone_rows
    return SeasonChart(
        text=_text(session, curves.summed_from),
        today=session.today,
        start=curves.start,
        end=curves.end,
        day_length_h=curves.day_length_h,
        heat=curves.this_year,
        heat_range=curves.ahead,
        past_heat=curves.past,
        rows=tuple(rows(session, trees, curves.start, curves.end)),
    )


def _text(session: Session, summed_from: date) -> ChartText:
    style, garden, traces = session.style, session.garden, session.weather.sky.traces
    names = get_month_names("abbreviated", locale=style.locale)
    unit = "°F·d" if style.units == "us" else "°C·d"
    weather = session.speaker.weather(traces.known, len(traces.t_min_c))
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
        soft=style.say(CHART["soft"]),
        likely=style.say(CHART["stroke"]),
        pale=style.say(CHART["pale"]),
        beyond=style.say(CHART["beyond"]),
        note=chart_note(style, weather, session.weather.credit, summed_from),
    )
