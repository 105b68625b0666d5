"""Why told dates moved, in a real garden: each cause is held against plans made with and without what it names.

The weather is real (NOAA station data for Seattle, demo/seattle-weather.csv); the trees and what is written of them are
made up. Nothing here asks the chain of plans: a part is right if the plan moves by it when its cause alone is taken away.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, NoReturn
from uuid import uuid5

import pytest
from sqlalchemy import update

from calendar_core.app.calendar.publishing import publish
from calendar_core.app.plan import date_chain
from calendar_core.app.plan.date_moves import line_that_matters, moves_since, what_matters
from calendar_core.app.plan.told_dates import tell_dates
from calendar_core.planning.groups import group_items, lines_of
from calendar_core.planning.moved_dates import DateMove, MovePart, Spell, Written, day_of
from calendar_core.planning.waits import waits_for_planned_work
from calendar_core.publishing.revise import DAMPING
from calendar_core.storage import log, services, told_dates, weather
from calendar_core.storage.calendar_files import CalendarFile
from calendar_core.storage.schema.told_tables import told_basis, told_date, told_move
from calendar_core.wording.plan.move_text import move_sentence
from tests.app.conftest import run
from tests.app.plan.told_garden import told_garden
from tests.app.shapes import SHAPES
from tests.app.test_bad_input import assert_refused

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.storage.told_dates import DateKey
    from tests.app.plan.told_garden import ToldGarden

pytestmark = pytest.mark.slow

MAY, LATER = date(2015, 5, 1), date(2015, 5, 20)
TREES = ("Japanese maple", "black pine", "satsuki")
MAPLE, SATSUKI, PINE = "Japanese maple 1", "Satsuki azalea 1", "Japanese black pine 1"


@pytest.fixture
def garden(folder: Path) -> Iterator[ToldGarden]:
    """Give a garden of three trees whose dates were told on the first of May."""
    with told_garden(folder / "garden.db", MAY, *TREES) as made:
        publish(made.on(MAY))
        yield made


def told(garden: ToldGarden) -> dict[DateKey, date]:
    with garden.store.read() as connection:
        return {key: row.day for key, row in told_dates.load_dates(connection, garden.garden.id).items()}


def planned(session: Session) -> dict[UUID, dict[str, date]]:
    return {item.id: {side: day_of(item, side) for side in ("opens", "safe")} for item in session.plan.items}


def parts(move: DateMove) -> dict[str, int]:
    return {part.cause: part.days for part in move.parts}


def measure(garden: ToldGarden, first: date, last: date, warmer_c: float) -> None:
    """Put days into the station's record that are warmer than they were."""
    session = garden.on(last)
    assert session.weather.measured is not None
    days = session.weather.measured.window(first, last)
    with garden.store.begin() as connection:
        assert garden.garden.weather_series is not None
        weather.store_days(
            connection, garden.garden.weather_series, first, days.t_min_c + warmer_c, days.t_max_c + warmer_c
        )


def take_back(garden: ToldGarden, day: date, kind: str) -> None:
    """Void the entry of a kind."""
    session = garden.on(day)
    (wrong,) = (logged for logged in session.entries if logged.kind == kind)
    written = max(logged.recorded_at for logged in session.entries) + timedelta(seconds=1)
    void = replace(
        wrong, id=uuid5(wrong.id, "void"), data={}, voids=wrong.id, happened=day, recorded_at=written
    )
    with garden.store.begin() as connection:
        log.append(connection, [void])


def foresee(garden: ToldGarden, day: date, warmer_c: float) -> None:
    """Store a run of a fortnight that lies above the mean year."""
    year = garden.on(day).weather.mean_year
    slot = (day - date(2015, 1, 1)).days
    low, high = (values[slot : slot + 14][None, :] + warmer_c for values in (year.t_min_c, year.t_max_c))
    noon, g = datetime.combine(day, time(12), UTC), garden.garden
    with garden.store.begin() as connection:
        services.put_forecast(
            connection,
            services.StoredForecast(
                "made up", g.latitude, g.longitude, g.zone, noon, noon, day, low, high, "credit", 1.0
            ),
        )


def test_the_first_dates_are_told_without_a_move_and_a_second_run_adds_nothing(garden: ToldGarden) -> None:
    before = told(garden)
    assert len(before) > 30
    assert {side for _, side in before} == {"opens", "safe"}
    assert garden.publish(MAY) == []
    assert told(garden) == before


