"""Sentences about fertilizing are plain in both units."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from calendar_core.planning.feeding.cakes import Cakes
from calendar_core.planning.feeding.dose import Product, dose
from calendar_core.planning.feeding.strength import Feeding
from calendar_core.planning.items import Reason
from calendar_core.science.tree.nutrients import ProductLabel
from calendar_core.wording.plan.feeding_text import FeedingSpeaker
from tests.wording.plain import TODAY, UNITS, is_plain, speaker

if TYPE_CHECKING:
    from calendar_core.garden.model import Units

LATER = date(2015, 7, 1)
REASONS = (
    Reason("feeding_phase", "late summer", "structure"),
    Reason("feeding_low_nitrogen"),
    Reason("feeding_weak", found=3),
    Reason("feeding_releaf", "full defoliation", TODAY),
    Reason("feeding_warm", needed=32.0, unit="degC"),
    Reason("feeding_hot", needed=35.0, unit="degC"),
    Reason("feeding_bloom", found=LATER),
    Reason("feeding_none", "recovery", "autumn"),
    Reason("feeding_later", found=LATER),
    Reason("feeding_no_season"),
)
NONE = Cakes((0, 0), (6.0, 8.0))
GIVEN = Feeding(
    TODAY, "late summer", (0.0, 75.0), (0.0, 100.0), 2.0, False, TODAY, LATER, (), None, REASONS[:5], NONE
)
HELD = replace(GIVEN, hold=REASONS[5:7], not_before=LATER, next_on=None)


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("reason", REASONS, ids=[reason.code for reason in REASONS])
def test_every_reason_is_a_sentence(reason: Reason, units: Units) -> None:
    is_plain(speaker(units).reason(reason))


@pytest.mark.parametrize("units", UNITS)
def test_strength_and_waits_are_sentences(units: Units) -> None:
    say = FeedingSpeaker(speaker(units))
    for found in (GIVEN, replace(GIVEN, day=LATER), replace(GIVEN, every_weeks=1.0, percent=(50.0, 50.0))):
        is_plain(say.strength(found, [LATER]))
        is_plain(say.strength(found, []))
        is_plain(say.less(found))
    for found in (HELD, replace(HELD, day=LATER), replace(HELD, not_before=None)):
        is_plain(say.waits(found))
    is_plain(say.unfit(25.0))


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("density", [None, 1.2])
def test_doses_are_sentences(units: Units, density: float | None) -> None:
    say, product = FeedingSpeaker(speaker(units)), Product(ProductLabel(20, 10, 20), 1.0, density)
    made = dose(GIVEN, product)
    assert made is not None
    assert say.dose(made, product, 10.0).startswith("up to ")
    for pots in (1, 3):
        is_plain(say.pots(made, product, pots, 2.0))


@pytest.mark.parametrize(
    "found",
    [
        NONE,
        Cakes((2, 4), (6.0, 6.0)),
        Cakes((2, 4), (6.0, 8.0), TODAY, LATER, date(2015, 7, 15)),
        Cakes((2, 4), (6.0, 6.0), TODAY, LATER, LATER),
        Cakes((2, 4), (6.0, 6.0), TODAY, take_off=LATER),
        Cakes((0, 0), (6.0, 6.0), TODAY, take_off=TODAY),
        Cakes((2, 4), (6.0, 6.0), TODAY),
    ],
)
def test_cakes_are_sentences(found: Cakes) -> None:
    is_plain(FeedingSpeaker(speaker()).cakes(found, TODAY))
