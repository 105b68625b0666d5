"""The text of a calendar event stands alone, and does not change from day to day."""

from __future__ import annotations

import re
from datetime import date, timedelta
from functools import cache
from itertools import product
from typing import TYPE_CHECKING

import pytest

from calendar_core.garden.state import states
from calendar_core.planning.groups import group_items, published_items
from calendar_core.wording.plan.event_text import NEAR_DAYS, REMINDER_NOTE, event_of
from calendar_core.wording.style import Style
from tests.planning.made_up import Bench, bench_on_normals, knowledge

if TYPE_CHECKING:
    from calendar_core.garden.model import Units
    from calendar_core.planning.events import ComputedEvent

TODAY = date(2015, 5, 10)
BASIS = "Dates rest on made-up weather."


@cache
def bench() -> Bench:
    made = bench_on_normals("Nagano")
    for species, aim in product(knowledge().profiles, ("structure", "refinement")):
        made.tree(f"{species}, {aim}", species, aim=aim, vigour=5)
    made.did(date(2015, 5, 1), "feeding", *(tree.label for tree in made.trees))
    return made


@cache
def events(units: Units = "metric", told_on: date = TODAY) -> tuple[ComputedEvent, ...]:
    """Events of the plan of one day, written on another."""
    made = bench()
    labels = {tree.id: tree.label for tree in made.trees}
    log = states([tree.id for tree in made.trees], made.entries, TODAY)
    items = published_items(made.plan(TODAY).items, {}, knowledge(), log)
    groups = group_items(made.garden.id, items, {})
    return tuple(event_of(group, labels, knowledge(), Style(units), told_on, BASIS) for group in groups)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_event_says_what_when_why_how_sure_and_what_to_mind(units: Units) -> None:
    assert len(events(units)) > 10
    for event in events(units):
        text = event.description
        for start in ("Trees: ", "Do: ", "When:", "Why:\n- ", "How sure: "):
            assert start in text
        assert text.endswith(REMINDER_NOTE)
        assert BASIS in text
        assert not re.search(r"[{}_]|None|nan|degC", text), text
        assert ("°C" if units == "us" else "°F") not in text
        assert event.start <= event.end


def test_cautions_stand_in_the_event() -> None:
    for event in events():
        assert "Caution: " in event.description or "Shade" not in event.summary
    decandling = next(event for event in events() if event.group.startswith("decandling"))
    assert "second flush" in decandling.description


def test_the_text_is_the_same_whenever_it_is_written() -> None:
    later = {event.uid: event for event in events(told_on=TODAY + timedelta(days=3))}
    assert all(later[event.uid].description == event.description for event in events())


def test_an_event_is_confirmed_a_fortnight_before_it_begins() -> None:
    for event in events():
        near = (event.start - TODAY).days <= NEAR_DAYS
        assert event.status == ("CONFIRMED" if near else "TENTATIVE")
    assert {event.status for event in events()} == {"CONFIRMED", "TENTATIVE"}


def test_trees_are_named_and_categories_hold_no_comma() -> None:
    for event in events():
        assert len(event.tree_ids) == len(set(event.tree_ids)) > 0
        for tree in bench().trees:
            assert (tree.id in event.tree_ids) == (tree.label in event.description)
        assert all("," not in category for category in event.categories)
