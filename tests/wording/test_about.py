"""What the program tells of itself: plain in both units, and with the figures that config/ holds."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

import pytest

from alerts.air.spread import MEMBERS
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.wording.knowledge.about import PAGES, page, values
from calendar_core.wording.style import Style
from tests.planning.made_up import knowledge
from tests.wording.plain import UNITS, is_plain

if TYPE_CHECKING:
    from calendar_core.garden.model import Units

COPIED = "    "  # begins a line that is copied to where it is used
SHARES = {"published": 0.5, "fitted": 0.1, "common practice": 0.2, "from memory": 0.04, "estimate": 0.16}


def text(topic: str, units: Units = "metric") -> str:
    style = Style(units)
    return " ".join(said for _, said in page(topic, values(knowledge(), SHARES, style), style))


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("topic", PAGES)
def test_a_page_is_plain_text_under_short_headings(topic: str, units: Units) -> None:
    style = Style(units)
    for heading, said in page(topic, values(knowledge(), SHARES, style), style):
        assert 3 < len(heading) < 40
        is_plain("\n".join(line for line in said.splitlines() if not line.startswith(COPIED)))


def test_hours_and_chances_of_warnings_are_those_of_config() -> None:
    rules = tomllib.loads((folder("config") / "warnings.toml").read_text(encoding="utf-8"))
    found = text("warnings")
    for key in ("ahead_h", "stale_h", "silence_h"):
        assert f"{rules[key]['value']} hours" in found
    assert rules["digest"]["at"].strftime("%H:%M") in found
    for level in ("danger", "caution"):
        assert f"{rules[level]['raised_from'] * 10:.0f} times in 10" in found


def test_as_many_courses_are_told_as_are_judged() -> None:
    assert Style().count(MEMBERS) == "20"  # beyond twelve a count is written in figures
    assert "Twenty courses" in text("warnings")


def test_another_rule_makes_another_text() -> None:
    rules = knowledge().warnings
    later = rules.model_copy(update={"stale_h": rules.stale_h.model_copy(update={"value": 7.0})})
    changed = values(knowledge().model_copy(update={"warnings": later}), SHARES, Style())
    said = " ".join(said for _, said in page("warnings", changed, Style()))
    assert "7 hours" in said
    assert "7 hours" not in text("warnings")


def test_shares_of_numbers_are_those_handed_in() -> None:
    found = text("numbers")
    assert "50 % are published" in found
    assert "16 % are estimates" in found


def test_a_small_share_is_not_called_none() -> None:
    few = values(knowledge(), {**SHARES, "from memory": 0.003}, Style())
    assert few["from_memory"] == "less than 1 %"
    assert values(knowledge(), {**SHARES, "from memory": 0.0}, Style())["from_memory"] == "0 %"


def test_degrees_are_the_readers() -> None:
    assert "4 °C" in text("dates")  # the base of the stage model, as in tests/oracles/stage-model.toml
    assert "39 °F" in text("dates", "us")
    assert "°C" not in text("dates", "us")
