"""Foliage by stages and by defoliation: the stages' order is that of the BBCH scale (Meier 2018)."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import uuid4

import pytest

from calendar_core.app.shell.session import knowledge
from calendar_core.garden.state import Done, TreeState
from calendar_core.planning.items import Range, StageDate
from calendar_core.planning.seasons.foliage import foliage_on, weeks_since_opened, weeks_since_roots

KNOWN = knowledge()


def stage(name: str, *day: int, share: float = 1.0) -> StageDate:
    on = date(*day)
    return StageDate(
        name, None, day[0], Range(on - timedelta(days=9), on, on + timedelta(days=9)), share, False, ""
    )


MAPLE = (
    stage("bud_swell", 2015, 3, 5),
    stage("bud_break", 2015, 3, 22),
    stage("leaves_present", 2015, 4, 2),
    stage("leaves_hardened", 2015, 5, 30),
    stage("colour", 2015, 11, 2),
    stage("leaf_fall", 2015, 11, 20),
    stage("bud_swell", 2016, 3, 8),
)
PINE = (
    stage("bud_swell", 2015, 3, 20),
    stage("candles_extending", 2015, 4, 15),
    stage("needles_open", 2015, 6, 20),
    stage("winter_rest", 2015, 11, 25),
)


@pytest.mark.parametrize(
    ("day", "maple", "pine"),
    [
        ((2015, 2, 1), "none", "hard"),
        ((2015, 3, 25), "buds", "hard"),
        ((2015, 4, 20), "new", "new"),
        ((2015, 6, 24), "hard", "hard"),
        ((2015, 10, 20), "hard", "hard"),
        ((2015, 11, 10), "none", "hard"),
        ((2015, 12, 24), "none", "hard"),
        ((2016, 3, 9), "buds", "hard"),
    ],
)
def test_a_year(day: tuple[int, int, int], maple: str, pine: str) -> None:
    for stages, species, expected in ((MAPLE, "acer-palmatum", maple), (PINE, "pinus-thunbergii", pine)):
        profile = KNOWN.profiles[species]
        assert foliage_on(date(*day), stages, TreeState(), profile, KNOWN.exposure) == expected


@pytest.mark.parametrize(
    ("day", "stop", "expected"),
    [  # common practice: growers let the first light frosts come on leaves that are about to colour
        ((2015, 10, 1), (2015, 9, 18), "hard"),
        ((2015, 10, 15), (2015, 9, 18), "hard"),
        ((2015, 10, 20), (2015, 9, 18), "falling"),
        ((2015, 11, 1), (2015, 9, 18), "falling"),
        ((2015, 11, 3), (2015, 9, 18), "none"),
        ((2015, 10, 20), (2015, 10, 25), "hard"),
        ((2015, 10, 26), (2015, 10, 25), "falling"),
    ],
)
def test_once_growth_has_stopped_and_colour_is_near_leaves_are_about_to_fall(
    day: tuple[int, int, int], stop: tuple[int, int, int], expected: str
) -> None:
    stages, profile = (*MAPLE, stage("growth_stop", *stop)), KNOWN.profiles["acer-palmatum"]
    assert foliage_on(date(*day), stages, TreeState(), profile, KNOWN.exposure) == expected


def test_late_new_leaves_are_not_about_to_fall() -> None:
    stages, state = (*MAPLE, stage("growth_stop", 2015, 9, 18)), TreeState()
    state.done.append(Done("full defoliation", date(2015, 9, 8), uuid4()))
    found = foliage_on(date(2015, 10, 25), stages, state, KNOWN.profiles["acer-palmatum"], KNOWN.exposure)
    assert found == "new"


def test_evergreen_leaves_are_never_about_to_fall() -> None:
    stages = (*PINE, stage("growth_stop", 2015, 9, 18), stage("colour", 2015, 11, 2))
    for species in ("pinus-thunbergii", "rhododendron-indicum"):
        profile = KNOWN.profiles[species]
        assert foliage_on(date(2015, 10, 25), stages, TreeState(), profile, KNOWN.exposure) == "hard"


def test_a_fig_always_has_leaves() -> None:
    found = foliage_on(date(2015, 1, 1), (), TreeState(), KNOWN.profiles["ficus-microcarpa"], KNOWN.exposure)
    assert found == "hard"


def test_a_stage_that_hardly_comes_changes_nothing() -> None:
    stages = (*MAPLE[:3], stage("leaves_hardened", 2015, 5, 30, share=0.3))
    found = foliage_on(date(2015, 7, 1), stages, TreeState(), KNOWN.profiles["acer-palmatum"], KNOWN.exposure)
    assert found == "new"


def test_after_defoliation_there_are_no_leaves_then_new_ones() -> None:
    """Three to four weeks to new leaves, five to seven more until they are hard: the profile's own, common practice."""
    profile, state = KNOWN.profiles["acer-palmatum"], TreeState()
    state.done.append(Done("full defoliation", date(2015, 6, 10), uuid4()))
    days = {3: "none", 30: "new", 120: "hard", 165: "none"}
    for later, expected in days.items():
        day = date(2015, 6, 10) + timedelta(days=later)
        assert foliage_on(day, MAPLE, state, profile, KNOWN.exposure) == expected


def test_weeks_are_counted_from_the_last_work_of_a_kind() -> None:
    state = TreeState()
    assert weeks_since_roots(date(2015, 6, 24), state, KNOWN.operations) is None
    for operation, on in (
        ("repot", date(2014, 3, 1)),
        ("repot", date(2015, 6, 10)),
        ("pinch", date(2015, 6, 20)),
    ):
        state.done.append(Done(operation, on, uuid4()))
    assert weeks_since_roots(date(2015, 6, 24), state, KNOWN.operations) == 2.0
    assert weeks_since_roots(date(2015, 6, 9), state, KNOWN.operations) == pytest.approx(66.4, abs=0.1)


@pytest.mark.parametrize(
    ("operation", "share", "opens"),
    [
        ("partial defoliation", None, True),
        ("full defoliation", None, True),
        ("pinch", None, False),  # a tip: the crown stays as it was
        ("needle pulling", None, False),
        ("cut back", 0.2, False),
        ("cut back", 0.6, True),
        ("wire", None, False),
    ],
)
def test_only_work_that_bares_inner_leaves_opens_a_crown(
    operation: str, share: float | None, opens: bool
) -> None:
    state = TreeState()
    state.done.append(Done(operation, date(2015, 6, 10), uuid4(), share=share))
    found = weeks_since_opened(date(2015, 6, 24), state, KNOWN.operations, KNOWN.spacing)
    assert found == (2.0 if opens else None)
