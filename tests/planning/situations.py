"""Reads the grower cases of tests/situations and tells where a plan differs from what they expect."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self
from uuid import UUID, uuid5

from pydantic import BaseModel, ConfigDict, Field, model_validator

from calendar_core.garden.model import Spot
from calendar_core.garden.state import states
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.words import Aim, Directive, MeasureName, PartKind, SizeClass, ThermalProfile
from calendar_core.planning.aftercare.cut_card import Noted, before_cut
from calendar_core.planning.aftercare.followed import Followed, followed
from calendar_core.planning.items import Range, item_id
from calendar_core.weather.sources.csv_daily import parse_daily_csv
from tests.planning.made_up import (
    ROOT,
    Bench,
    bench_on_normals,
    bench_on_series,
    codes,
    invented_series,
    knowledge,
)
from tests.planning.spaced import spacing_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from calendar_core.garden.model import Entry, EntryKind, Tree
    from calendar_core.planning.items import Item, NotPlanned, Plan
    from calendar_core.planning.load.spacing import Spacing
    from calendar_core.weather.daily import DailySeries

FOLDER = Path(__file__).parents[1] / "situations"
SEATTLE = (47.5, -122.3)
Days = tuple[date, date]
Names = tuple[str, ...]
Measured = dict[MeasureName, float]
Treated = Directive | None


class Table(BaseModel):
    """A table in which an unknown key is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Invented(Table):
    """Twenty-one years of a made-up station, a yearly wave with noise."""

    latitude: float
    mean_c: float
    swing_c: float
    half_range_c: float
    noise_c: float


class Weather(Table):
    """One of the three kinds."""

    place: str | None = None
    measured: Literal["seattle"] | None = None
    invented: Invented | None = None


class SpotTable(Table):
    """A place where trees stand."""

    name: str
    profile: ThermalProfile


class TreeTable(Table):
    """A tree as it came."""

    label: str
    species: str
    aim: Aim = "structure"
    vigour: Annotated[int, Field(ge=1, le=5)] = 3
    size: SizeClass = "medium"
    spot: str | None = None


class PartTable(Table):
    """A part that is written down, or what changes about one; ``instead_of`` is the name of another."""

    name: str
    kind: PartKind | None = None
    height_mm: float | None = None
    side: str | None = None
    directive: Treated = None
    pairs: int | None = None
    decide_by: str | None = None
    instead_of: str | None = None
    decided: str | None = None
    gone: bool | None = None


class LogTable(Table):
    """One thing that was done, looked at, measured, seen, looked for, wished, answered or said of a part.

    ``part`` as a name says which part (or parts) it is about, as a table writes one down. Work makes the parts it
    names where its operation makes some, at ``height_mm``. ``voided`` is the day it was found to be written in error.
    """

    on: date
    trees: Names
    part: str | Names | PartTable | None = None
    did: str | None = None
    share: Annotated[float, Field(gt=0, le=1)] | None = None
    regret: str | None = None
    height_mm: float | None = None
    looked: str | None = None  # by a rule of aftercare
    went: Literal["well", "badly"] = "well"
    measured: Measured = Field(default_factory=dict)
    saw: str | None = None
    not_yet: str | None = None
    wish: str | None = None
    answer: Literal["put off", "not this cycle"] | None = None
    until: date | None = None
    work: str | None = None  # the item that is answered
    look: str | None = None  # the look that is answered
    cycle: int | None = None
    vigour: Annotated[int, Field(ge=1, le=5)] | None = None
    spot: str | None = None
    voided: date | None = None

    @model_validator(mode="after")
    def _one(self) -> Self:
        ways = (self.did, self.looked, self.saw, self.not_yet, self.wish, self.answer, self.vigour, self.spot)
        said = sum(way is not None for way in ways) + isinstance(self.part, PartTable)
        if said > 1 or (said == 0 and not self.measured):
            raise ValueError("give one of did, looked, saw, not_yet, wish, answer, part = {...}, or measured")
        if self.did is None and (self.share or self.regret or self.height_mm):
            raise ValueError("share, regret and height_mm are of work that was done")
        if (self.answer is None) != (self.work is None and self.look is None):
            raise ValueError("an answer names the work or the look it answers")
        return self

    @property
    def parts(self) -> Names:
        """The names of the parts it is about."""
        if isinstance(self.part, PartTable):
            return (self.part.name,)
        return (self.part,) if isinstance(self.part, str) else self.part or ()


