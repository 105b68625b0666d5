"""Each screen says what the others say, in the demo and in cases of growers; and planted contradictions are found."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

import numpy as np
import pytest

from calendar_core.app.calendar.publishing import publish
from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.garden import whole_trees
from calendar_core.app.shell.session import open_session
from calendar_core.app.warnings import judging
from calendar_core.app.work import ahead
from calendar_core.planning import planner
from calendar_core.planning.feeding import holds as feeding_holds
from calendar_core.planning.groups import published_items
from calendar_core.planning.items import Item, Range, Reason
from calendar_core.planning.places.operations import INTO, OUT
from calendar_core.planning.works import due, turns
from calendar_core.publishing.revise import revise
from calendar_core.storage import kept
from calendar_core.storage.services import StoredHours, put_forecast_hours
from tests.app.one_truth import (
    double_dated,
    findings,
    forbidden,
    heavy,
    missing,
    sheets,
    shown,
    stages,
    standing,
    texts,
    twice,
    unseasonable,
    warned_elsewhere,
    wasted,
)
from tests.app.one_truth import (
    turns as told_turns,
)
from tests.app.stored_bench import keep, opened
from tests.planning.situations import FOLDER, bench_of, read

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from pathlib import Path

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.items import Plan
    from tests.app.screens import Check, Finding

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("plans_anew")]

DAY = timedelta(days=1)
CASES = sorted(path.stem for path in FOLDER.glob("*.toml"))


@pytest.mark.parametrize("day", ["2013-11-20", "2014-02-05", "2014-11-12", "2015-05-13", "2015-06-24"])
def test_the_demo_does_not_contradict_itself(tmp_path: Path, day: str) -> None:
    assert [str(one) for one in findings(found_demo(tmp_path, date.fromisoformat(day)))] == []


@pytest.mark.parametrize("name", CASES)
def test_gardens_of_growers_do_not_contradict_themselves(tmp_path: Path, name: str) -> None:
    found = [str(one) for one in findings(garden_of(name, tmp_path))]
    assert found == []


def garden_of(name: str, at: Path) -> Session:
    case = read(FOLDER / f"{name}.toml")
    keep(bench_of(case), at / f"{name}.db", name)
    return opened(bench_of(case), at / f"{name}.db", case.today)


@pytest.mark.parametrize("days", [4, 10, 40])
def test_what_is_late_goes_on_in_the_calendar_until_it_is_answered(tmp_path: Path, days: int) -> None:
    """Maple 4 was wired on 14 June 2015, and is looked at within two weeks; its event was told to end then."""
    day = date(2015, 6, 24)
    first = publish(found_demo(tmp_path, day))
    (look,) = (one for one in first.events if one.summary == "Look at the wire: Maple 4")
    later = open_session(str(tmp_path / "garden.db"), None, look.end + days * DAY)
    (still,) = (one for one in publish(later, allow_many=True).events if one.uid == look.uid)
    assert later.today <= still.end < later.today + 8 * DAY
    assert still.sequence == look.sequence + 1


# -- planted ------------------------------------------------------------------------------------------------------


@pytest.fixture
def plant(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[Plan], Plan]], None]:
    """Give what makes every plan another one."""
    make_plan = planner.make_plan

    def planted(change: Callable[[Plan], Plan]) -> None:
        monkeypatch.setattr(planner, "make_plan", lambda *said: change(make_plan(*said)))

    return planted


def told(found: Iterable[Finding], screens: str, words: str) -> list[str]:
    """Return the findings between some screens that hold some words."""
    return [str(one) for one in found if screens in one.screens and words in one.says]


def of_day(check: Check, at: Path, day: date = date(2015, 6, 24)) -> list[Finding]:
    """Return what one of the checks finds in the demo on a day."""
    return findings(found_demo(at, day), check)


def with_items(change: Callable[[Sequence[Item]], Sequence[Item]]) -> Callable[[Plan], Plan]:
    return lambda plan: replace(plan, items=tuple(change(plan.items)))


def test_work_that_ignores_a_hold_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cutleaf was repotted in March 2013; its fertilizing waits four weeks and more."""
    monkeypatch.setattr(due, "_held", lambda *_: [])
    monkeypatch.setattr(due, "_waits", lambda *_: [])
    monkeypatch.setattr(planner, "with_strengths", lambda plan, *_: plan)
    found = told(
        of_day(forbidden, tmp_path, date(2013, 4, 2)), "fertilize", "fertilize says nothing now: hold"
    )
    assert any(", 2013-04-02, Cutleaf [" in line for line in found)


