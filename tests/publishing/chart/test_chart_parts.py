"""The parts of the season chart: soft strips and the names of curves, on invented dates."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from calendar_core.planning.items import Range
from calendar_core.publishing.chart.labels import LabelPlacer
from calendar_core.publishing.chart.sheet import (
    ACCENT,
    CURVE,
    INK,
    MUTED,
    PAPER,
    SENTENCE,
    Sheet,
    width_of,
    wrap,
)
from calendar_core.publishing.chart.strips import FAINT, SHADES_PER_DAY, stage_shade, window_shade
from calendar_core.publishing.chart.time import TimeAxis

AXIS = TimeAxis(date(2015, 1, 1), date(2015, 12, 31))


def test_stage_is_darkest_on_its_likely_day_and_ends_at_its_range() -> None:
    days = stage_shade(AXIS, Range(date(2015, 4, 2), date(2015, 4, 12), date(2015, 4, 24)))
    dark = AXIS.start + timedelta(days=int(days.argmax()) // SHADES_PER_DAY)
    inked = np.flatnonzero(days) // SHADES_PER_DAY
    assert dark == date(2015, 4, 12)
    assert AXIS.start + timedelta(days=int(inked[0])) == date(2015, 4, 2)
    assert AXIS.start + timedelta(days=int(inked[-1])) == date(2015, 4, 24)


def test_window_fades_over_opening_and_closing() -> None:
    opens = Range(date(2015, 5, 1), date(2015, 5, 11), date(2015, 5, 21))
    closes = Range(date(2015, 7, 1), date(2015, 7, 6), date(2015, 7, 31))
    shade = window_shade(AXIS, opens, closes).reshape(-1, SHADES_PER_DAY).mean(axis=1)
    on = {day: shade[(day - AXIS.start).days] for day in (opens.likely, date(2015, 6, 10), closes.likely)}
    assert list(on.values()) == pytest.approx([0.5, 1.0, 0.5], abs=0.03)
    assert shade[(opens.early - AXIS.start).days - 1] == 0
    assert shade[(closes.late - AXIS.start).days + 1] == 0


def test_a_window_is_as_dark_as_it_is_often_open() -> None:
    """It opens within 20 days and is over ten days later, each day alike: open in half of the years at most."""
    opens = Range(date(2015, 5, 1), date(2015, 5, 11), date(2015, 5, 21))
    later = Range(*(day + timedelta(days=10) for day in (opens.early, opens.likely, opens.late)))
    assert window_shade(AXIS, opens, later).max() == pytest.approx(0.5, abs=0.02)
    # Of a single day nobody knows which; it is seen all the same.
    assert window_shade(AXIS, opens, opens).max() == pytest.approx(FAINT)


def test_a_stage_seen_on_a_day_is_a_single_day() -> None:
    seen = date(2015, 4, 12)
    assert np.count_nonzero(stage_shade(AXIS, Range(seen, seen, seen))) == SHADES_PER_DAY


def test_a_name_keeps_clear_of_lines_and_other_names() -> None:
    placer, sheet = LabelPlacer((0.0, 0.0, 200.0, 100.0)), Sheet()
    x, level = np.arange(0.0, 200.0, 2.0), np.full(100, 50.0)
    placer.add_line(x, level)
    placer.add_line(x, level + 12)  # leaves room above the first only
    placer.name(sheet, "first", CURVE, x, level)
    placer.name(sheet, "second", CURVE, x, level)
    tops, bottoms = [box[1] for box in placer.boxes], [box[3] for box in placer.boxes]
    assert max(bottoms) < 50
    assert min(tops) >= 0
    placer.add_box(0.0, 0.0, 200.0, 100.0)
    placer.name(sheet, "third", CURVE, x, level)
    assert [text.get_text() for text in sheet.axes.texts] == ["first", "second"]


def test_wrapped_lines_fit_and_lose_no_word() -> None:
    said = "Last safe day about 1 September: ten weeks before first frost, the earliest of the three limits."
    lines = wrap(said, SENTENCE, 150.0)
    assert " ".join(lines) == said
    assert max(width_of(line, SENTENCE) for line in lines) <= 150.0
    assert len(lines) >= 4
    assert wrap("", SENTENCE, 150.0) == []


@pytest.mark.parametrize("colour", [INK, MUTED, ACCENT])
def test_text_stands_out_from_the_paper(colour: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: contrast of text at least 4.5, by its relative luminance."""

    def luminance(name: str) -> float:
        linear = [
            part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in to_rgb(name)
        ]
        return float(np.dot([0.2126, 0.7152, 0.0722], linear))

    assert (luminance(PAPER) + 0.05) / (luminance(colour) + 0.05) >= 4.5
