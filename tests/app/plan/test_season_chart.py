"""The season chart of real plans: its months, its names, its sums, and a sheet on which nothing meets."""

from __future__ import annotations

import csv
import shutil
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.app.plan.season_chart import season_chart
from calendar_core.app.plan.season_rows import busiest
from calendar_core.app.shell.session import open_session
from calendar_core.knowledge.profiles.bundled import folder as bundled
from calendar_core.publishing.chart.season import season_figure, season_svg
from tests.app.conftest import DAY, run
from tests.planning.made_up import wave
from tests.publishing.chart.boxes import crossings, crowding
from tests.publishing.chart.test_chart import texts_of

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.publishing.chart.content import SeasonChart

WEATHER_DAYS = (date(2012, 1, 1), 1461)
MEAN_C = {"north": 10.5, "south": 14.5, "equator": 26.0, "polar": 3.0}  # made up, as all the weather here
LATITUDE = {"north": 47.6, "south": -37.8, "equator": 1.3, "polar": 69.6}
DAYS = [date(2015, 1, 10), date(2015, 7, 5)]
TREES = "2 Japanese maple; black pine; satsuki azalea; tropical fig; larch"  # made up


def made_up_weather(path: Path, where: str) -> None:
    """Write four made-up years, each day as in every year."""
    start, days = WEATHER_DAYS
    mean = wave(start, days, mean_c=MEAN_C[where], south=LATITUDE[where] < 0)
    mean = MEAN_C[where] + (mean - MEAN_C[where]) * (0.05 if where == "equator" else 1.0)
    with path.open("w", encoding="utf-8", newline="") as file:
        lines = csv.writer(file)
        lines.writerow(("date", "t_min", "t_max"))
        for number, warmth in enumerate(mean.tolist()):
            lines.writerow((start + timedelta(days=number), f"{warmth - 4:.2f}", f"{warmth + 4:.2f}"))


def founded_at(where: str, folder: Path, trees: str = TREES) -> Path:
    """Found a garden on made-up weather; return its database."""
    database, days = folder / f"{where}.db", folder / f"{where}.csv"
    made_up_weather(days, where)
    at = ("--lat", str(LATITUDE[where]), "--lon", "10", "--zone", "UTC", "--name", "My garden")
    words = ("start", *at, "--weather", str(days), "--trees", trees, "--today", "2015-01-10")
    assert run(*words, "--offline", "--db", str(database)).status == 0
    return database