def test_a_look_asked_for_while_it_is_put_off_is_found(
    tmp_path: Path, plant: Callable[[Callable[[Plan], Plan]], None]
) -> None:
    day = date(2015, 6, 27)  # on which Maple 4 is looked at

    def early(items: Sequence[Item]) -> Sequence[Item]:
        wait = Reason("put_off", found=day + 5 * DAY)
        return [replace(i, reasons=(*i.reasons, wait)) if i.follows else i for i in items]

    plant(with_items(early))
    assert told(of_day(forbidden, tmp_path, day), "why", "why says put_off after  until 2015-07-02")


def test_a_last_day_that_is_not_the_plans_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is kept for ``due`` is as if of another day."""
    kept_items = kept.kept_items

    def stale(*said: Any) -> list[Item]:
        return [replace(i, closes=_later(i.closes, 3)) for i in kept_items(*said)]

    monkeypatch.setattr(kept, "kept_items", stale)
    found = of_day(double_dated, tmp_path)
    assert told(found, "due / plan", "cut back")
    assert told(found, "due / rota", "cut back")


def test_an_event_that_is_not_moved_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Five weeks off is more than any band of damping, and it was told a year ago."""
    session = found_demo(tmp_path, date(2015, 6, 24))

    def unmoved(*said: Any, **known: Any) -> Any:
        done = revise(*said, **known)
        old = session.clock.now - 365 * DAY
        off = [
            replace(
                e, start=e.start - 35 * DAY, end=e.end + 35 * DAY, created_at=old, dates_changed=old.date()
            )
            for e in done.events
        ]
        return replace(done, events=tuple(off))

    monkeypatch.setattr("calendar_core.app.calendar.windows.revise", unmoved)
    assert told(findings(session, double_dated), "calendar / plan", "damping allows")


def test_an_event_that_tells_one_trees_window_of_all_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cutleaf broke bud on 17 March 2015, Maple 4 nine days later by the plan; one event tells of both."""
    monkeypatch.setattr("calendar_core.wording.plan.event_text.alike", lambda items: [list(items)])
    found = told(of_day(texts, tmp_path), "calendar text / plan", "feeding 2015 opens 2015-03-26")
    assert any("Maple 4" in line and "its event says 2015-03-17" in line for line in found)


def test_an_event_that_is_over_before_it_is_time_for_a_tree_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pine 2 is small and decandled ten days after Pine 1, whose window is as long."""
    monkeypatch.setattr("calendar_core.planning.groups._least_day", lambda _: date.min)
    monkeypatch.setattr(
        "calendar_core.planning.groups.last_day_of",
        lambda item: max(item.closes.early, item.opens.likely + 6 * DAY),
    )
    found = told(of_day(texts, tmp_path), "calendar text / calendar", "is over on 2015-06-24")
    assert any("Pine 2" in line and "opens 2015-06-28" in line for line in found)


def test_work_that_stands_in_no_calendar_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "calendar_core.app.calendar.windows.published_items",
        lambda *said: [i for i in published_items(*said) if i.follows is None],
    )
    found = told(of_day(missing, tmp_path), "due / calendar", "in no event")
    assert any("Maple 4" in line for line in found)


