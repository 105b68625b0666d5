"""The page of a year as a browser prints it: one page on either paper, nothing small or pale, and charts to scale."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from calendar_core.publishing.sheets.bars import FILLED, HIGHEST, HOLLOW, bars_svg, dots_svg
from calendar_core.publishing.sheets.content import PAPERS
from calendar_core.publishing.sheets.summary_page import SummarySheet, summary_page
from calendar_core.wording.review.summary_text import MOST_LOSSES, Bar, Dots, Row, Section
from tests.publishing.sheets.printing import printed
from tests.publishing.sheets.test_page import LEAST_PT, MARGIN_PT, POINTS, Tags

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.publishing.sheets.content import Paper

LOSS = "Larch died on 20 September 2015. Roots rotted in a wet autumn. Done to it in the twelve months before: repot on 25 March, wire on 2 May, cut back on 1 June, structural pruning on 3 July and 4 more."
NAMES = ("closing, height not known", "trees that kept their vigour", "taken and severed", "trees looked at")


def sheet(paper: Paper, *, before: bool = True) -> SummarySheet:
    """Return the fullest page there can be, all invented."""
    years = (120.0, 240.0) if before else (120.0,)
    words = ("1234.5 mm", "12 h 35 min")[: len(years)]
    paces = [Row(name, "20.9 mm a year (12)", "104.9 mm a year (10)" if before else "") for name in NAMES]
    rows = [Row(name, "1 h 35 min", "12 h 35 min" if before else "") for name in NAMES]
    bars = tuple(Bar(name, years, words) for name in NAMES)
    errors = tuple(range(-30, 30))
    dots = Dots(errors * 2, errors if before else (), "foretold too early", "too late")
    note = (
        "Closing: width over time of the wounds measured half a year apart or more; in brackets how many.",
    )
    sections = (
        Section("Wounds", (*rows[:2], *paces), bars, notes=note),
        Section("Grafts", tuple(rows[:2]), bars[:2]),
        Section("Losses", tuple(rows[:1]), bars[:1], notes=(*(LOSS,) * MOST_LOSSES, "And five more.")),
        Section("Vigour", tuple(rows[:3]), bars[:3]),
        Section("Reviews", tuple(rows[:3]), bars[:2]),
        Section("Dates", (*rows, rows[0]), dots=dots),
    )
    return SummarySheet(
        "Harbour bench & Co. <b>: the year to 28 November 2015", "Beside it the year before.", "this year",
        "year before" if before else "", sections, "en-GB", paper,
    )  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("before", [True, False])
def test_the_fullest_year_goes_on_one_page(paper: Paper, before: bool, tmp_path: Path) -> None:
    (found,) = printed(summary_page(sheet(paper, before=before)), tmp_path)
    assert (found.width, found.height) == POINTS[paper]
    assert min(round(sign.size, 1) for sign in found.signs) >= LEAST_PT
    assert all(sign.black for sign in found.signs)
    assert min(sign.left for sign in found.signs) >= MARGIN_PT
    assert max(sign.right for sign in found.signs) <= found.width - MARGIN_PT
    assert "And five more." in found.text


def test_it_loads_and_runs_nothing_and_labels_are_no_tags() -> None:
    html = summary_page(sheet("a4"))
    found = Tags(html)
    assert not found.tags & {"script", "img", "link", "iframe", "object", "base", "form", "b"}
    assert not found.attributes & {"src", "href", "action", "onload"}
    assert "Harbour bench &amp; Co. &lt;b&gt;" in html


def widths(svg: str) -> list[tuple[str, float]]:
    drawn = re.findall(r'<rect [^>]*width="([\d.]+)"[^>]*(fill="\w+" stroke="black")/>', svg)
    return [(ink, float(width)) for width, ink in drawn]


def test_bars_of_one_unit_are_to_one_scale() -> None:
    bars = (
        Bar("a", (10.0, 5.0), ("10", "5")),
        Bar("b", (2.5, None), ("2.5", "")),
        Bar("c", (600.0, 0.0), ("10 h", "none"), "min"),
    )
    (first, second, third, fourth) = widths(bars_svg(bars))
    assert [ink for ink, _ in (first, second, third, fourth)] == [FILLED, HOLLOW, FILLED, FILLED]
    assert second[1] == pytest.approx(first[1] / 2)
    assert third[1] == pytest.approx(first[1] / 4)
    assert fourth[1] == first[1]
    assert bars_svg(()) == ""


def test_words_of_a_chart_are_escaped() -> None:
    assert "a &lt; b" in bars_svg((Bar("a < b", (1.0,), ("1",)),))


def test_dots_stand_at_their_days_and_on_one_another() -> None:
    svg = dots_svg(Dots((-15, 0, 0, 15), (0,) * 20, "early", "late"))
    dots = [(float(x), float(y)) for x, y in re.findall(r'cx="([\d.]+)" cy="([\d.]+)"', svg)]
    left, middle, middle_again, right = dots[:4]
    assert middle[0] - left[0] == pytest.approx(right[0] - middle[0])
    assert middle[0] == middle_again[0]
    assert middle[1] != middle_again[1]
    assert len(dots) == 4 + HIGHEST
