"""The season chart, drawn from invented numbers: reproducible, complete, legible, free of collisions."""

from __future__ import annotations

import io
import os
import pickle
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from PIL import Image

from calendar_core.planning.items import Range
from calendar_core.publishing.chart import sheet as chart_sheet
from calendar_core.publishing.chart.content import ChartText, SeasonChart, Strip, StripRow
from calendar_core.publishing.chart.season import season_figure, season_png, season_svg
from calendar_core.publishing.chart.time import LEFT, RIGHT

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    Values = NDArray[np.float64]

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec")
SVG = "{http://www.w3.org/2000/svg}"
PHONE_PX = 390
NORTH = (date(2015, 1, 1), date(2015, 12, 31), date(2015, 6, 24))
SOUTH = (date(2015, 7, 1), date(2016, 6, 30), date(2015, 11, 9))


def day_text(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]}"


def row(number: int, start: date) -> StripRow:
    """A made-up strip: every third a window, the others stages; they wander over the year."""
    opens = start + timedelta(days=15 + number * 47 % 300)
    come = Range(opens - timedelta(days=9 + number % 4), opens, opens + timedelta(days=13))
    species = ("Japanese maple (Acer palmatum)", "Japanese black pine", "Satsuki azalea")[number // 11]
    if number % 3:
        said = f"Likely {day_text(opens)}; 8 times in 10: {day_text(come.early)} to {day_text(come.late)}."
        return StripRow(f"Stage {number}", species, (Strip(come),), said)
    shut = opens + timedelta(days=40)
    goes = Range(shut - timedelta(days=20), shut, shut + timedelta(days=25))
    said = (
        f"Opens about {day_text(opens)}; closes about {day_text(shut)}, 8 times in 10 between "
        f"{day_text(goes.early)} and {day_text(goes.late)}: ten weeks before first frost, the earliest limit."
    )
    return StripRow(f"Work number {number} of the season", species, (Strip(come, goes),), said)


def heat_curves(days: int, known: int, years: int) -> tuple[Values, Values, Values]:
    """Made-up sums: a bell of daily heat in the middle of the axis, each year a little warmer or cooler."""
    bell = 14.0 * np.exp(-(((np.arange(days) / days - 0.54) / 0.17) ** 2))
    past = np.cumsum(bell * np.linspace(0.75, 1.2, years)[:, None], axis=1)
    usual = np.cumsum(bell)
    heat = np.where(np.arange(days) < known, 1.05 * usual, np.nan)
    ahead = np.arange(days) >= known - 1
    rest = usual - usual[known - 1]
    ranges = np.where(ahead, 1.05 * usual[known - 1] + rest * np.array([[0.85], [1.0], [1.12]]), np.nan)
    return heat, ranges, past


def chart(
    axis: tuple[date, date, date] = NORTH,
    *,
    rows: int = 5,
    years: int = 20,
    hours: tuple[float, float] = (8.4, 16.0),
) -> SeasonChart:
    """Return a chart of invented numbers."""
    start, end, today = axis
    days = (end - start).days + 1
    heat, ranges, past = heat_curves(days, (today - start).days + 1, years)
    swing = (1 - np.cos(2 * np.pi * np.arange(days) / days)) / 2
    text = ChartText(
        title=f"A made-up garden, {end.year}",
        subtitle="Day length 15 h 58 min, 1 min less than yesterday. Heat 861 °C·d: ahead of a usual year.",
        description="Invented heat & day length, with <five> strips.",
        today=f"today, {day_text(today)}",
        heat=str(end.year),
        heat_range="still to come, 8 times in 10",
        past_heat=f"the {years} years before",
        day_length="day length",
        months=MONTHS,
        note="Invented numbers. Soft edges are the uncertainty.",
    )
    strips = tuple(row(number, start) for number in range(rows))
    return SeasonChart(
        text, today, start, end, hours[0] + (hours[1] - hours[0]) * swing, heat, ranges, past, strips
    )


def texts_of(svg: bytes) -> list[str]:
    return ["".join(element.itertext()) for element in ET.fromstring(svg).iter(f"{SVG}text")]  # noqa: S314  # our own bytes


def reading_accent(png: bytes) -> NDArray[np.bool_]:
    """Return where the picture shows today's colour."""
    picture = np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), dtype=float) / 255
    return np.asarray(np.abs(picture - np.array(to_rgb(chart_sheet.ACCENT))).max(axis=2) < 0.03)