def test_two_heavy_jobs_in_a_cycle_are_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The case of a pine that is due for repotting and decandling in one year."""
    monkeypatch.setattr(planner, "settle", lambda items, *_: (list(items), []))
    found = told(findings(garden_of("repot-or-decandle", tmp_path), heavy), "plan", "stands beside")
    assert any("decandling" in line for line in found)


def test_no_two_kinds_of_fertilizing_are_asked_on_the_day_on_which_one_follows_the_other(
    tmp_path: Path,
) -> None:
    """Growth is likely to stop on 18 September 2015 in Seattle: low nitrogen from then on, and nothing else."""
    assert of_day(twice, tmp_path, date(2015, 9, 18)) == []


def test_what_is_asked_twice_a_day_is_found(
    tmp_path: Path, plant: Callable[[Callable[[Plan], Plan]], None]
) -> None:
    plant(with_items(lambda items: [*items, *(replace(i, id=uuid4(), cycle=i.cycle + 1) for i in items)]))
    assert told(of_day(twice, tmp_path), "due", "Look for aphids is asked 2 times")


def test_moves_to_nowhere_and_back_at_once_are_found(
    tmp_path: Path, plant: Callable[[Callable[[Plan], Plan]], None]
) -> None:
    def astray(items: Sequence[Item]) -> Sequence[Item]:
        into: defaultdict[UUID, list[Item]] = defaultdict(list)
        for item in items:
            if item.operation == INTO:
                into[item.tree_id].append(item)
        soon = {tree: some[0].closes.early + 3 * DAY for tree, some in into.items()}
        out = [
            replace(i, opens=Range(*[soon[i.tree_id]] * 3)) if i.operation == OUT and i.tree_id in soon else i
            for i in items
        ]
        return [replace(i, to=UUID(int=1)) if i.to else i for i in out]

    plant(with_items(astray))
    found = findings(garden_of("trident-forgotten-on-the-bench", tmp_path), standing)
    assert told(found, "plan", "names a spot that is not there")
    assert told(found, "plan", ": 3 days")


def test_a_warning_that_sends_a_tree_elsewhere_is_found(
    leafclock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bench near Chicago (its normals) before the first hard frost, with two places for the winter."""
    day = date(2014, 11, 10)
    where = ("--db", "autumn.db")
    assert (
        leafclock(
            "start", *where, "--place", "Lisle", "--trees", "2 Japanese maple", "--today", "2014-06-01"
        ).status
        == 0
    )
    for name, profile in (("frame", "cold frame"), ("cellar", "frost-free")):
        assert leafclock("spot", "add", name, "--profile", profile, *where).status == 0
    session = open_session("autumn.db", None, day)
    frosty(session)
    assert told(findings(session, warned_elsewhere), "warn / plan", "sends it to") == []
    covers = judging._covers
    monkeypatch.setattr(judging, "_covers", lambda said: {
        tree: replace(cover, spot=next(spot for spot, one in said.spots.items() if one.profile != "open" and spot != cover.spot))
        for tree, cover in covers(said).items()
    })  # fmt: skip
    found = told(
        findings(open_session("autumn.db", None, day), warned_elsewhere), "warn / plan", "sends it to"
    )
    assert len(found) == 2


def frosty(session: Session) -> None:
    """Store hours of eight days at -14 degC (invented)."""
    n, now = 8 * 24, session.clock.now
    series = {"t_c": np.full(n, -14.0), "dew_point_c": np.full(n, -16.0), "wind_ms": np.full(n, 2.0)}
    garden = session.garden
    hours = StoredHours("invented", garden.latitude, garden.longitude, now, now, now, series, "", 0.0, None)  # type: ignore[arg-type]
    with session.store.begin() as connection:
        assert put_forecast_hours(connection, hours)


