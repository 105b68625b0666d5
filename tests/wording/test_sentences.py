"""Every reason that planning can give has a sentence, and none shows the inside of the program."""

from __future__ import annotations

import ast
import re
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
from calendar_core.garden.model import AIMS, SIZES
from calendar_core.planning.anchors import Cycle, limits
from calendar_core.planning.axis import axis_for
from calendar_core.planning.items import Range, Reason
from calendar_core.species.schema import Air, Basis
from calendar_core.weather.traces import WeatherKnown
from calendar_core.wording.messages import BASES, EVENTS, REASONS, WEATHER, WEATHER_SHORT
from calendar_core.wording.sentences import Speaker, tree_list
from calendar_core.wording.style import Style
from tests.planning.made_up import (
    Bench,
    air_of,
    bench_on_normals,
    knowledge,
    profile_of,
    wave,
    work_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from calendar_core.garden.model import Units
    from calendar_core.planning.items import Plan

TODAY = date(2015, 5, 10)
UNITS: tuple[Units, ...] = ("metric", "us")
PLANNING = Path(calendar_core.planning.__file__).parent
CLOSING, OPENING = "closes_", "opens_"


def speaker(units: Units = "metric", today: date = TODAY) -> Speaker:
    return Speaker(Style(units), today, knowledge().operations, knowledge().sources)


def is_plain(text: str) -> None:
    """A sentence of running text: nothing unfilled, no codes, no units of the inside, no gaps."""
    assert text
    assert not re.search(r"[{}_]|None|\bnan\b|\binf\b|degC|\(\)|  | [.,;:]|\.\.|\d\.\d{3}", text), text
    assert text.strip() == text
    assert text[0].isupper() or text[0].isdigit(), text
    assert text.endswith((".", "wish", "--anyway", "log")), text


# Codes


def _strings(node: ast.expr) -> Iterator[str]:
    """Literal strings an expression may be: itself, or either side of a condition."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from (*_strings(node.body), *_strings(node.orelse))


@cache
def codes_in_planning() -> frozenset[str]:
    """Reason codes written in planning: first argument of Reason, or the one after the work in its helpers."""
    found = set()
    for path in PLANNING.glob("*.py"):
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
            place = {"Reason": 0, "_reason": 0, "_of": 1}.get(node.func.id)
            if place is None or len(node.args) <= place:
                continue
            argument = node.args[place]
            named = isinstance(argument, ast.Name) and argument.id == "code"
            for expression in assigned if named else [argument]:
                found |= set(_strings(expression))
    return frozenset(found)


def test_codes_are_found_where_they_are_written() -> None:
    # A few of every kind, so that a change of spelling in planning does not empty the check below.
    assert {"programme", "vigour_low", "hold", "no_winter", "stage", "safe_heat", "before_frost"} <= codes_in_planning()
    assert {"growth_stop_for_frost", "one_heavy_job", "interval_unknown", "over"} <= codes_in_planning()
    assert len(codes_in_planning()) > 30


def test_every_code_of_planning_has_a_sentence() -> None:
    missing = [
        code
        for code in codes_in_planning()
        if code not in REASONS and code not in EVENTS and f"{CLOSING}{code}" not in REASONS
    ]
    assert missing == []


def test_no_sentence_is_left_over() -> None:
    moments = {f"air_{m}_{w}_{p}" for m, w, p in product(("night", "day"), ("first", "last"), ("above", "below"))}
    moments |= {"mean_year_above", "mean_year_below", "stands_open", "stands_sheltered", "large_first", "small_last"}
    known = codes_in_planning() | moments | {"opens", "closes"}
    left_over = {key for key in (*REASONS, *EVENTS) if key not in known}
    assert {key for key in left_over if key.removeprefix(OPENING).removeprefix(CLOSING) not in known} == set()


def test_every_basis_has_words() -> None:
    assert set(BASES) == set(get_args(Basis))


# Anchors


AXIS = axis_for(45.0, (2015,))
STAGE = np.full((1, 1, 1), float(AXIS.index(date(2015, 9, 20))))
AIR = air_of(AXIS, wave(AXIS.start, AXIS.n_days))
AT = Cycle(AIR, profile_of({}), 2015, {"leaves_hardened": STAGE, "growth_stop": STAGE, "colour": STAGE, "dormant": STAGE})
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
    "mean year up": {"mean_year": {"passes": "above", "at_c": 18}, "days": -14},
    "mean year down": {"mean_year": {"passes": "below", "at_c": 18}},
}
AIRS = [
    {"measure": measure, "passes": passes, "which": which, "at_c": -4 if measure == "night" else 30}
    for measure, passes, which in product(("night", "day"), ("above", "below"), ("first", "last"))
]
BUNDLED_AIRS = {("night", "below", "first"), ("night", "below", "last"), ("day", "above", "first"), ("day", "above", "last")}


def sentences(anchor: dict[str, Any], side: str, units: Units) -> list[str]:
    """Sentences of every moment an anchor stands for, as a window's opening or closing."""
    work = work_of(opens=anchor, closes=[anchor])
    found = limits(work.opens, work, AT)
    return [
        speaker(units).reason(replace(limit.reason, code=f"{side}{limit.reason.code}", found=date(2015, 9, 20)))
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


@pytest.mark.xfail(reason="a profile may open with the last safe day, which has no sentence")
def test_a_last_safe_day_that_opens_has_a_sentence_or_is_refused() -> None:
    try:
        told = sentences({"last_safe_day": SAFE}, OPENING, "metric")
    except ValidationError:
        return
    for text in told:
        is_plain(text)


def _air(rule: dict[str, Any]) -> Any:
    kind = (rule["measure"], rule["passes"], rule["which"])
    marks = [] if kind in BUNDLED_AIRS else [pytest.mark.xfail(reason="a profile may say so, and there is no sentence")]
    return pytest.param(rule, id=" ".join(kind), marks=marks)


@pytest.mark.parametrize("rule", [_air(rule) for rule in AIRS])
def test_every_day_and_night_a_profile_may_name_has_a_sentence_or_is_refused(rule: dict[str, Any]) -> None:
    try:
        Air.model_validate(rule)
    except ValidationError:
        return
    for side, units in product((OPENING, CLOSING), UNITS):
        for text in sentences({"air": rule}, side, units):
            is_plain(text)


def test_what_a_never_opening_window_waits_for_is_named() -> None:
    for subject, needed, unit in (
        ("dormant", None, ""),
        ("before_frost", None, ""),
        ("growth_stop_for_frost", None, ""),
        ("day_length", 14.0, "h"),
        ("air_night_first_below", -4.0, "degC"),
        ("air_day_last_above", 30.0, "degC"),
        ("mean_year_above", 18.0, "degC"),
    ):
        for units in UNITS:
            reason = Reason("never_opens", subject=subject, needed=needed, unit=unit)
            is_plain(speaker(units).reason(reason))


@pytest.mark.xfail(reason="the stage after which heat was to come is lost: 'of heat after )'")
def test_heat_that_never_comes_names_its_stage() -> None:
    text = speaker().reason(
        Reason("never_opens", subject="stage_heat", needed=100.0, unit="degC d above 5 degC")
    )
    is_plain(text)
    assert "after )" not in text


# Whole plans


@cache
def crowded() -> Plan:
    """Every species in every aim, size and strength, with a log, so that most reasons turn up."""
    bench = bench_on_normals("Nagano")
    for species, aim in product(knowledge().profiles, AIMS):
        for number, size in enumerate(SIZES):
            bench.tree(f"{species} {aim} {size}", species, aim=aim, size=size, vigour=(2, 4, 5)[number])
    labels = [tree.label for tree in bench.trees]
    _busy(bench, labels)
    return bench.plan(TODAY)


def _busy(bench: Bench, labels: list[str]) -> None:
    bench.did(date(2015, 4, 2), "repot", *labels[::3])
    bench.did(date(2011, 4, 2), "repot", *labels[1::4])
    bench.did(date(2014, 4, 2), "repot", *labels[2::4])
    bench.did(date(2014, 6, 20), "full defoliation", *labels[::5])
    bench.did(date(2015, 5, 3), "feeding", *labels[::2])
    bench.did(date(2015, 4, 25), "wire", *labels[::7])
    for operation in ("full defoliation", "structural prune", "decandling"):
        bench.write(TODAY, "wish", *labels[::2], operation=operation, cycle=None)
    plan = bench.plan(TODAY)
    for number, item in enumerate(plan.items[:40]):
        label = next(tree.label for tree in bench.trees if tree.id == item.tree_id)
        answer = {"answer": "put off", "until": "2015-06-05"} if number % 2 else {"answer": "not this cycle"}
        bench.write(TODAY, "answer", label, item=str(item.id), **answer)


def told() -> set[Reason]:
    plan = crowded()
    return {reason for one in (*plan.items, *plan.not_planned) for reason in one.reasons}


def test_most_reasons_turn_up_in_the_plan_of_a_busy_garden() -> None:
    seen = {reason.code for reason in told()}
    never_here = {"opens", "closes", "opens_calendar", "closes_calendar", "no_winter", "closes_safe_frost", "closes_safe_heat"}
    assert len(set(REASONS) - never_here - seen) <= 8, set(REASONS) - never_here - seen


@pytest.mark.parametrize("units", UNITS)
def test_every_reason_of_a_busy_garden_is_a_sentence(units: Units) -> None:
    say = speaker(units)
    for reason in told():
        is_plain(say.reason(reason))


@pytest.mark.xfail(reason="notes that name a difference, or the unit without a number, keep the inside's unit")
@pytest.mark.parametrize("units", UNITS)
def test_what_numbers_rest_on_is_plain(units: Units) -> None:
    say = speaker(units)
    for reason in told():
        if text := say.basis(reason):
            assert not re.search(r"[{}]|None|degC", text), text


@pytest.mark.parametrize("units", UNITS)
def test_windows_are_told_in_one_line(units: Units) -> None:
    for item in crowded().items:
        for text in (speaker(units).window(item), Style(units).text(item.how)):
            is_plain(text)


def test_in_us_units_no_celsius_is_left_and_in_metric_no_fahrenheit() -> None:
    both = {units: [speaker(units).reason(reason) for reason in told()] for units in UNITS}
    assert not [text for text in both["us"] if "°C" in text]
    assert not [text for text in both["metric"] if "°F" in text]
    assert [text for text in both["us"] if "°F" in text]
    for caution in knowledge().cautions.values():
        assert "°C" not in Style("us").text(caution.text)
        assert "degC" not in Style("us").text(caution.text)


def shown_texts() -> Iterator[str]:
    """Texts of config/ that a grower reads: what to do, signs, cautions, and what numbers rest on."""
    for profile in knowledge().profiles.values():
        for work in profile.work:
            yield from (work.how, work.note or "", *(hold.note or "" for hold in work.holds))
        for stage in profile.stages.values():
            yield from (stage.sign, stage.note or "")
    yield from (caution.text for caution in knowledge().cautions.values())


@pytest.mark.xfail(reason="of two temperatures with one unit only the second is turned: 'between -4 and +39 °F'")
def test_both_ends_of_a_range_of_temperatures_are_turned() -> None:
    number = r"[-+]?\d+(?:\.\d+)?"
    ranges = re.compile(rf"{number} (?:to|and|or) {number} degC")
    assert [match[0] for text in shown_texts() for match in ranges.finditer(text)] == []


def test_stage_and_operation_names_stand_in_plain_words() -> None:
    say = speaker()
    assert say.reason(Reason("after_stage", subject="needles_emerging")) == "Not before needles emerging."
    done = Reason("same_cycle", subject="repot", found=date(2015, 3, 10))
    assert say.reason(done) == "Not in the same cycle as repot on 10 March."


# Ranges and what the weather rests on


@pytest.mark.parametrize(
    ("today", "start"),
    [(date(2015, 1, 1), "Opens about 12 April"), (date(2015, 4, 14), "Likely open"), (date(2015, 6, 1), "Open since about 12 April")],
)
def test_an_opening_is_ahead_likely_behind_or_behind(today: date, start: str) -> None:
    spring = Range(date(2015, 4, 2), date(2015, 4, 12), date(2015, 4, 24))
    item = replace(crowded().items[0], opens=spring, closes=Range(*[date(2015, 7, 1)] * 3))
    assert speaker(today=today).window(item).startswith(start)


def test_a_likely_date_has_its_range_unless_it_is_sure() -> None:
    say = speaker()
    spring = Range(date(2015, 4, 2), date(2015, 4, 12), date(2015, 4, 24))
    assert say.likely(spring) == "12 April (8 times in 10: 2 to 24 April)"
    assert say.likely(Range(*[date(2015, 4, 12)] * 3)) == "12 April"
    winter = Range(date(2015, 12, 20), date(2015, 12, 29), date(2016, 1, 9))
    assert say.likely(winter) == "29 December (8 times in 10: 20 December to 9 January 2016)"


@pytest.mark.parametrize("kind", WEATHER)
def test_what_ranges_rest_on(kind: Any) -> None:
    assert set(WEATHER) == set(WEATHER_SHORT)
    known = WeatherKnown(kind, 4, date(2015, 5, 9), "Nagano", 12.0)
    for text in (speaker().weather(known, 30), speaker().weather_short(known)):
        assert not re.search(r"[{}]|None", text), text


@pytest.mark.parametrize(
    ("labels", "most", "text"),
    [(["A"], 6, "A"), (["A", "B"], 6, "A and B"), (list("ABC"), 2, "A, B and 1 more"), (list("ABC"), 3, "A, B and C")],
)
def test_lists_of_trees(labels: list[str], most: int, text: str) -> None:
    assert tree_list(labels, most) == text
