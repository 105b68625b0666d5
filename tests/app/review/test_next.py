"""``review next`` in made-up gardens: jobs on weeks, what is bought, and gardens of which little is known."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import uuid5

import pytest

from calendar_core.app.review.next_year import year_ahead
from calendar_core.app.review.summary import summary
from tests.app.conftest import run
from tests.app.review.two_years import TODAY, WEAK, stored
from tests.app.stored_bench import keep, opened
from tests.planning.made_up import ROOT, Bench, bench_on_normals, bench_on_series, invented_series

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.garden.model import Units
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow


def told(database: Path, *words: str) -> str:
    answer = run("review", "next", *words, "--db", str(database), "--today", str(TODAY))
    assert (answer.status, answer.err) == (0, "")
    return " ".join(answer.out.split())


def data(database: Path) -> dict[str, Any]:
    return dict(json.loads(told(database, "--json")))


def kept(bench: Bench, folder: Path) -> Path:
    database = folder / "made-up.db"
    keep(bench, database, "made-up")
    return database


def test_a_lived_in_garden_reads_as_its_log_says(tmp_path: Path) -> None:
    database = stored(tmp_path / "garden.db")
    text = told(database)
    assert "Maple 1: repot, 45 min; last safe day 31 March 2016. Drained in 95 s." in text
    assert "Maple 3 (first left): structural pruning, 30 min" in text
    assert f"Leave alone next year {WEAK}: Vigour 2: no heavy work until it is 3." in text
    assert "Pots: Pine 1 (size not written down)." in text
    assert "Cut paste: for 1 wound planned." in text
    assert text.count("Dry soil dust harms lungs") == 1


def test_jobs_lie_in_their_windows_and_are_those_of_the_plan(tmp_path: Path) -> None:
    database = stored(tmp_path / "garden.db")
    found = data(database)
    assert found["jobs"]
    for job in found["jobs"]:
        assert job["week"] <= job["last"]
    plan = json.loads(run("plan", "--all", "--json", "--db", str(database), "--today", str(TODAY)).out)
    ids = {item["id"] for item in plan["items"] if item["status"] != "possible"}
    assert {item for job in found["jobs"] for item in job["items"]} <= ids
    once = [job["tree_id"] for job in found["jobs"]]
    assert len(once) == len(set(once))


def test_fewer_hours_leave_more_out_and_none_leave_all_out(tmp_path: Path) -> None:
    database = stored(tmp_path / "garden.db")
    usual = data(database)
    here = ("--db", str(database), "--today", str(TODAY))
    assert usual["usual_hours"]
    assert run("hours", "Sat 45min", *here).status == 0
    few = data(database)
    assert not few["usual_hours"]
    assert len(few["no_time"]) > len(usual["no_time"])
    assert len(few["no_time"]) + len(few["jobs"]) == len(usual["no_time"]) + len(usual["jobs"])
    assert "No week has time for" in told(database)


def test_us_gardens_read_gallons_quarts_and_inches(tmp_path: Path) -> None:
    bench = bench_on_normals("Nagano", units="us")
    bench.tree("Maple 1", "acer-palmatum", vigour=4, pot_litres=2.0)
    bench.did(TODAY.replace(year=2011), "repot", "Maple 1")
    text = told(kept(bench, tmp_path))
    assert (
        "Soil, broadleaf: 2.32 qt for 1 pot" in text
    )  # 2.2 L are 2.325 liquid quarts (0.946353 L, NIST Handbook 44)
    assert " L " not in text


@pytest.mark.parametrize(
    ("units", "wire"),
    [
        ("metric", "Wire of 3 mm: 1.3 m to 1.5 m for 1 branch."),
        ("us", "Wire of 0.12 in: 4.27 ft to 4.92 ft for 1 branch."),
    ],
)
def test_wire_is_bought_by_the_branch(units: Units, wire: str, tmp_path: Path) -> None:
    """A pine that is wired as a whole, with one branch measured, 9 mm thick and a metre long, and one that is not."""
    bench = bench_on_normals("Nagano", units=units)
    for label in ("Pine 1", "Pine 2"):
        bench.tree(label, "pinus-thunbergii", vigour=4)
        bench.write(TODAY, "wish", label, operation="wire", cycle=None)
    low = (uuid5(ROOT, "low"),)
    part, measure = bench.write(TODAY, "part", "Pine 1"), bench.write(TODAY, "measure", "Pine 1")
    bench.entries[-2:] = [
        replace(part, part_ids=low, data={"kind": "branch", "name": "low"}),
        replace(measure, part_ids=low, data={"values": {"diameter": 9.0, "length": 1000.0}}),
    ]
    text = told(kept(bench, tmp_path))
    assert wire in text
    assert "Wire: 1 wiring of which no diameter is written down" in text
    assert "Cut wire flies" in text


def test_an_empty_garden_and_a_tropical_one(tmp_path: Path) -> None:
    empty = bench_on_normals("Nagano")
    assert told(kept(empty, tmp_path)).endswith("No heavy work is due in the coming year.")
    warm = invented_series(TODAY.replace(year=1995), TODAY, mean_c=27.0, swing_c=0.7, half_range_c=4.0)
    tropical = bench_on_series(warm, 1.3, TODAY)
    for n in range(3):
        tropical.tree(f"Fig {n}", "ficus-microcarpa", vigour=4)
        tropical.did(TODAY.replace(year=2012), "repot", f"Fig {n}")
    (tmp_path / "hot").mkdir()
    database = tmp_path / "hot" / "garden.db"
    keep(tropical, database, "hot")
    found = year_ahead(opened(tropical, database, TODAY))
    assert {placed.job.operation for placed in found.year.jobs} == {"repot"}
    assert [soil.pots for soil in found.supplies.soil] == [3]
    assert not summary(opened(tropical, database, TODAY)).this.dates.n


def test_a_garden_just_founded_has_its_year(garden: Program) -> None:
    answer = garden("review", "next")
    assert (answer.status, answer.err) == (0, "")
    assert "To have ready" in answer.out