def test_stages_that_are_told_otherwise_than_seen_are_found(
    tmp_path: Path, plant: Callable[[Callable[[Plan], Plan]], None]
) -> None:
    """Satsuki 1 was seen in bloom until 12 June 2015; all stages are told ten days late, its leaves before its buds."""

    def off(plan: Plan) -> Plan:
        stages = {
            tree: tuple(
                replace(one, range=_later(one.range, 10), seen=False) if one.range and one.seen else one
                for one in dated
            )
            for tree, dated in plan.stages.items()
        }
        return replace(plan, stages=stages)

    plant(off)
    found = told(of_day(stages, tmp_path), "stages / log", "bloom_over was seen on 2015-06-12")
    assert any("Satsuki 1" in line for line in found)


def test_a_turn_of_another_year_than_the_plans_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = turns._turn

    def blind(tree: Any, grove: Any, knowledge: Any, plan: Any, _: Any, __: Any) -> Any:
        return asked(tree, grove, knowledge, plan, None, 2015)

    monkeypatch.setattr(turns, "_turn", blind)
    found = told(of_day(told_turns, tmp_path), "repotting / plan", "has it due in 2015")
    assert any("Fig 1" in line for line in found)


def test_a_sitter_who_is_told_of_no_move_or_of_what_waits_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The forgotten trident has to go under cover today, and its sitter is to do all but that."""
    monkeypatch.setattr(ahead, "by_helper", lambda _, item: not item.protects)
    session = garden_of("trident-forgotten-on-the-bench", tmp_path)
    assert told(findings(session, sheets), "sitter / due", "shelter in 2014 is not on the sheet")
    monkeypatch.setattr(ahead, "by_helper", lambda *_: True)
    possible = findings(found_demo(tmp_path / "demo", date(2015, 6, 24)), sheets, forbidden)
    assert told(possible, "sitter / due", "is asked, not due")
    assert told(possible, "sitter", "is asked for today, but")


def test_a_tree_that_is_shown_with_other_days_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = whole_trees.whole_tree

    def late(session: Session, tree: Any) -> dict[str, Any]:
        said = whole(session, tree)
        items = [replace(item, closes=_later(item.closes, 3)) for item in said["items"]]
        return {**said, "items": items, "stages": said["stages"][1:]}

    monkeypatch.setattr("tests.app.one_truth.whole_tree", late)
    found = of_day(shown, tmp_path)
    assert told(found, "tree show / due", "other days")
    assert told(found, "tree show / plan", "other days")
    assert told(found, "tree show / stages", "are others")


def test_what_is_fed_before_a_planned_repotting_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Satsuki 2 is to be repotted from 22 June 2015 on."""
    monkeypatch.setattr(feeding_holds, "is_expected", lambda *_: False)
    session = found_demo(tmp_path, date(2015, 6, 24))
    everything = findings(session, wasted)
    for screen in ("fertilize", "due", "plan, open now", "calendar"):
        found = told(everything, f"{screen} / repot", "fed on 2015-06-24, and repot is planned on 2015-06-24")
        assert any("Satsuki 2" in line for line in found), screen
    monkeypatch.setattr("calendar_core.app.work.rota.kept_apart", lambda *_: {})
    again = open_session(str(tmp_path / "garden.db"), None, session.today)
    found = told(findings(again, wasted), "rota / repot", "fed on")
    assert any("Satsuki 2" in line for line in found)


def test_it_finds_a_dose_of_the_rota_after_the_season(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = found_demo(tmp_path, date(2014, 11, 12))
    late = session.today + 15 * DAY
    week = [(late, late + 6 * DAY)]
    monkeypatch.setattr(
        "calendar_core.planning.rota.tasks._rounds",
        lambda group, *_: week if group.items[0].given is not None else [],
    )
    monkeypatch.setattr("calendar_core.app.work.rota.fed_in_time", lambda tasks, *_: tasks)
    found = told(findings(session, unseasonable), "rota / fertilize", "gets nothing")
    assert any("Satsuki 2" in line for line in found)


def _later(days: Range, by: int) -> Range:
    return Range(days.early + by * DAY, days.likely + by * DAY, days.late + by * DAY)
