"""The summary of a year as one self-contained page of HTML: this year beside the last, with a small chart a subject."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from calendar_core.publishing.sheets.bars import bars_svg, dots_svg
from calendar_core.publishing.sheets.page import rendered

if TYPE_CHECKING:
    from calendar_core.publishing.sheets.content import Paper
    from calendar_core.wording.review.summary_text import Section

TEMPLATE = "summary.html.jinja"


@dataclass(frozen=True, slots=True)
class SummarySheet:
    """What the page shows; ``this`` and ``before`` are what the years are called, ``language`` as in ``en-GB``."""

    title: str
    beside: str
    this: str
    before: str
    sections: tuple[Section, ...]
    language: str
    paper: Paper = "a4"


def summary_page(sheet: SummarySheet) -> str:
    """Return a summary as HTML; all text is escaped."""
    charts = {
        section.title: Markup(  # noqa: S704 - its words are escaped as they are drawn
            bars_svg(section.bars) if section.dots is None else dots_svg(section.dots)
        )
        for section in sheet.sections
    }
    return rendered(TEMPLATE, sheet=sheet, charts=charts)
