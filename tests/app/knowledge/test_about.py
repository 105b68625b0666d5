"""``about``: the program's own pages, read without a garden, and in the units of one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from calendar_core.app.knowledge.audit import Audit, shares_of_all
from calendar_core.app.knowledge.outlook import outlook
from calendar_core.knowledge.profiles.numbers import shares
from calendar_core.wording.knowledge.about import PAGES
from tests.app.test_bad_input import assert_refused

if TYPE_CHECKING:
    from pathlib import Path

    from tests.app.conftest import Program


def test_without_a_page_it_lists_them(leafclock: Program) -> None:
    answer = leafclock("about")
    assert answer.status == 0
    assert [line.strip() for line in answer.out.splitlines() if line.startswith("  ")] == [
        f"leafclock about {topic}" for topic in PAGES
    ]


@pytest.mark.parametrize("topic", PAGES)
def test_a_page_needs_no_garden_and_makes_none(leafclock: Program, folder: Path, topic: str) -> None:
    answer = leafclock("about", topic)
    assert (answer.status, answer.err) == (0, "")
    assert len(answer.out.splitlines()) > 15
    assert max(len(line) for line in answer.out.splitlines()) <= 100
    assert list(folder.iterdir()) == []


def test_the_units_are_those_of_the_garden(leafclock: Program) -> None:
    assert leafclock("start", "--place", "Seattle", "--trees", "black pine", "--units", "us").status == 0
    assert "39 °F" in leafclock("about", "dates").out


def test_the_shares_are_those_of_the_audit() -> None:
    audit = Audit(outlook("Kyoto", None, None, None), None, quiet=True)
    every = [number for found in audit.numbers.values() for number in found]
    assert shares_of_all() == shares(every)


def test_a_page_that_is_not_there_is_refused(leafclock: Program) -> None:
    assert_refused(
        leafclock("about", "bonsai"),
        "no page 'bonsai'; right would be one of: dates, warnings, numbers, serving",
    )
