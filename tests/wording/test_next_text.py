"""What is said of a job's last day: the safe one where there is one, else that it may come earlier, or is late."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from calendar_core.planning.items import Range
from calendar_core.planning.review.next_year import NextYear, SoilSigns
from calendar_core.planning.review.supplies import Fertilizer, Paste, PotToBuy, Soil, Supplies, WireRoll
from calendar_core.wording.review.next_text import NextSpeaker
from tests.planning.review.test_next_year import TODAY, bench_of, item, year
from tests.wording.plain import UNITS, is_plain, speaker

BENCH = bench_of(2)
TREE = BENCH.trees[1].id
TELLS = NextSpeaker(speaker(today=TODAY), {TREE: "Maple 1"})
NOTHING = Supplies((), (), (), Fertilizer((0, 0), 0, 0, 0), Paste(0, 0), ())


def jobs(found: NextYear, tells: NextSpeaker = TELLS) -> list[str]:
    return [text for _, lines in tells.weeks(found) for text in lines]


@pytest.mark.parametrize(
    ("safe", "last_day"),
    [
        (110, "last safe day 19 March 2016"),
        (103, "last safe day 12 March 2016"),
        (101, "by 18 March 2016, and it may open as early as 29 February 2016: watch for it"),
        (-3, "its last safe day was 27 November, so as soon as can be"),
    ],
)
def test_the_last_day_is_told_as_it_is_known(safe: int, last_day: str) -> None:
    """It likely opens on 12 March, a Saturday with an hour, and in one year of ten by 29 February."""
    made = item(BENCH, 1, first=103, last=120)
    early, safe_day = made.opens.likely - timedelta(days=12), TODAY + timedelta(days=safe)
    unsure = replace(
        made,
        opens=replace(made.opens, early=early),
        closes=Range(safe_day, made.closes.likely, made.closes.late),
    )
    (text,) = jobs(year(BENCH, unsure))
    assert text == f"Maple 1: repot, 45 min; {last_day}."


def test_signs_of_the_soil_stand_beside_its_repotting_or_by_themselves() -> None:
    found = replace(year(BENCH, item(BENCH, 1)), soil=(SoilSigns(TREE, 95.0, ("roots",)),))
    assert jobs(found)[0].endswith("Drained in 95 s, roots lift it or leave the pot.")
    assert TELLS.soil(found) == []
    (text,) = TELLS.soil(replace(found, jobs=()))
    assert text.startswith("Maple 1: drained in 95 s, roots lift it or leave the pot.")


@pytest.mark.parametrize("units", UNITS)
def test_all_that_may_be_said_is_plain(units: str) -> None:
    tells = NextSpeaker(speaker("us" if units == "us" else "metric", TODAY), {TREE: "Maple 1"})
    bought = Supplies(
        (Soil("conifer", 3.3, {"akadama": 1.1, "pumice": 1.1, "lava": 1.1}, 1, 1),),
        (
            WireRoll(2, 3, (1.3, 1.5), 1),
            WireRoll(3, 1, (0.0, 0.0), 1),
            WireRoll(None, 1, (0.0, 0.0), 1),
        ),
        (PotToBuy(TREE, None), PotToBuy(TREE, 2.0)),
        Fertilizer((1.2, 2.5), 12.0, 1, 1),
        Paste(2, 1),
        (),
    )
    lines = tells.supplies(bought)
    assert len(lines) == 7
    for text in (*lines, *tells.supplies(replace(NOTHING, fertilizer=Fertilizer((0, 0), 0, 0, 2)))):
        is_plain(text)
    assert tells.supplies(NOTHING) == ["Nothing."]