VARIETY = {
    "no row": chart(rows=0),
    "one row": chart(rows=1),
    "thirty rows": chart(rows=30),
    "southern season": chart(SOUTH),
    "no past years": chart(years=0),
    "first week of the year": chart((*NORTH[:2], date(2015, 1, 5))),
    "last day of the year": chart((*NORTH[:2], date(2015, 12, 31))),
    "a cycle from leaf fall": chart((date(2014, 11, 14), date(2015, 12, 20), date(2015, 9, 1))),
    "four months": chart((date(2015, 3, 10), date(2015, 7, 5), date(2015, 4, 1))),
    "two years": chart((date(2014, 1, 1), date(2015, 12, 31), date(2015, 4, 1))),
    "equator": chart(hours=(12.1, 12.2)),
    "polar": chart(hours=(0.0, 24.0)),
    "heat not known": replace(chart(), heat=None, heat_range=None, past_heat=None),
    "normals only": replace(chart(), heat=None),
    "a round sum under today": replace(
        chart((*NORTH[:2], date(2015, 2, 1))),
        heat=None,
        heat_range=None,
        past_heat=np.linspace([0], [1667], 365).T,
    ),
}


@cache
def svg_of(name: str) -> bytes:
    """Return a chart of the variety as SVG, drawn once."""
    return season_svg(VARIETY[name])


@pytest.mark.slow
@pytest.mark.parametrize("drawn", VARIETY.values(), ids=VARIETY)
def test_no_two_texts_meet_and_none_leaves_the_sheet(drawn: SeasonChart) -> None:
    figure = season_figure(drawn)
    figure.set_dpi(72)
    with mpl.rc_context({"text.hinting": "none"}):
        renderer = FigureCanvasAgg(figure).get_renderer()  # type: ignore[no-untyped-call]  # matplotlib's own
        boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in figure.axes[0].texts]
    assert len(boxes) >= 20
    corners = np.array([box.extents for _, box in boxes])
    assert (corners[:, :2] >= (10, 10)).all()
    assert (corners[:, 2:] <= np.subtract(figure.bbox.max, 10)).all()
    meet = (corners[:, None, :2] < corners[None, :, 2:]).all(axis=2)
    pairs = np.argwhere(np.triu(meet & meet.T, k=1))
    assert [(boxes[a][0], boxes[b][0]) for a, b in pairs] == []


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", ["thirty rows", "southern season", "no past years", "heat not known", "polar"]
)
def test_every_word_is_there_as_text(name: str) -> None:
    drawn = VARIETY[name]
    running = " ".join(texts_of(svg_of(name)))
    text = drawn.text
    wanted = [text.title, text.subtitle, text.note, text.today, text.day_length]
    wanted += [text.heat] * (drawn.heat is not None) + [text.heat_range] * (drawn.heat_range is not None)
    wanted += [text.past_heat] * (drawn.past_heat is not None and len(drawn.past_heat) > 0)
    wanted += [said for strip in drawn.rows for said in (strip.label, strip.heading, strip.sentence)]
    assert [said for said in wanted if said not in running] == []


def test_svg_names_and_describes_itself() -> None:
    root = ET.fromstring(season_svg(chart()))  # noqa: S314  # our own bytes
    # SVG 2, 5.8: title and desc come first among the children, to be read out.
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}title") == "A made-up garden, 2015"
    assert root.findtext(f"{SVG}desc") == "Invented heat & day length, with <five> strips."


def test_signs_with_a_meaning_elsewhere_stay_as_they_are() -> None:
    strip = replace(row(1, NORTH[0]), label="a $b$ <c> & 'd' \"e\" \\f", sentence="100 % & more, 2 < 3")
    texts = texts_of(season_svg(replace(chart(), rows=(strip,))))
    assert strip.label in texts
    assert strip.sentence in texts


@pytest.mark.slow
def test_text_is_large_enough_on_a_phone_and_fitted_to_any_serif() -> None:
    root = ET.fromstring(svg_of("thirty rows"))  # noqa: S314  # our own bytes
    width = float((root.get("viewBox") or "").split()[2])
    for text in root.iter(f"{SVG}text"):
        style = text.get("style") or ""
        size = re.search(r"font-size: ([\d.]+)px", style)
        assert size is not None
        assert float(size[1]) * PHONE_PX / width >= 11
        assert re.search(r"font-family: [^;]*, serif;", style)
        assert 0 < float(text.get("textLength") or 0) < width