def test_nothing_is_planned_where_nothing_moved(garden: ToldGarden, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> NoReturn:
        raise AssertionError("a plan was made")

    monkeypatch.setattr(date_chain, "make_plan", refuse)
    assert garden.publish(MAY, MAY + timedelta(days=1)) == []


def test_the_last_safe_day_that_is_told_is_that_of_the_lines(folder: Path) -> None:
    """On midsummer's eve the lines of `plan` show decandling safe until a week from its opening."""
    today = date(2015, 6, 24)
    with told_garden(folder / "garden.db", today, *TREES) as garden:
        garden.publish(today)
        days = {item: day for (item, side), day in told(garden).items() if side == "safe"}
        items = [item for item in garden.on(today).plan.items if item.id in days]
        assert {days[item.id] - item.closes.early for item in items} > {
            timedelta()
        }  # some would close earlier
        for item in items:
            (line,) = lines_of(group_items(garden.garden.id, [item], {}), today)
            assert days[item.id] == line.end
            assert days[item.id] >= item.opens.likely


def test_an_opening_before_it_was_told_is_told_without_a_move(garden: ToldGarden) -> None:
    opened = {
        item.id: item.opens.likely
        for item in garden.on(LATER).plan.items
        if (item.id, "opens") in told(garden) and item.opens.likely < MAY
    }
    assert len(opened) > 3
    with garden.store.begin() as connection:  # as if all had been told as waits that are over now
        here = told_date.c.item_id.in_(opened), told_date.c.side == "opens"
        connection.execute(update(told_date).where(*here).values(day=date(2015, 8, 17)))
    assert [move for move in garden.publish(LATER) if move.side == "opens" and move.item_id in opened] == []
    assert {item: told(garden)[item, "opens"] for item in opened} == opened


def test_fertilizing_that_waits_for_planned_work_is_not_told_until_that_is_done(folder: Path) -> None:
    """A pine's gentle feeding comes after its decandling, which is planned for the beginning of July."""
    today = date(2015, 3, 1)
    with told_garden(folder / "garden.db", today, "black pine") as garden:
        garden.publish(today)
        items = {item.operation: item for item in garden.on(today).plan.items}
        assert waits_for_planned_work(items["feeding gently"])
        keys = {item for item, _ in told(garden)}
        assert items["feeding gently"].id not in keys
        assert items["decandling"].id in keys


@pytest.mark.parametrize("warmer_c", [4.0, -4.0])
def test_warm_days_bring_dates_forward_and_cold_ones_put_them_off(
    garden: ToldGarden, warmer_c: float
) -> None:
    measure(garden, MAY + timedelta(days=1), LATER, warmer_c)
    moves = [move for move in garden.publish(LATER) if move.side == "opens"]
    assert len(moves) >= 5
    for move in moves:
        (part,) = move.parts
        assert part.cause == "weather"
        assert part.days == move.days
        assert part.days * warmer_c < 0
        assert part.spell is not None
        assert (part.spell.first, part.spell.last, part.spell.than) == (date(2015, 5, 2), LATER, "usual")
        assert part.spell.warmer_c == pytest.approx(
            warmer_c + 0.34, abs=0.05
        )  # the days as they were: +0.34 degC


def test_a_sight_moves_dates_by_what_it_does_to_the_plan(garden: ToldGarden) -> None:
    without = planned(garden.on(LATER))
    garden.write(LATER, SATSUKI, "seen", stage="flowering")
    seen = Written("seen", "flowering", LATER)
    moves = [move for move in garden.publish(LATER) if "sight" in parts(move)]
    assert {garden.on(LATER).labels[move.tree_id] for move in moves} == {SATSUKI}
    assert {move.days < 0 for move in moves} == {True, False}  # it opens sooner and is safe for longer
    for move in moves:
        assert parts(move)["sight"] == (move.after - without[move.item_id][move.side]).days
        assert parts(move).get("weather", 0) == (without[move.item_id][move.side] - move.before).days
        assert [part.written for part in move.parts if part.cause == "sight"] == [(seen,)]
    assert any(len(move.parts) == 2 for move in moves)


def test_an_entry_moves_dates_by_what_it_does_to_the_plan(garden: ToldGarden) -> None:
    without = planned(garden.on(LATER))
    garden.write(LATER, MAPLE, "work", operation="full defoliation")
    moves = [move for move in garden.publish(LATER) if "entry" in parts(move)]
    shade, feeding = (
        [m for m in moves if m.operation == name and m.side == "opens"] for name in ("shade on", "feeding")
    )
    assert shade[0].days < 0  # leaves that grow in summer are tender
    assert not feeding or feeding[0].days > 0
    for move in moves:
        assert parts(move)["entry"] == (move.after - without[move.item_id][move.side]).days
        assert Written("work", "full defoliation", LATER) in move.parts[-1].written


def test_a_sight_that_is_taken_back_moves_the_dates_back(garden: ToldGarden) -> None:
    garden.write(LATER, SATSUKI, "seen", stage="flowering")
    there = {(m.item_id, m.side): m for m in garden.publish(LATER)}
    next_day = LATER + timedelta(days=1)
    take_back(garden, next_day, "seen")
    back = [m for m in garden.publish(next_day) if "sight" in parts(m)]
    assert back
    for move in back:
        assert parts(move)["sight"] == pytest.approx(-parts(there[move.item_id, move.side])["sight"], abs=1)
        assert [note.kind for part in move.parts for note in part.written] == ["void"]


def test_work_that_is_taken_back_moves_the_dates_back(garden: ToldGarden) -> None:
    garden.write(LATER, MAPLE, "work", operation="full defoliation")
    there = {(m.item_id, m.side): m for m in garden.publish(LATER) if "entry" in parts(m)}
    assert there
    take_back(garden, LATER, "work")
    garden.publish(LATER)  # on the same day: both are one move, from which the entry has gone
    left = {(m.item_id, m.side): m for m in garden.moves(LATER, LATER)}
    assert [key for key in there if "entry" in parts(left.get(key, replace(there[key], parts=())))] == []
    assert told(garden).keys() & there.keys()


def test_work_that_was_done_is_told_for_its_next_time_without_a_move(garden: ToldGarden) -> None:
    pinch = {key: day for key, day in told(garden).items() if _operation(garden, key) == "feeding"}
    assert pinch
    for label in (MAPLE, SATSUKI, PINE):
        garden.write(LATER, label, "work", operation="feeding")
    moves = garden.publish(LATER)
    assert [move for move in moves if move.operation == "feeding"] == []
    assert {key: told(garden).get(key) for key in pinch} != pinch


def _operation(garden: ToldGarden, key: DateKey) -> str:
    return next((i.operation for i in garden.on(MAY).plan.items if i.id == key[0]), "")


@pytest.mark.parametrize("warmer_c", [5.0, -5.0])
def test_a_forecast_moves_dates_by_itself(garden: ToldGarden, warmer_c: float) -> None:
    before = told(garden)
    foresee(garden, MAY, warmer_c)
    moves = garden.publish(MAY)  # the same day: nothing else has changed
    assert moves
    for move in moves:
        assert parts(move) == {"forecast": move.days}
        assert move.before == before[move.item_id, move.side]
        assert move.days * warmer_c < 0


def test_days_warm_but_less_so_than_forecast_put_dates_off(garden: ToldGarden) -> None:
    foresee(garden, MAY, 6.0)
    garden.publish(MAY)
    until = MAY + timedelta(days=14)
    measure(garden, MAY + timedelta(days=1), until, 2.0)
    moves = [move for move in garden.publish(until) if move.side == "opens" and "weather" in parts(move)]
    assert moves
    for move in moves:
        (spell,) = (part.spell for part in move.parts if part.cause == "weather")
        assert spell is not None
        assert (spell.than, spell.warmer_c < 0) == ("expected", True)
        assert parts(move)["weather"] > 0
        assert sum(parts(move).values()) == move.days


def test_what_dates_rested_on_gives_them_again(garden: ToldGarden) -> None:
    """The reproduction: told five days wrong by another program, the five days and no more are that program's."""
    right = told(garden)
    with garden.store.begin() as connection:
        for key, day in right.items():
            here = told_date.c.item_id == key[0], told_date.c.side == key[1]
            connection.execute(update(told_date).where(*here).values(day=day + timedelta(days=5)))
        connection.execute(update(told_basis).values(program="another"))
    garden.write(LATER, SATSUKI, "seen", stage="flowering")
    moves = garden.publish(LATER)
    assert len(moves) >= 5
    assert {parts(move)["knowledge"] for move in moves} == {-5}
    causes = {cause for move in moves for cause in parts(move)}
    assert {"knowledge", "weather", "sight"} <= causes


def test_earlier_days_that_were_corrected_are_told_apart_from_those_that_came(garden: ToldGarden) -> None:
    measure(garden, date(2015, 4, 1), MAY, 3.0)
    next_day = MAY + timedelta(days=1)
    moves = garden.publish(next_day)
    assert moves
    assert all(parts(move)["record"] * move.days > 0 for move in moves)


def test_what_left_the_plan_and_came_back_is_told_anew(garden: ToldGarden) -> None:
    (item,) = (i for i in garden.on(MAY).plan.items if i.rule == "flower removal" and i.cycle == 2015)
    garden.write(MAY, SATSUKI, "answer", item=str(item.id), answer="not this cycle")
    garden.publish(MAY)
    assert (item.id, "opens") not in told(garden)
    take_back(garden, MAY, "answer")
    garden.write(LATER, SATSUKI, "seen", stage="flowering")  # it would move the date
    moves = garden.publish(LATER)
    assert (item.id, "opens") in told(garden)
    assert moves
    assert item.id not in {move.item_id for move in moves}


def test_over_a_month_every_told_date_and_its_parts_are_the_plan(folder: Path) -> None:
    first, last = date(2015, 5, 8), date(2015, 6, 8)
    with told_garden(folder / "garden.db", first, *TREES) as garden:
        n, causes, day = 0, set(), first
        while day <= last:
            if day == LATER:
                garden.write(day, SATSUKI, "seen", stage="flowering")
            if day == date(2015, 5, 24):
                garden.write(day, MAPLE, "work", operation="full defoliation")
            before = told(garden)
            moves, now = garden.publish(day), planned(garden.on(day))
            for move in moves:
                assert before[move.item_id, move.side] == move.before
                assert move.before + timedelta(days=sum(parts(move).values())) == move.after
                assert now[move.item_id][move.side] == move.after
                causes |= set(parts(move))
            n += len(moves)
            after = told(garden)
            moved = {(move.item_id, move.side): move.after for move in moves}
            assert {key: after[key] for key in moved} == moved
            for key, told_day in after.items():  # what stands is right within what is worth telling
                if told_day > day:
                    shift = abs((now[key[0]][key[1]] - told_day).days)
                    band = max(DAMPING.band_at_d((told_day - day).days), DAMPING.later_band_d)
                    assert shift < band, (day, key)
            day += timedelta(days=1)
        assert n > 15
        assert causes >= {"weather", "sight", "entry"}
        with garden.store.read() as connection:
            bases = told_dates.load_bases(connection, garden.garden.id)
            rows = told_dates.load_dates(connection, garden.garden.id).values()
        assert {row.basis for row in rows} == set(bases)  # what nothing rests on is forgotten


@pytest.fixture(scope="module")
def moved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a database in which dates moved by weather and a sight; it is only read."""
    database = tmp_path_factory.mktemp("moved") / "garden.db"
    with told_garden(database, MAY, *TREES) as garden:
        publish(garden.on(MAY))
        garden.publish(LATER)
        garden.write(LATER + timedelta(days=1), SATSUKI, "seen", stage="flowering")
        file = database.with_suffix(".ics")
        publish(garden.on(LATER + timedelta(days=1)), CalendarFile(str(file), "windows"), to=file)
    return database


def asked(database: Path, *words: str) -> tuple[str, ...]:
    said = run(*words, "--db", str(database), "--today", "2015-05-21")
    assert (said.status, said.err) == (0, "")
    return tuple(said.out.splitlines())


def test_changes_are_told_the_newest_first_two_lines_each(moved: Path) -> None:
    lines = asked(moved, "changes")
    days = [line for line in lines if line and not line.startswith(" ")]
    assert days == ["Thursday, 21 May 2015", "Wednesday, 20 May 2015"]
    assert max(map(len, lines)) <= 100
    starts = [n for n, line in enumerate(lines) if line.startswith("  ") and line[2] != " "]
    assert len(starts) > 5
    ends = [n for n, line in enumerate(lines) if not line.startswith("    ")] + [len(lines)]
    assert all(min(end for end in ends if end > n) - n <= 2 for n in starts)
    text = " ".join(" ".join(lines).split())
    assert (
        "Take off the flowers, Satsuki azalea 1: opening moved to 4 June, 6 days earlier than told on 1 May:"
        in text
    )
    assert "warmer than usual (2 days), flowering seen on 21 May (4 days)." in text


def test_changes_of_no_day_are_one_line(moved: Path) -> None:
    said = run("changes", "--db", str(moved), "--today", "2015-05-19")
    assert (said.status, said.err) == (0, "")
    assert said.out == "No date that was told has moved since 5 May.\n"


def test_changes_as_data_are_the_stored_moves(moved: Path) -> None:
    printed = "\n".join(asked(moved, "changes", "--since", "2015-05-21", "--json"))
    SHAPES["changes"].validate_json(printed)
    data = json.loads(printed)
    assert (data["today"], data["since"]) == ("2015-05-21", "2015-05-21")
    assert set(data["trees"].values()) == {SATSUKI}
    assert {move["moved_on"] for move in data["moves"]} == {"2015-05-21"}
    for move in data["moves"]:
        days = (date.fromisoformat(move["after"]) - date.fromisoformat(move["before"])).days
        assert sum(part["days"] for part in move["parts"]) == days


def test_why_and_the_calendar_say_what_moved_a_date(moved: Path) -> None:
    told = "Opening moved to 4 June, 6 days earlier than told on 1 May: 2 to 21 May were 0.5 °C warmer than usual (2 days), flowering seen on 21 May (4 days)."
    assert told in " ".join(" ".join(asked(moved, "why", SATSUKI, "flower removal")).split())
    ics = moved.with_suffix(".ics").read_text(encoding="utf-8").replace("\n ", "").replace("\\,", ",")
    assert told in ics


@pytest.mark.parametrize(
    ("since", "told"),
    [
        ("2015-06-25", "--since 2015-06-25 lies ahead; right would be a day up to today, 2015-06-24"),
        ("soon", "'soon' is not a day; right would be year-month-day, such as 2015-06-24"),
        ("2015-02-30", "'2015-02-30' is not a day; right would be year-month-day, such as 2015-06-24"),
        ("", "'' is not a day; right would be year-month-day, such as 2015-06-24"),
    ],
)
def test_a_day_that_cannot_be_is_refused(founded: Path, since: str, told: str) -> None:
    assert_refused(run("changes", "--since", since, "--db", str(founded), "--today", "2015-06-24"), told)


def a_move(session: Session, label: str, rule: str, side: str, days: int, *causes: MovePart) -> DateMove:
    item = next(i for i in session.plan.items if i.rule == rule and session.labels[i.tree_id] == label)
    after = day_of(item, side)  # type: ignore[arg-type]
    return DateMove(
        item.id, side, item.tree_id, date(2015, 5, 17), LATER, after - timedelta(days=days), after, causes,  # type: ignore[arg-type]
        item.operation, item.rule, item.cycle, item.label, item.part,
    )  # fmt: skip


def test_what_matters_is_less_time_then_weight_then_nearness(garden: ToldGarden) -> None:
    """The moves are invented; that a last safe day comes first is the project's own rule."""
    session = garden.on(LATER)
    warm = Spell(date(2015, 5, 1), date(2015, 5, 31), 2.1, "usual")
    light = a_move(
        session,
        SATSUKI,
        "flower removal",
        "safe",
        -2,
        MovePart("sight", -2, written=(Written("seen", "flowering", LATER),)),
    )
    heavy = a_move(
        session, PINE, "decandling", "safe", -3, MovePart("weather", -4, warm), MovePart("forecast", 1)
    )
    near = a_move(session, MAPLE, "cut back", "opens", -9, MovePart("weather", -9, warm))
    later = a_move(session, PINE, "decandling", "opens", 5, MovePart("entry", 5))
    for moves, first in (
        ([near, later, light, heavy], heavy),
        ([near, later, light], light),
        ([near, later], later),
        ([near], near),
    ):
        with garden.store.begin() as connection:
            connection.execute(told_move.delete())
            told_dates.save_moves(connection, garden.garden.id, moves)
        assert what_matters(session, MAY) == [first]
        line = line_that_matters(session, MAY)
        assert len(line) <= 76, line
    assert what_matters(session, LATER + timedelta(days=1)) == []
    assert line_that_matters(session, LATER + timedelta(days=1)) == ""


def test_moves_since_a_day_are_those_from_it_on(garden: ToldGarden) -> None:
    garden.publish(LATER)
    session = garden.on(LATER)
    assert moves_since(session, LATER)
    assert moves_since(session, LATER + timedelta(days=1)) == ()
    assert moves_since(garden.on(LATER - timedelta(days=1)), MAY) == ()
    with garden.store.read() as connection:
        telling = tell_dates(garden.on(LATER), connection)
    assert (telling.anew, telling.gone, telling.moves) == ((), frozenset(), ())
    assert all(move_sentence(session.speaker, move).endswith(".") for move in moves_since(session, MAY))