class CardTable(Table):
    """What the card before an operation tells: names of parts; of what has none, the rule, or what was regretted."""

    operation: str
    look_first: Names | None = None
    keep: Names | None = None
    held: Names | None = None
    undecided: Names | None = None
    regretted: Names | None = None
    empty: bool = False


class SpacingTable(Table):
    """What speaks against an operation on a day (codes, in order), and when the tree has recovered from its last work."""

    operation: str
    day: date
    share: Annotated[float, Field(gt=0, le=1)] | None = None
    against: Names = ()
    recovered: Days | None = None


class Expect(Table):
    """One line of the plan: a work or look (by its rule), a stage of a tree, the card before a cut, or its spacing.

    ``on`` is the day of the plan, where it is not that of the case.
    """

    tree: str
    on: date | None = None
    work: str | None = None
    look: str | None = None
    stage: str | None = None
    card: CardTable | None = None
    spacing: SpacingTable | None = None
    part: str | None = None
    cycle: int | None = None
    status: Literal["due", "wished", "possible"] | None = None
    opens: Days | None = None
    closes: Days | None = None
    due: Days | None = None  # of a look: its likely day
    nth: Annotated[int, Field(ge=1)] | None = None  # the how manyth look; those before are answered
    late: bool | None = None
    absent: bool = False
    healed: Days | None = None  # the likely day on which a wound is foretold to be closed
    measure: tuple[MeasureName, ...] | None = None
    chance_at_least: float = 0.0
    chance_at_most: float = 1.0
    reasons: Names = ()
    without: Names = ()  # reasons that are not given
    cautions: Names = ()
    not_planned: Names = ()
    likely: Days | None = None
    never: bool = False

    @model_validator(mode="after")
    def _one(self) -> Self:
        ways = (self.work, self.look, self.stage, self.card, self.spacing)
        if sum(way is not None for way in ways) != 1:
            raise ValueError("give one of work, look, stage, card or spacing")
        if self.look is not None and not (self.due or self.absent or self.not_planned):
            raise ValueError("of a look give due, absent or not_planned")
        return self


class Situation(Table):
    """A whole file; ``fails`` says what in the program is known to be wrong.

    ``shuffle`` writes the log in the reverse order of its days, as if each entry came late.
    """

    title: str
    today: date
    source: str = ""
    fails: str = ""
    shuffle: bool = False
    weather: Weather
    spot: tuple[SpotTable, ...] = ()
    tree: tuple[TreeTable, ...]
    log: tuple[LogTable, ...] = ()
    expect: Annotated[tuple[Expect, ...], Field(min_length=1)]


def read(path: Path) -> Situation:
    """Return the case of a file."""
    return Situation.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))


@cache
def _seattle() -> DailySeries:
    text = (folder("demo") / "seattle-weather.csv").read_text(encoding="utf-8")
    return parse_daily_csv(text, file="seattle-weather.csv").series


# The garden of a case


def bench_of(case: Situation) -> Bench:
    """Return the garden of a case with its trees and log."""
    bench = empty_bench(case)
    for spot in case.spot:
        made = Spot(uuid5(ROOT, spot.name), bench.garden.id, spot.name, profile=spot.profile)
        bench.spots[made.id] = made
    for tree in case.tree:
        stands: dict[str, Any] = {} if tree.spot is None else {"spot": _spot_id(bench, tree.spot)}
        bench.tree(tree.label, tree.species, aim=tree.aim, vigour=tree.vigour, size=tree.size, **stands)
    for entry in case.log:
        _write(bench, entry)
    return bench


def shuffled(entries: Sequence[Entry]) -> list[Entry]:
    """Return the same log as if its days had been written down in reverse; within a day the order stays."""
    days = sorted({entry.happened for entry in entries}, reverse=True)
    late = datetime.combine(days[0], time(12), UTC)
    told = [
        replace(entry, recorded_at=late + timedelta(days=days.index(entry.happened), seconds=number))
        for number, entry in enumerate(entries)
    ]
    return sorted(told, key=lambda entry: entry.recorded_at)


def _spot_id(bench: Bench, name: str) -> str:
    return next(str(spot.id) for spot in bench.spots.values() if spot.name == name)


def empty_bench(case: Situation) -> Bench:
    """Return the garden of a case without its spots, trees and log."""
    weather, today = case.weather, case.today
    if weather.place is not None:
        return bench_on_normals(weather.place)
    if weather.measured is not None:
        return bench_on_series(_seattle(), SEATTLE[0], today, longitude=SEATTLE[1])
    made = weather.invented
    assert made is not None
    years = invented_series(
        date(today.year - 20, 1, 1),
        date(today.year, 12, 31),
        mean_c=made.mean_c,
        swing_c=made.swing_c,
        half_range_c=made.half_range_c,
        noise_c=made.noise_c,
        south=made.latitude < 0,
    )
    return bench_on_series(years, made.latitude, today)