@pytest.mark.slow
def test_bytes_are_the_same_in_any_process_whatever_the_settings(tmp_path: Path) -> None:
    settings = tmp_path / "matplotlibrc"
    settings.write_text("svg.hashsalt: other\nsvg.fonttype: path\ntext.color: green\npatch.linewidth: 5\n")
    code = (
        "import pickle, sys; from calendar_core.publishing.chart.season import season_png, season_svg\n"
        "drawn = pickle.load(sys.stdin.buffer); pages = season_svg(drawn), season_png(drawn)\n"
        "pickle.dump((*pages, 'matplotlib.pyplot' in sys.modules), sys.stdout.buffer)"
    )
    drawn = chart(rows=2)
    other = subprocess.run(
        [sys.executable, "-c", code],
        input=pickle.dumps(drawn),
        env=os.environ | {"PYTHONHASHSEED": "2", "MATPLOTLIBRC": str(settings)},
        stdout=subprocess.PIPE,
        check=True,
    ).stdout
    svg, png, pyplot = pickle.loads(other)  # noqa: S301  # our own bytes
    assert (svg, png) == (season_svg(drawn), season_png(drawn))
    assert b"dc:date" not in svg
    assert not pyplot


def test_drawing_leaves_settings_alone_and_threads_do_not_disturb_each_other() -> None:
    before = dict(mpl.rcParams)
    drawn = [chart(rows=1), chart(SOUTH, rows=1)]
    with ThreadPoolExecutor(3) as threads:
        together = list(threads.map(season_svg, drawn * 2))
    assert together == [season_svg(one) for one in drawn] * 2
    assert dict(mpl.rcParams) == before


@pytest.mark.slow
@pytest.mark.parametrize("axis", [NORTH, SOUTH])
def test_png_has_its_size_and_ink_at_today(axis: tuple[date, date, date]) -> None:
    drawn = chart(axis, rows=3)
    page = season_png(drawn)
    high = season_figure(drawn).get_size_inches()[1]
    assert Image.open(io.BytesIO(page)).size == (int(6.2 * 144), int(high * 144 + 1e-6))
    accent = reading_accent(page)
    # The line of today is the only accent lower than the words above the panel.
    below = np.flatnonzero(accent[accent.shape[0] // 2 :].any(axis=0)) / 2
    start, end, today = axis
    share = ((today - start).days + 0.5) / ((end - start).days + 1)
    assert below.mean() == pytest.approx(LEFT + share * (RIGHT - LEFT), abs=1.0)
    assert accent.sum() > 1000


def test_a_day_off_the_axis_has_no_mark() -> None:
    drawn = replace(chart(rows=2), today=date(2016, 1, 1))
    assert not reading_accent(season_png(drawn)).any()
    assert drawn.text.today not in texts_of(season_svg(drawn))


def test_no_past_years_is_the_same_as_none_given() -> None:
    assert svg_of("no past years") == season_svg(replace(VARIETY["no past years"], past_heat=None))


def test_gaps_in_past_years_are_left_open() -> None:
    drawn = chart()
    assert drawn.past_heat is not None
    past = drawn.past_heat.copy()
    past[:, :40] = np.nan
    past[3] = np.nan
    assert drawn.text.past_heat in texts_of(season_svg(replace(drawn, past_heat=past)))


def test_southern_axis_runs_from_july_to_june() -> None:
    months = [said for said in texts_of(season_svg(chart(SOUTH, rows=0))) if said in MONTHS]
    assert months == [*MONTHS[6:], *MONTHS[:6]]


def test_group_titles_stand_once_with_the_months_beneath() -> None:
    texts = texts_of(svg_of("thirty rows"))
    titles = ["Japanese maple (Acer palmatum)", "Japanese black pine", "Satsuki azalea"]
    assert [said for said in texts if said in titles] == titles
    assert texts.count("Jan") == 1 + len(titles)


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({"end": date(2015, 1, 1)}, "end 2015-01-01 must come after start 2015-01-01"),
        ({"heat": np.zeros(364)}, r"heat must have shape \(365,\), not \(364,\)"),
        ({"heat_range": np.zeros((2, 365))}, r"heat_range must have shape \(3, 365\)"),
        ({"past_heat": np.zeros((4, 366))}, r"past_heat must have shape \(4, 365\)"),
        ({"text": replace(chart().text, months=("Jan", "Feb"))}, "months must be twelve names, not 2"),
        ({"day_length_h": np.zeros(0)}, r"day_length_h must have shape \(365,\)"),
    ],
)
def test_what_does_not_fit_the_axis_is_refused(change: dict[str, object], fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        replace(chart(), **change)  # type: ignore[arg-type]  # wrong on purpose