@pytest.fixture(scope="module")
def gardens(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Give the databases of gardens at four latitudes; they are read, never changed."""
    folder = tmp_path_factory.mktemp("gardens")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LEAFCLOCK_WEATHER", "off")
        return {where: founded_at(where, folder) for where in LATITUDE}


def everywhere(chart: SeasonChart) -> list[str]:
    return [strip.caption or row.sentence for row in chart.rows for strip in row.strips]


@pytest.mark.slow
@pytest.mark.parametrize("today", DAYS)
@pytest.mark.parametrize("where", LATITUDE)
def test_it_runs_twelve_months_from_today(gardens: dict[str, Path], where: str, today: date) -> None:
    session = open_session(str(gardens[where]), None, today)
    for form in ("phone", "desk"):
        trees = session.trees if form == "desk" else session.trees[:1]
        chart = season_chart(session, trees, form)
        assert timedelta(days=14) <= today - chart.start <= timedelta(days=35)
        assert chart.end >= today.replace(year=today.year + 1)
        for row in chart.rows:
            for strip in row.strips:
                assert strip.opens.early <= chart.end
                assert strip.last.late >= chart.start
        assert all(everywhere(chart))
        figure = season_figure(chart, form)
        assert crowding(figure) == []
        if form == "desk":
            assert crossings(figure) == []


@pytest.mark.slow
@pytest.mark.parametrize("today", DAYS)
@pytest.mark.parametrize("where", LATITUDE)
def test_heat_is_summed_from_midwinter_and_begins_anew(
    gardens: dict[str, Path], where: str, today: date
) -> None:
    """Means above 5 degC summed by hand from 1 January, or 1 July in the south."""
    session = open_session(str(gardens[where]), None, today)
    chart = season_chart(session, session.trees)
    assert chart.heat is not None
    assert chart.heat_range is not None
    month = 7 if where == "south" else 1
    begun = date(today.year - (today.month < month), month, 1)
    start, days = WEATHER_DAYS
    mean = wave(start, days, mean_c=MEAN_C[where], south=where == "south")
    mean = MEAN_C[where] + (mean - MEAN_C[where]) * (0.05 if where == "equator" else 1.0)
    heat = np.clip(mean - 5.0, 0.0, None)[(begun - start).days : (today - start).days + 1].sum()
    now, anew = (today - chart.start).days, (begun.replace(year=begun.year + 1) - chart.start).days
    assert chart.heat[now] == pytest.approx(heat, rel=0.01, abs=1.0)
    assert np.isnan(chart.heat[now + 1 :]).all()
    assert np.isnan(chart.heat_range[:, anew - 1]).all()
    assert (chart.heat_range[:, anew] < 25).all()
    assert f"Heat is summed from 1 {'July' if month == 7 else 'January'}" in chart.text.note


def session_of_demo(midsummer: Path, folder: Path) -> Session:
    shutil.copy(midsummer, folder / "demo.db")
    return open_session(str(folder / "demo.db"), None, date.fromisoformat(DAY))


@pytest.mark.slow
def test_each_look_has_its_own_name(midsummer: Path, folder: Path) -> None:
    session = session_of_demo(midsummer, folder)
    bare = {session.knowledge.operations["pest look"].label}
    for tree in session.trees:
        rows = season_chart(session, [tree]).rows
        assert not bare & {row.label for row in rows}
        assert len({(row.heading, row.label) for row in rows}) == len(rows)
        assert all(row.sentence for row in rows)
    rows = season_chart(session, session.trees, "desk").rows
    assert not bare & {row.heading for row in rows}
    assert {"Look for mildew", "Look for aphids", "Look for tip blight"} <= {row.heading for row in rows}


@pytest.mark.slow
def test_trees_are_named_where_not_all_of_a_kind_are_meant(midsummer: Path, folder: Path) -> None:
    session = session_of_demo(midsummer, folder)
    rows = season_chart(session, session.trees, "desk").rows
    trees = {tree.label: tree for tree in session.trees}
    dates = {
        (row.heading, strip.caption.partition(": ")[0]): strip
        for row in rows
        for strip in row.strips
        if row.part == "Work" and ": " in strip.caption
    }
    pinched = next(strip for (name, label), strip in dates.items() if (name, label) == ("Pinch", "Maple 3"))
    assert any(
        item.opens == pinched.opens and item.closes == pinched.closes
        for item in session.plan.items
        if item.tree_id == trees["Maple 3"].id
    )
    looks = next(row for row in rows if row.heading == "Look for aphids")
    assert looks.label == "Japanese maple"
    assert not any(": " in strip.caption for strip in looks.strips)  # all of them alike


@pytest.mark.slow
def test_the_busiest_tree_has_most_kinds_of_work(midsummer: Path, folder: Path) -> None:
    session = session_of_demo(midsummer, folder)
    rows = {
        tree.label: sum(row.heading == "Work" for row in season_chart(session, [tree]).rows)
        for tree in session.trees
    }
    assert rows[busiest(session).label] == max(rows.values())


def test_a_garden_without_trees_has_a_chart(folder: Path) -> None:
    database = founded_at("north", folder)
    assert run("tree", "gone", "all", "--why", "sold", "--db", str(database), "--today", DAY).status == 0
    for form in ((), ("--desk",)):
        answer = run("stages", "--chart", "empty.svg", *form, "--db", str(database), "--today", DAY)
        assert (answer.status, answer.err) == (0, "")
        assert "day length" in texts_of(Path("empty.svg").read_bytes())


@pytest.mark.slow
def test_nothing_meets_on_the_sheet_of_all_species(folder: Path) -> None:
    """Of every species the program knows three trees."""
    named = sorted((bundled("config") / "species").glob("*.toml"))
    kinds = [path.stem.replace("-", " ") for path in named if not path.stem.startswith("unknown")]
    assert len(kinds) >= 29
    database = founded_at("north", folder, "; ".join(f"3 {kind}" for kind in kinds))
    session = open_session(str(database), None, date(2015, 6, 24))
    chart = season_chart(session, session.trees, "desk")
    assert len({row.heading for row in chart.rows if row.part == "Stages"}) >= 29
    figure = season_figure(chart, "desk")
    assert crowding(figure) == []
    assert crossings(figure) == []
    assert season_svg(chart, "desk") == season_svg(chart, "desk")