def _write(bench: Bench, entry: LogTable) -> None:
    """Write one line, for each tree by itself where parts are named."""
    for labels in [(label,) for label in entry.trees] if entry.parts or entry.answer else [entry.trees]:
        before = len(bench.entries)
        _write_for(bench, entry, labels)
        if entry.voided is not None:
            for wrong in bench.entries[before:]:
                made = bench.write(entry.voided, wrong.kind, *labels)
                bench.entries[-1] = replace(made, voids=wrong.id)


def _write_for(bench: Bench, entry: LogTable, labels: Names) -> None:
    if entry.did is not None:
        _did(bench, entry, labels)
    elif entry.looked is not None:
        for label in labels:
            one = _beginning(bench, entry, label)
            told = {"rule": entry.looked, "of": str(one.entry), "went": entry.went}
            _add(bench, entry, "look", (label,), **told, **_values(entry))
    elif isinstance(entry.part, PartTable):
        _part(bench, entry, labels[0], entry.part)
    elif entry.measured:
        _add(bench, entry, "measure", labels, **_values(entry))
    elif entry.saw is not None or entry.not_yet is not None:
        bench.write(entry.on, "seen", *labels, stage=entry.saw or f"not yet {entry.not_yet}")
    elif entry.vigour is not None:
        bench.write(entry.on, "state", *labels, vigour=entry.vigour)
    elif entry.spot is not None:
        bench.write(entry.on, "state", *labels, spot=_spot_id(bench, entry.spot))
    elif entry.wish is not None:
        bench.write(entry.on, "wish", *labels, operation=entry.wish, cycle=entry.cycle)
    else:
        until = {} if entry.until is None else {"until": entry.until.isoformat()}
        item = _answered(bench, entry, labels[0])
        bench.write(entry.on, "answer", *labels, item=str(item), answer=entry.answer, **until)


def _add(bench: Bench, entry: LogTable, kind: EntryKind, labels: Names, **data: Any) -> None:
    """Write an entry about the parts a line names."""
    made = bench.write(entry.on, kind, *labels, **data)
    ids = tuple(_part_id(labels[0], name) for name in entry.parts)
    bench.entries[-1] = replace(made, part_ids=ids)


def _part_id(label: str, name: str) -> UUID:
    return uuid5(ROOT, f"part {label} {name}")


def _values(entry: LogTable) -> dict[str, Any]:
    return {"values": dict(entry.measured)} if entry.measured else {}


def _did(bench: Bench, entry: LogTable, labels: Names) -> None:
    """Write work as the command line does: the parts it makes, the work, what was measured."""
    assert entry.did is not None
    makes = knowledge().operations[entry.did].makes
    for name in entry.parts:
        if _part_id(labels[0], name) not in _state(bench, labels[0], entry.on).parts:
            assert makes is not None, f"{entry.on}: {labels[0]} has no part '{name}'"
            _part(bench, entry, labels[0], PartTable(name=name, kind=makes, height_mm=entry.height_mm))
    told = {"share": entry.share, "regret": entry.regret}
    data = {key: value for key, value in told.items() if value is not None}
    _add(bench, entry, "work", labels, operation=entry.did, **data)
    if entry.measured:
        _add(bench, entry, "measure", labels, **_values(entry))


def _part(bench: Bench, entry: LogTable, label: str, part: PartTable) -> None:
    data: dict[str, Any] = part.model_dump(exclude_none=True)
    if part.instead_of is not None:
        data["instead_of"] = str(_part_id(label, part.instead_of))
    if part is entry.part:
        data |= _values(entry)
    made = bench.write(entry.on, "part", label)
    bench.entries[-1] = replace(made, part_ids=(_part_id(label, part.name),), data=data)


def _state(bench: Bench, label: str, on: date) -> Any:
    tree = _tree(bench, label)
    return states([tree.id], bench.entries, on)[tree.id]


def _tree(bench: Bench, label: str) -> Tree:
    return next(tree for tree in bench.trees if tree.label == label)


def _beginning(bench: Bench, entry: LogTable, label: str) -> Followed:
    """Return what a look follows: the latest work or part of its rule."""
    assert entry.looked is not None
    found = _followed(bench, label, entry.looked, entry.parts, entry.on)
    assert len(found) == 1, f"{entry.on}: {label} has {len(found)} things that '{entry.looked}' follows"
    return found[0]


