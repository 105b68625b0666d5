"""Follow-ups in the plan of one tree in Nagano: each once until it is closed, and none is lost."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.state import states
from calendar_core.planning.aftercare.follow_ups import SOONER
from calendar_core.planning.aftercare.followed import followed
from tests.planning.made_up import Bench, codes, knowledge
from tests.planning.watched import (
    answer,
    closed,
    did,
    look,
    looks,
    maple,
    part,
    the_look,
    told,
    why,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.garden.parts import Part
    from calendar_core.planning.aftercare.followed import Followed
    from calendar_core.planning.items import Item, Plan

Key = tuple[str, UUID, UUID | None]
SPRING = date(2015, 4, 10)
DAY = timedelta(days=1)
PARTS = ("low left", "high right")


# Properties of any season's work


@dataclass
class Season:
    """A tree, worked on and looked at day after day."""

    bench: Bench = field(default_factory=maple)
    today: date = SPRING
    ids: dict[tuple[Key, int], UUID] = field(default_factory=dict)

    def step(self, days: int, act: Callable[[Season], None]) -> None:
        self.today += days * DAY
        act(self)
        self.check(self.bench.plan(self.today))

    def follows(self) -> list[Followed]:
        (tree,) = self.bench.trees
        state = states([tree.id], self.bench.entries, self.today)[tree.id]
        rules = knowledge().aftercare.items()
        return [one for rule, form in rules for one in followed(rule, form, state)]

    def check(self, plan: Plan) -> None:
        found = looks(plan)
        assert len({item.id for item in found}) == len(found)
        keys = [_key(item) for item in found]
        assert len(set(keys)) == len(keys), keys
        for item in found:  # the same id from day to day until it was looked at, another after
            assert self.ids.setdefault((_key(item), item.occurrence), item.id) == item.id
        assert len(set(self.ids.values())) == len(self.ids)
        expected = Counter(_rule(one) for one in self.follows())
        named = Counter(item.rule for item in found)
        named += Counter(
            one.rule
            for one in plan.not_planned
            if "#" in one.rule and one.operation == "look" and why([one]) != ["looked"]
        )
        assert set(expected.values()) <= {1}  # what was told of it is kept by this name
        assert named == expected  # an item, or a reason why there is none: never both, never neither


def _key(item: Item) -> Key:
    assert item.follows is not None
    return item.follows.rule, item.follows.entry, item.follows.part


def _rule(one: Followed) -> str:
    part = f"@{one.part.id.hex[:8]}" if one.part else ""
    return f"{one.rule}#{one.entry.hex[:8]}.{len(one.looks)}{part}"


def _work(operation: str, *names: str) -> Callable[[Season], None]:
    def act(season: Season) -> None:
        ids = [part(season.bench, season.today, name, kind=_KINDS.get(operation, "branch")) for name in names]
        did(season.bench, season.today, operation, *ids, share=0.6)

    return act


_KINDS = {"wire": "wire", "structural prune": "wound", "thread graft": "graft"}


def _answered(nth: int, how: str) -> Callable[[Season], None]:
    def act(season: Season) -> None:
        found = looks(season.bench.plan(season.today))
        if not found:
            return
        item = found[nth % len(found)]
        if how in ("well", "badly"):
            look(season.bench, item, season.today, well=how == "well")
        elif how == "in a week":
            until = (season.today + 7 * DAY).isoformat()
            answer(season.bench, item, season.today, answer="put off", until=until)
        else:
            answer(season.bench, item, season.today, answer="not this cycle")

    return act


def _changed(name: str, **data: Any) -> Callable[[Season], None]:
    def act(season: Season) -> None:
        part(season.bench, season.today, name, **data)

    return act


names = st.lists(st.sampled_from(PARTS), max_size=2, unique=True)
operations = st.sampled_from(
    ("wire", "unwire", "structural prune", "thread graft", "sever graft", "partial defoliation", "repot",
     "cut back", "decandling", "shelter in")
)  # fmt: skip
changes: st.SearchStrategy[dict[str, Any]] = st.sampled_from([
    {"gone": True},
    {"directive": "undecided", "decide_by": "leaf_fall", "kind": "branch"},
    {"directive": "undecided", "kind": "branch"},
    {"directive": "keep as backup"},
    {"kind": "dieback", "gone": False},
])  # fmt: skip
acts = st.one_of(
    st.builds(lambda operation, of: _work(operation, *of), operations, names),
    st.builds(_answered, st.integers(0, 9), st.sampled_from(("well", "badly", "in a week", "not this year"))),
    st.builds(lambda name, data: _changed(name, **data), st.sampled_from(PARTS), changes),
)
steps = st.lists(st.tuples(st.integers(0, 90), acts), min_size=2, max_size=8)


@pytest.mark.slow
@settings(max_examples=15)  # of up to eight steps, each of which is checked
@given(steps)
def test_each_follow_up_stands_once_until_it_is_closed(
    taken: list[tuple[int, Callable[[Season], None]]],
) -> None:
    season = Season()
    for days, act in taken:
        season.step(days, act)


@pytest.mark.slow
@settings(max_examples=10)
@given(st.lists(st.integers(1, 60), min_size=2, max_size=6))
def test_what_nobody_looks_at_stays_the_same_item(waits: list[int]) -> None:
    bench = maple()
    wired = part(bench, SPRING, "low left", kind="wire")
    did(bench, SPRING, "wire", wired)
    today, first = SPRING, {item.id for item in looks(bench.plan(SPRING))}
    assert first
    for wait in waits:
        today += wait * DAY
        assert {item.id for item in looks(bench.plan(today))} == first


# Late


@pytest.mark.slow
def test_a_late_look_stays_and_its_end_moves_by_whole_weeks() -> None:
    bench = maple()
    did(bench, SPRING, "wire")
    first = the_look(bench, SPRING, "look at the wire")
    ends = set()
    for days in range(0, 120, 3):
        today = first.opens.late + days * DAY
        item = the_look(bench, today, "look at the wire")
        assert item.id == first.id
        assert item.closes.early >= today
        assert (item.closes.early - item.opens.early - (first.closes.early - first.opens.early)).days % 7 == 0
        assert ("overdue" in codes(item)) == (days > 3)
        ends.add(item.closes.early)
    assert 15 <= len(ends) <= 19  # 117 days hold 17 weeks


@pytest.mark.slow
@pytest.mark.parametrize(("operation", "rule"), [("thread graft", "graft growth"), ("wire", "wire off"), ("structural prune", "wound closing")])  # fmt: skip
def test_a_look_not_made_for_years_is_still_due_from_its_own_day(operation: str, rule: str) -> None:
    bench = maple()
    made = part(bench, SPRING, "one", kind=_KINDS[operation])
    did(bench, SPRING, operation, made)
    due = the_look(bench, SPRING, rule).opens.likely
    for months in (2, 9, 13, 16, 26, 40):
        item = the_look(bench, SPRING + months * 30 * DAY, rule)
        assert abs((item.opens.likely - due).days) <= 21, (
            months,
            item.opens,
        )  # of a year not measured any more
        assert item.closes.early >= SPRING + months * 30 * DAY


# Looks that go well or badly


@pytest.mark.parametrize("operation", ["structural prune", "repot", "partial defoliation"])
def test_after_a_bad_look_the_next_comes_sooner(operation: str) -> None:
    def next_look(*, well: bool) -> tuple[date, Item]:
        bench = maple()
        did(bench, SPRING + 60 * DAY, operation)
        item = looks(bench.plan(SPRING + 60 * DAY))[0]
        made = look(bench, item, item.opens.likely, well=well)
        assert item.follows is not None
        return made.happened, the_look(bench, made.happened, item.follows.rule)

    (on, good), (_, bad) = next_look(well=True), next_look(well=False)
    assert good.id == bad.id  # how it went decides when, not which
    assert (bad.opens.likely - on).days == pytest.approx(SOONER * (good.opens.likely - on).days, abs=1)
    assert "concern" in codes(bad)
    assert "looked_well" in codes(good)


def test_a_concern_stays_beyond_its_weeks_until_a_look_goes_well() -> None:
    bench = maple()
    did(bench, SPRING, "repot")
    item = the_look(bench, SPRING, "settling in")
    look(bench, item, SPRING + 3 * DAY, well=False)
    year_on = SPRING + 200 * DAY
    late = the_look(bench, year_on, "settling in")
    assert "concern" in codes(late)
    look(bench, late, year_on)
    plan = bench.plan(year_on)
    assert looks(plan, "settling in") == []
    assert why(closed(plan, "settling in")) == ["looked", "looked", "ended"]


def test_good_looks_end_it() -> None:
    bench = maple()
    did(bench, SPRING, "repot")
    today, seen = SPRING, []
    for _ in range(4):
        item = the_look(bench, today, "settling in")
        seen.append(item.occurrence)
        today = item.opens.likely
        look(bench, item, today)
    assert seen == [0, 1, 2, 3]
    assert looks(bench.plan(today), "settling in") == []


# Other ends


def test_taking_the_wire_off_ends_the_looks_at_that_wire_only() -> None:
    bench = maple()
    both = [part(bench, SPRING, name, kind="wire") for name in PARTS]
    did(bench, SPRING, "wire", *both)
    today = SPRING + 30 * DAY
    assert len(looks(bench.plan(today), "look at the wire")) == 2
    did(bench, today, "unwire", both[0])
    left = looks(bench.plan(today), "look at the wire")
    assert [item.part for item in left] == [PARTS[1]]
    assert why(closed(bench.plan(today), "look at the wire")) == ["ended"]


def test_a_wound_that_has_closed_or_is_gone_wants_no_look() -> None:
    bench = maple()
    wounds = [part(bench, SPRING, name, kind="wound") for name in PARTS]
    did(bench, SPRING, "structural prune", *wounds)
    today = SPRING + 90 * DAY
    told(bench, today, "measure", wounds[0], values={"width": 0.0})
    part(bench, today, PARTS[1], gone=True)
    plan = bench.plan(today)
    assert looks(plan, "wound closing") == []
    assert why(closed(plan, "wound closing")) == ["looked", "ended", "ended"]


def test_new_work_begins_its_follow_up_anew() -> None:
    bench = maple()
    did(bench, SPRING, "wire")
    old = the_look(bench, SPRING, "look at the wire")
    look(bench, old, SPRING + 9 * DAY)
    did(bench, SPRING + 10 * DAY, "wire")
    new = the_look(bench, SPRING + 10 * DAY, "look at the wire")
    assert new.occurrence == 0
    assert new.id != old.id


# Answers


def test_a_look_that_is_put_off_keeps_its_id_and_opens_on_that_day() -> None:
    bench = maple()
    did(bench, SPRING, "wire")
    item = the_look(bench, SPRING, "look at the wire")
    until = item.opens.late + 7 * DAY
    answer(bench, item, item.opens.likely, answer="put off", until=until.isoformat())
    later = the_look(bench, item.opens.likely, "look at the wire")
    assert later.id == item.id
    assert (later.opens.early, later.opens.late) == (until, until)


def test_not_this_year_is_not_for_ever() -> None:
    bench = maple()
    did(bench, SPRING, "wire")
    item = the_look(bench, SPRING, "look at the wire")
    answer(bench, item, SPRING + 30 * DAY, answer="not this cycle")
    plan = bench.plan(SPRING + 60 * DAY)
    assert looks(plan, "look at the wire") == []
    assert why(closed(plan, "look at the wire")) == ["dropped"]
    again = the_look(bench, date(2015, 12, 1), "look at the wire")  # leaves fell in November
    assert again.id == item.id
    assert date(2015, 11, 1) <= again.opens.likely <= date(2015, 12, 1)


# Undecided parts


def test_an_undecided_part_is_asked_about_by_its_stage_and_a_decision_ends_it() -> None:
    bench = maple()
    branch = part(bench, date(2013, 5, 1), "low left", kind="branch")
    told(bench, SPRING, "part", branch, directive="undecided", decide_by="leaf_fall")
    item = the_look(bench, SPRING, "undecided part")
    assert date(2015, 10, 20) <= item.opens.likely <= date(2015, 12, 10)
    assert the_look(bench, date(2016, 6, 1), "undecided part").id == item.id
    told(bench, date(2016, 6, 1), "part", branch, directive="keep as backup")
    plan = bench.plan(date(2016, 6, 1))
    assert looks(plan, "undecided part") == []
    (gone,) = closed(plan, "undecided part")
    assert (why([gone]), gone.rule, gone.cycle) == (["ended"], item.rule, item.cycle)


def test_an_undecided_part_without_a_stage_is_asked_about_in_a_month() -> None:
    bench = maple()
    part(bench, SPRING, "low left", kind="branch", directive="undecided")
    assert the_look(bench, SPRING, "undecided part").opens.likely == SPRING + 30 * DAY


# Wire, by season and warmth


def test_wire_is_looked_at_sooner_in_extending_growth_than_in_winter() -> None:
    waits = {}
    for on in (date(2015, 5, 10), date(2015, 7, 20), date(2015, 12, 20)):
        bench = maple()
        did(bench, on, "wire")
        waits[on] = (the_look(bench, on, "look at the wire").opens.likely - on).days
    growing, hardened, winter = waits.values()
    assert growing < hardened < winter
    assert growing <= 14  # a week in strong growth in acer-palmatum.toml
    assert winter >= 35


def test_an_item_names_the_part_it_is_about() -> None:
    bench = maple()
    made = part(bench, SPRING, "low left", kind="wire")
    did(bench, SPRING, "wire", made)
    item = the_look(bench, SPRING, "look at the wire")
    assert (item.part, item.part_id, item.tree_id) == ("low left", made, bench.trees[0].id)
    assert (item.label, item.done, item.operation) == ("Look at the wire", "Looked", "look")


def test_a_part_of_the_state_is_not_changed_by_planning() -> None:
    bench = maple()
    part(bench, SPRING, "low left", kind="wound", values={"width": 12.0})

    def of_the_log() -> list[Part]:
        (tree,) = bench.trees
        return list(states([tree.id], bench.entries, SPRING)[tree.id].parts.values())

    before = of_the_log()
    assert bench.plan(SPRING) == bench.plan(SPRING)
    assert of_the_log() == before
