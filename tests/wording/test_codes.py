"""Every reason code that planning can give, and every anchor a profile may have, has a sentence."""

from __future__ import annotations

import ast
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import numpy as np
import pytest
from pydantic import ValidationError

import calendar_core.planning
from calendar_core.knowledge.forms.species.anchors import AirRule
from calendar_core.knowledge.words import Basis
from calendar_core.planning.items import Reason
from calendar_core.planning.seasons.axis import axis_for
from calendar_core.planning.seasons.cycle import Cycle
from calendar_core.planning.works.anchors import limits
from calendar_core.wording.messages import AGAINST, BASES, EVENTS, REASONS, UNTOLD
from calendar_core.wording.plan.fact_text import DECIDING, LATE, MOMENTS
from tests.planning.made_up import (
    air_of,
    profile_of,
    wave,
    work_of,
)
from tests.wording.plain import CLOSING, NEVER, OPENING, UNITS, is_plain, speaker

if TYPE_CHECKING:
    from collections.abc import Iterator

    from calendar_core.garden.model import Units

PLANNING = Path(calendar_core.planning.__file__).parent


def _strings(node: ast.expr) -> Iterator[str]:
    """Literal strings an expression may be: itself, or either side of a condition; an empty one is no code."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value:
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from (*_strings(node.body), *_strings(node.orelse))
    elif isinstance(node, ast.BoolOp):
        for value in node.values:
            yield from _strings(value)


@cache
def codes_in_planning(files: str = "**/*.py") -> frozenset[str]:
    """Reason codes written in planning: first argument of Reason, or the one after the work in its helpers.

    Where trees stand, the reason of a line is its ``why``, and that of no move the first argument of Never.
    """
    found = set()
    for path in PLANNING.glob(files):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        assigned = [
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name) and target.id == "code"
        ]
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
                continue
            found |= {code for word in node.keywords if word.arg == "why" for code in _strings(word.value)}
            if node.func.id == "Bound":
                found |= {code for value in node.args[3:4] for code in _strings(value)}
            place = {"Reason": 0, "Never": 0, "_reason": 0, "_of": 1, "reason_of": 1}.get(node.func.id)
            if place is None or len(node.args) <= place:
                continue
            argument = node.args[place]
            named = isinstance(argument, ast.Name) and argument.id == "code"
            for expression in assigned if named else [argument]:
                found |= set(_strings(expression))
    return frozenset(found)


def test_codes_are_found_where_they_are_written() -> None:
    # A few of every kind, so that a change of spelling in planning does not empty the check below.
    assert {
        "programme",
        "vigour_low",
        "hold",
        "no_winter",
        "stage",
        "safe_heat",
        "before_frost",
    } <= codes_in_planning()
    assert {"growth_stop_for_frost", "one_heavy_job", "interval_unknown", "over"} <= codes_in_planning()
    assert {
        "cold",
        "cool_nights",
        "cold_forecast",
        "fresh_roots_forecast",
        "wakes",
        "stands_sheltered",
        "never_hot",
    } <= codes_in_planning()
    assert {
        "kills",
        "nights_over",
        "fresh_roots",
        "season_short",
        "warm_room",
        "hot_over",
    } <= codes_in_planning("places/*.py")
    assert len(codes_in_planning()) > 60


def test_every_code_of_planning_has_a_sentence() -> None:
    missing = [
        code
        for code in codes_in_planning()
        if code not in REASONS and code not in EVENTS and f"{CLOSING}{code}" not in REASONS
    ]
    assert missing == [*UNTOLD]


def test_what_is_untold_is_a_claim_that_planning_gives_and_nothing_says() -> None:
    assert set(UNTOLD) <= codes_in_planning("works/due.py")
    assert not set(UNTOLD) & {*REASONS, *EVENTS, *DECIDING}


def test_what_decides_is_told_by_the_codes_of_planning() -> None:
    assert set(LATE) < set(DECIDING) <= codes_in_planning()
    assert set(MOMENTS) | {"calendar"} == set(EVENTS)


def test_no_sentence_is_left_over() -> None:
    moments = {
        f"air_{m}_{w}_{p}" for m, w, p in product(("night", "day"), ("first", "last"), ("above", "below"))
    }
    moments |= {
        "mean_year_above",
        "opens_shifted",
        "mean_year_below",
        "large_first",
        "small_last",
    }
    known = codes_in_planning() | moments | {"opens", "closes", "never"}
    left_over = {key for key in (*REASONS, *EVENTS) if key not in known}
    assert {key for key in left_over if key.removeprefix(OPENING).removeprefix(CLOSING) not in known} == set()


def test_every_warning_that_work_is_logged_with_has_words() -> None:
    assert {"over_budget", "not_recovered", "apart_weeks"} <= codes_in_planning("load/spacing.py")
    rooms = ("load/spacing.py", "seasons/regrowth.py", "aftercare/spared_parts.py")
    assert set(AGAINST) == {"never"}.union(*map(codes_in_planning, rooms))


def test_every_basis_has_words() -> None:
    assert set(BASES) == set(get_args(Basis))


# Anchors


AXIS = axis_for(45.0, (2015,))
STAGE = np.full((1, 1, 1), float(AXIS.index(date(2015, 9, 20))))
AIR = air_of(AXIS, wave(AXIS.start, AXIS.n_days))
AT = Cycle(
    AIR,
    profile_of({}),
    2015,
    {"leaves_hardened": STAGE, "growth_stop": STAGE, "colour": STAGE, "dormant": STAGE},
)
SAFE = {"weeks_before_first_frost": 10, "heat_left": {"base_c": 5, "sum": 600}, "releaf_weeks": 4}
NEAR_FROST = {"days": 100, "cool_summer": {"per_c": 5, "at_c": 22, "most_days": 30, "over_days": 60}}
ANCHORS: dict[str, dict[str, Any]] = {
    "stage": {"stage": "leaves_hardened"},
    "dormant": {"stage": "dormant", "days": 14},
    "week before": {"stage": "leaves_hardened", "days": -7},
    "odd days": {"stage": "leaves_hardened", "days": 10},
    "half a day": {"stage": "leaves_hardened", "days": 2.5},
    "heat": {"stage": "leaves_hardened", "heat": {"base_c": 5, "sum": 100}},
    "heat and days": {"stage": "leaves_hardened", "heat": {"base_c": 5, "sum": 100}, "days": -14},
    "light": {"day_length_below_h": 14},
    "light in halves": {"day_length_below_h": 13.5, "days": 21},
    "frost": {"before_first_frost": {"days": 42}},
    "frost itself": {"before_first_frost": {"days": 0}},
    "frost, cool": {"before_first_frost": NEAR_FROST},
    "calendar": {"calendar": "05-10"},
    "heat since": {"heat_since": {"start": "03-01", "base_c": 10, "sum": 150}},
    "heat since, by a sine": {"heat_since": {"start": "03-01", "base_c": 10, "sum": 150, "method": "sine"}},
    "mean year up": {"mean_year": {"passes": "above", "at_c": 18}, "days": -14},
    "mean year down": {"mean_year": {"passes": "below", "at_c": 18}},
}
AIRS = [
    {"measure": measure, "passes": passes, "which": which, "at_c": -4 if measure == "night" else 30}
    for measure, passes, which in product(("night", "day"), ("above", "below"), ("first", "last"))
]


def sentences(anchor: dict[str, Any], side: str, units: Units) -> list[str]:
    """Sentences of every moment an anchor stands for, as what opens or closes a window, or never does."""
    work = work_of(closes=[anchor]) if side == CLOSING else work_of(opens=anchor)
    found = limits(work.closes[0] if side == CLOSING else work.opens, work, AT)
    return [
        speaker(units).reason(
            replace(limit.reason, code=f"{side}{limit.reason.code}", found=date(2015, 9, 20))
        )
        for limit in found
    ]


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("side", [OPENING, CLOSING])
@pytest.mark.parametrize("anchor", ANCHORS.values(), ids=ANCHORS)
def test_every_anchor_has_a_sentence(anchor: dict[str, Any], side: str, units: Units) -> None:
    for text in sentences(anchor, side, units):
        is_plain(text)


@pytest.mark.parametrize("units", UNITS)
def test_every_limit_of_the_last_safe_day_has_a_sentence(units: Units) -> None:
    told = sentences({"last_safe_day": SAFE}, CLOSING, units)
    assert len(set(told)) == 3
    for text in told:
        is_plain(text)


def test_a_last_safe_day_that_opens_is_refused() -> None:
    with pytest.raises(ValidationError, match="last safe day closes"):
        work_of(opens={"last_safe_day": SAFE})


@pytest.mark.parametrize(
    "rule", AIRS, ids=lambda rule: " ".join((rule["measure"], rule["passes"], rule["which"]))
)
def test_every_day_and_night_a_profile_may_name_has_a_sentence_or_is_refused(rule: dict[str, Any]) -> None:
    if (rule["measure"], rule["passes"]) in (("night", "above"), ("day", "below")):
        with pytest.raises(ValidationError, match="nights below and days above"):
            AirRule.model_validate(rule)
        return
    for side, units in product((OPENING, CLOSING, NEVER), UNITS):
        for text in sentences({"air": rule}, side, units):
            is_plain(text)


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("anchor", ANCHORS.values(), ids=ANCHORS)
def test_what_a_never_opening_window_waits_for_is_named(anchor: dict[str, Any], units: Units) -> None:
    for text in sentences(anchor, NEVER, units):
        is_plain(text)
        assert text.startswith("What opens it, ")


def test_heat_that_never_comes_names_its_stage() -> None:
    (text,) = sentences(ANCHORS["heat"], NEVER, "metric")
    assert text == "What opens it, 100 °C·d above 5 °C of heat after leaves hardened, does not come here."


def test_growth_stop_that_stands_in_for_frost_and_never_comes_is_named() -> None:
    reason = Reason("never_growth_stop_for_frost", days=-42.0)
    is_plain(speaker().reason(reason))


def test_what_never_comes_is_not_earlier_in_a_cool_summer() -> None:
    # A pine on the equator: no frost, no short days, and its decandling counts back from either.
    reason = Reason("never_growth_stop_for_frost", subject="cool summer", days=-130.0)
    assert "cool" not in speaker().reason(reason)