def _followed(bench: Bench, label: str, rule: str, parts: Names, on: date) -> list[Followed]:
    """Return what a rule follows of a tree: of the parts named, or of the tree as a whole."""
    every = followed(rule, knowledge().aftercare[rule], _state(bench, label, on))
    return [one for one in every if (() if one.part is None else (one.part.name,)) == parts]


def _answered(bench: Bench, entry: LogTable, label: str) -> UUID:
    """Return the item that is answered: of work that of its cycle, of a look what the plan of the day shows."""
    tree = _tree(bench, label)
    if entry.work is not None and entry.work != "hold":
        assert entry.cycle is not None
        return item_id(bench.garden.id, tree.id, entry.work, entry.cycle)
    rule, part = entry.look or "hold", entry.parts[0] if entry.parts else ""
    found = [i for i in bench.plan(entry.on).items if _is_at(i, tree, rule, part)]
    assert len(found) == 1, f"{entry.on}: {label} has {len(found)} items of '{rule}'"
    return found[0].id


def _is_at(item: Item, tree: Tree, rule: str, part: str) -> bool:
    """Tell whether an item is of a tree, a part ("" for none) and a rule that is followed again and again."""
    return (item.tree_id, item.part, item.rule.partition("#")[0]) == (tree.id, part, rule)


# What differs


def misses(case: Situation, bench: Bench) -> Iterator[str]:
    """Yield one line for each thing that is not as expected."""
    days = dict.fromkeys(expect.on or case.today for expect in case.expect)
    plans = {day: bench.plan(day) for day in days}
    for expect in case.expect:
        what = expect.work or expect.look or expect.stage or ("card" if expect.card else "spacing")
        told = (str(expect.on or ""), expect.tree, expect.part, f"{what} {expect.cycle or ''}".strip())
        for miss in _check(expect, bench, plans[expect.on or case.today]):
            yield f"{', '.join(part for part in told if part)}: {miss}"


def _check(expect: Expect, bench: Bench, plan: Plan) -> Iterator[str]:
    tree = _tree(bench, expect.tree)
    if expect.stage is not None:
        return _stage_misses(expect, tree.id, plan)
    if expect.card is not None:
        return _card_misses(expect.card, _state(bench, expect.tree, plan.today), plan.today)
    if expect.spacing is not None:
        return _spacing_misses(expect.spacing, spacing_of(bench, expect.tree, plan.today))
    if expect.look is not None:
        return _look_misses(expect, bench, plan)
    if expect.work == "hold":
        return _one_misses(expect, [i for i in plan.items if _is_at(i, tree, "hold", expect.part or "")], [])
    return _work_misses(expect, tree.id, plan, bench)


def _stage_misses(expect: Expect, tree: object, plan: Plan) -> Iterator[str]:
    found = next(
        s
        for t, dated in plan.stages.items()
        if t == tree
        for s in dated
        if (s.stage, s.cycle) == (expect.stage, expect.cycle)
    )
    if expect.never and found.range is not None:
        yield f"comes {found.range}, share {found.share}"
    if expect.likely is not None:
        yield from _outside("likely", expect.likely, found.range)


def _work_misses(expect: Expect, tree: object, plan: Plan, bench: Bench) -> Iterator[str]:
    wanted = expect.work or ""
    for spot in bench.spots.values():  # a check is told by the spot that it is of
        wanted = wanted.replace(f"winter check {spot.name}", f"winter check {spot.id.hex[:8]}")

    def here(one: object) -> bool:
        named = (getattr(one, "tree_id", None), getattr(one, "rule", None)) == (tree, wanted)
        return named and expect.cycle in (None, getattr(one, "cycle", None))

    item = next((i for i in plan.items if here(i)), None)
    against = [code for one in plan.not_planned if here(one) for code in codes(one)]
    if expect.not_planned or expect.absent:
        yield from _not_planned_misses(expect, item, against)
    elif item is not None:
        yield from _item_misses(expect, item)
    elif expect.chance_at_least > 0 or expect.status or expect.opens:
        yield f"is not planned: {against}"
    elif not against:
        yield "nothing is said of it"


