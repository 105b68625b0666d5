"""What speaks against work on a day, told before a cut and by what-if. The trees are invented; their windows are config's."""

from __future__ import annotations

import pytest

from tests.app.conftest import DAY, Program, run

AZALEA, PINE, MAPLE = "Satsuki azalea 1", "Japanese black pine 1", "Japanese maple 1"


def against(tree: str, operation: str, on: str) -> str:
    """Return in one line what the program tells of work on a day of 2015."""
    said = run("what-if", "--tree", tree, "--do", operation, "--on", on, "--today", DAY)
    assert (said.status, said.err) == (0, "")
    return " ".join(said.out.split())


def test_pruning_an_azalea_long_after_bloom_is_out_of_season(garden: Program) -> None:
    assert f"Against it, {AZALEA}: Not its season. Opens about" in against(
        AZALEA, "prune after bloom", "2015-09-20"
    )
    assert "Against it" not in against(AZALEA, "prune after bloom", "2015-06-28")


def test_a_pine_of_too_little_vigour_is_not_decandled(garden: Program) -> None:
    garden("tree", "change", PINE, "--vigour", "2", "--aim", "refinement")
    assert f"Against it, {PINE}: Vigour 2 is too low" in against(PINE, "decandling", "2015-07-05")
    told = " ".join(garden("before", PINE, "decandling").out.split())
    assert "Against it today - Vigour 2 is too low" in told
    assert "speaks against it" not in told


def test_what_a_species_is_not_known_to_bear_is_said(garden: Program) -> None:
    assert f"Against it, {PINE}: Cut back is not among the works known for a Japanese black pine." in against(
        PINE, "cut back", "2015-06-25"
    )


@pytest.mark.parametrize("operation", ["look", "feeding"])
def test_nothing_is_said_of_work_without_a_season_or_in_it(garden: Program, operation: str) -> None:
    assert "Against it" not in against(MAPLE, operation, "2015-06-30")


def test_a_window_that_is_unlikely_is_told_as_such(garden: Program) -> None:
    """In Seattle a fig is warm enough for new roots in few years, and never in January."""
    assert "Not its season. Opens about" in against("Tropical fig 1", "repot", "2016-01-15")


def test_without_a_graft_there_is_none_to_sever(garden: Program) -> None:
    assert "No graft of this tree is followed." in against(MAPLE, "sever graft", "2015-06-30")


@pytest.mark.slow
def test_leaves_are_not_taken_before_a_hot_day() -> None:
    """The station that the demo's hours are made of had 35.6 degC on 11 August 2014 (NOAA daily data, in demo/)."""
    assert run("demo", "--out", "demo", "--today", "2014-08-10").status == 0
    told = run(
        "before", "Maple 3", "partial defoliation", "--db", "demo/garden.db", "--today", "2014-08-10"
    ).out
    assert "36 °C is forecast for 11 August. Bared bark" in " ".join(told.split())
    where = ("--db", "demo/garden.db", "--today", "2014-08-10")
    assert "Partial defoliation" not in run("due", *where).out.partition("Coming")[0]
    why = " ".join(run("why", "Maple 3", "partial defoliation", *where).out.split())
    assert "waits until the heat is over: up to 11 August the forecast goes above 35 °C" in why
    cool = run(
        "before", "Maple 3", "partial defoliation", "--db", "demo/garden.db", "--today", "2014-08-13"
    ).out
    assert "is forecast for" not in cool


def test_before_a_cut_the_last_one_is_told(garden: Program) -> None:
    assert garden("log", MAPLE, "cut back", "2015-06-20").status == 0
    assert "Last done on 20 June." in garden("before", MAPLE, "cut back").out


@pytest.mark.slow
def test_a_graft_is_severed_on_measurements_not_on_a_date(garden: Program) -> None:
    garden("part", "add", MAPLE, "graft", "low left", "2014-03-10")
    assert f"Against it, {MAPLE}: low left: It was never measured" in against(
        MAPLE, "sever graft", "2015-06-30"
    )
    for day, exit_mm in (("2015-05-20", 5.4), ("2015-06-20", 5.8)):
        assert garden("measure", MAPLE, "low left", "entry=4.2", f"exit={exit_mm}", "--on", day).status == 0
    assert "Against it" not in against(MAPLE, "sever graft", "2015-06-30")
    due = " ".join(garden("due").out.split())
    assert f"The graft may be severed: {MAPLE} (low left) clearly thicker on two looks" in due
