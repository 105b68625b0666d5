"""The desk sheet: all rows on one time axis, on the width of an A3 page, nothing on top of anything else."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date, timedelta
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.patches import Polygon
from PIL import Image

from calendar_core.planning.items import Range
from calendar_core.publishing.chart import sheet as chart_sheet
from calendar_core.publishing.chart.content import SeasonChart, Strip, StripRow
from calendar_core.publishing.chart.season import season_figure, season_png, season_svg
from tests.publishing.chart.boxes import crossings, crowding
from tests.publishing.chart.test_chart import SVG, VARIETY, chart, texts_of

START, END, TODAY = date(2015, 5, 27), date(2016, 6, 23), date(2015, 6, 24)
A3_POINTS = 420 / 25.4 * 72  # ISO 216
DESK_PX = 1600


def strip(number: int, length: int | None, caption: str) -> Strip:
    """A made-up strip; they wander over the axis and past its ends."""
    opens = START + timedelta(days=number * 37 % 395 - 8)
    come = Range(opens - timedelta(days=number % 12), opens, opens + timedelta(days=number % 15))
    if length is None:
        return Strip(come, None, 1.0, caption)
    shut = opens + timedelta(days=length)
    gone = Range(shut - timedelta(days=number % 9), shut, shut + timedelta(days=number % 17))
    return Strip(come, gone, 0.4 + number % 7 / 10, caption)


def desk(kinds: int) -> SeasonChart:
    """A made-up garden: of each kind nine stages, then twelve works of some kinds each, their trees named."""
    stages = [
        StripRow(
            "" if kind % 3 else "Tree 1, Tree 2 and the third of them",
            f"Species of the number {kind}",
            tuple(strip(kind * 9 + n, None, f"stage {n} on 12 Jan") for n in range(9)),
            part="Stages",
        )
        for kind in range(kinds)
    ]
    works = [
        StripRow(
            f"Species of the number {kind}",
            f"Look for the {work}th thing that has a long name",
            tuple(
                strip(
                    work * 31 + kind * 7 + n,
                    (14, 90, 300, 500)[(work + n) % 4],
                    f"Tree {kind}, Tree {n} and 12 more: 1 May to 3 Aug",
                )
                for n in range(1 + kind % 4)
            ),
            part="Work",
        )
        for work in range(12)
        for kind in range(work % 3, kinds, 3)
    ]
    drawn = chart((START, END, TODAY), rows=0)
    return replace(drawn, text=replace(drawn.text, heat="heat this year"), rows=(*stages, *works))


LONG = "W" * 60  # as long as a label may be, without a space
DESKS = {
    "no row": desk(0),
    "one kind": desk(1),
    "29 kinds": desk(29),
    "today at the end": replace(desk(3), today=END),
    "today off the axis": replace(desk(3), today=date(2019, 1, 1)),
    "long names": replace(
        desk(0), rows=(StripRow(LONG, LONG, (strip(3, 30, LONG), strip(4, 380, f"{LONG}: 1 May"))),)
    ),
    "polar": replace(desk(2), day_length_h=chart((START, END, TODAY), hours=(0.0, 24.0)).day_length_h),
    "heat not known": replace(desk(2), heat=None, heat_range=None, past_heat=None),
}


@pytest.mark.slow
@pytest.mark.parametrize("drawn", DESKS.values(), ids=DESKS)
def test_nothing_lies_on_anything_else(drawn: SeasonChart) -> None:
    figure = season_figure(drawn, "desk")
    assert crowding(figure) == []
    assert crossings(figure) == []


def test_a_caption_on_a_strip_would_be_found() -> None:
    figure = season_figure(desk(1), "desk")
    axes = figure.axes[0]
    left, _, bottom, top = axes.images[0].get_extent()
    axes.text(left, (top + bottom) / 2 + 3, "on it", size=9)
    axes.text(left, (top + bottom) / 2 + 3, "twice", size=9)
    assert crossings(figure)
    assert ("on it", "twice") in crowding(figure)


def test_it_is_as_wide_as_a3_and_readable_at_a_desk() -> None:
    """At 1600 pixels no letter is smaller than 12 pixels; on the printed page none than 9 points."""
    root = ET.fromstring(season_svg(desk(2), "desk"))  # noqa: S314  # our own bytes
    width = float((root.get("viewBox") or "").split()[2])
    assert width == pytest.approx(A3_POINTS, abs=0.01)
    sizes = [
        float(found[1])
        for text in root.iter(f"{SVG}text")
        if (found := re.search(r"font-size: ([\d.]+)px", text.get("style") or ""))
    ]
    assert min(sizes) >= 9
    assert min(sizes) * DESK_PX / width >= 12


def test_every_word_is_on_it_and_each_part_has_its_months() -> None:
    drawn = desk(2)
    texts = texts_of(season_svg(drawn, "desk"))
    running = " ".join(texts)
    for row in drawn.rows:
        for said in (row.heading, row.label, *(strip.caption for strip in row.strips)):
            assert all(word in running for word in said.split())
    assert texts.count("Jan") == 3  # over stages and work, at the foot
    assert [texts.count(title) for title in ("Stages", "Work")] == [1, 1]
    assert texts.count("2016") == 3


def test_the_accent_is_today_alone() -> None:
    accent = np.array(to_rgb(chart_sheet.ACCENT))
    picture = Image.open(io.BytesIO(season_png(desk(2), "desk", 72))).convert("RGB")
    inked = np.abs(np.asarray(picture, dtype=float) / 255 - accent).max(axis=2) < 0.03
    below = np.flatnonzero(inked[300:].any(axis=0))  # under the word and the panel
    assert below.size
    assert np.ptp(below) <= 8  # a line and its wedge
    other = replace(desk(2), today=date(2019, 1, 1))
    picture = Image.open(io.BytesIO(season_png(other, "desk", 72))).convert("RGB")
    assert not (np.abs(np.asarray(picture, dtype=float) / 255 - accent).max(axis=2) < 0.03).any()


def test_same_chart_same_bytes() -> None:
    assert season_svg(desk(2), "desk") == season_svg(desk(2), "desk")
    assert season_png(desk(2), "desk") == season_png(desk(2), "desk")


@pytest.mark.parametrize(
    ("axis", "years"),
    [
        ((date(2015, 5, 27), date(2016, 6, 23), date(2015, 6, 24)), ["2015", "2016"]),
        (
            (date(2015, 12, 30), date(2017, 2, 10), date(2016, 1, 26)),
            ["2016", "2017"],
        ),  # two days hold no year
        ((date(2015, 1, 1), date(2015, 12, 31), date(2015, 2, 1)), ["2015"]),
    ],
)
def test_years_stand_where_they_begin(axis: tuple[date, date, date], years: list[str]) -> None:
    drawn = chart(axis, rows=0)
    texts = texts_of(season_svg(replace(drawn, text=replace(drawn.text, heat="heat"))))
    assert [said for said in texts if said in {"2015", "2016", "2017"}] == years


@pytest.mark.parametrize("form", ["phone", "desk"])
def test_only_what_is_drawn_is_explained(form: str) -> None:
    words = {"soft": "SOFT.", "likely": "STROKE.", "pale": "PALE.", "beyond": "ARROW."}
    sure = [Range(day, day, day) for day in (date(2015, 8, 1), date(2015, 9, 1))]
    soft = Range(date(2015, 7, 20), date(2015, 8, 1), date(2015, 8, 10))
    long_ago = Range(*[date(2015, 1, 1)] * 3)
    cases = {
        "": Strip(sure[0], sure[1]),
        "SOFT.": Strip(soft, sure[1]),
        "STROKE.": Strip(sure[0]),
        "PALE.": Strip(sure[0], sure[1], 0.6),
        "ARROW.": Strip(long_ago, sure[1]),
    }
    plain = chart((START, END, TODAY), rows=0)
    for told, drawn in cases.items():
        row = StripRow("Work", "Heading", (drawn,), "1 Aug to 1 Sept")
        page = season_svg(replace(plain, text=replace(plain.text, **words), rows=(row,)), form)  # type: ignore[arg-type] # two literals
        running = " ".join(texts_of(page))
        assert [word for word in words.values() if word in running] == ([told] if told else [])


def test_the_phone_sheet_marks_what_was_open_before_the_axis() -> None:
    opens, closes = Range(*[date(2015, 4, 6)] * 3), Range(*[date(2015, 6, 25)] * 3)
    row = StripRow("Look for aphids", "Work", (Strip(opens, closes),), "6 Apr to 25 Jun")
    figures = [
        season_figure(replace(chart((start, END, TODAY), rows=0), rows=(row,)))
        for start in (START, date(2015, 4, 1))
    ]
    tips = [
        sum(
            isinstance(patch, Polygon) and patch.get_xy()[:, 0].min() < chart_sheet.MARGIN - 1
            for patch in figure.axes[0].patches
        )
        for figure in figures
    ]
    assert tips == [1, 0]
    assert crowding(season_figure(VARIETY["one row"])) == []