def _look_misses(expect: Expect, bench: Bench, plan: Plan) -> Iterator[str]:
    """Compare the looks of a rule at a tree or a part of it: there is one at most, and those before it are answered."""
    assert expect.look is not None
    tree, part = _tree(bench, expect.tree), expect.part or ""
    items = [i for i in plan.items if _is_at(i, tree, expect.look, part)]
    begun = _followed(bench, expect.tree, expect.look, (part,) if part else (), plan.today)
    rules = {(f"{expect.look}#{one.entry.hex[:8]}", one.part.id.hex[:8] if one.part else "") for one in begun}
    told = [n for n in plan.not_planned if n.tree_id == tree.id and _look_of(n) in rules]
    yield from _one_misses(expect, items, told)
    if items and expect.nth is not None:
        answered = [n for n in range(expect.nth - 1) if not _is_answered(told, n)]
        if items[0].occurrence != expect.nth - 1 or answered:
            yield f"is look number {items[0].occurrence + 1}; not answered are {answered}"


def _look_of(one: NotPlanned) -> tuple[str, str]:
    """Return the rule and entry that a look is of, and the part."""
    look, _, part = one.rule.partition("@")
    return look.rpartition(".")[0], part


def _is_answered(told: Sequence[NotPlanned], occurrence: int) -> bool:
    return any(
        one.rule.partition("@")[0].endswith(f".{occurrence}") and codes(one)[0] in {"looked", "dropped"}
        for one in told
    )


def _one_misses(expect: Expect, items: Sequence[Item], told: Sequence[NotPlanned]) -> Iterator[str]:
    """Compare what comes again and again: at most one item of it is in the plan."""
    against = [code for one in told for code in codes(one)]
    if len(items) > 1:
        yield f"is planned {len(items)} times: {[item.rule for item in items]}"
    elif expect.absent or expect.not_planned:
        yield from _not_planned_misses(expect, items[0] if items else None, against)
    elif not items:
        yield f"is not planned: {against}"
    else:
        yield from _item_misses(expect, items[0])


def _not_planned_misses(expect: Expect, item: Item | None, against: Sequence[str]) -> Iterator[str]:
    if item is not None:
        yield f"is planned: {item.opens}"
    for code in expect.not_planned:
        if code not in against:
            yield f"not planned because of {against}, not {code}"


def _item_misses(expect: Expect, item: Item) -> Iterator[str]:
    if expect.status not in (None, item.status):
        yield f"is {item.status}"
    if not expect.chance_at_least <= item.chance <= expect.chance_at_most:
        yield f"chance {item.chance}"
    edges = (("opens", expect.opens, item.opens), ("due", expect.due, item.opens), ("closes", expect.closes, item.closes))  # fmt: skip
    for edge, days, found in edges:
        if days is not None:
            yield from _outside(edge, days, found)
    yield from _reason_misses(expect, item)
    for caution in expect.cautions:
        if caution not in item.cautions:
            yield f"has no caution {caution}: {item.cautions}"
    if expect.measure not in (None, item.measure):
        yield f"asks for {item.measure}"


def _reason_misses(expect: Expect, item: Item) -> Iterator[str]:
    given = codes(item)
    for code in expect.reasons:
        if code not in given:
            yield f"does not say {code}: {given}"
    for code in expect.without:
        if code in given:
            yield f"says {code}"
    if expect.late not in (None, "overdue" in given):
        yield "is late" if "overdue" in given else f"is not late: {item.opens}"
    if expect.healed is not None:
        days = [date.fromisoformat(r.subject) for r in item.reasons if r.code.endswith("closes_by")]
        if not days or not expect.healed[0] <= days[0] <= expect.healed[1]:
            yield f"healed {days[0] if days else given}, not {expect.healed[0]} to {expect.healed[1]}"


def _card_misses(expect: CardTable, state: Any, today: date) -> Iterator[str]:
    card = before_cut(state, expect.operation, knowledge(), today)
    if expect.empty and not card.empty:
        yield f"is not empty: {card}"
    for heading in ("look_first", "keep", "held", "undecided", "regretted"):
        wanted, found = getattr(expect, heading), _named(getattr(card, heading))
        if wanted not in (None, found):
            yield f"{heading}: {found}, not {wanted}"


def _spacing_misses(expect: SpacingTable, spacing: Spacing) -> Iterator[str]:
    against = tuple(one.code for one in spacing.warnings(expect.operation, expect.day, expect.share))
    if against != expect.against:
        yield f"{expect.operation}: {against}, not {expect.against}"
    if expect.recovered is not None:
        last = spacing.jobs[-1]
        yield from _outside("recovered", expect.recovered, spacing.recovered(last.operation, last.on))


def _named(noted: Sequence[Noted]) -> Names:
    return tuple(one.name or one.about for one in noted)


def _outside(edge: str, days: Days, found: Range | None) -> Iterator[str]:
    if found is None or not days[0] <= found.likely <= days[1]:
        yield f"{edge} {found and found.likely}, not {days[0]} to {days[1]}"
