"""The shapes of what ``--json`` prints, one for each command; a key more or less, or another type, is a fault."""

from __future__ import annotations

from datetime import date, datetime, time  # noqa: TC003 - read at run time by pydantic
from typing import Annotated, Any, Literal
from uuid import UUID  # noqa: TC003 - as above

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from calendar_core.garden.model import EntryKind  # noqa: TC001 - as above
from calendar_core.knowledge.words import (  # noqa: TC001 - as above
    DateSide,
    Departure,
    Directive,
    MoveCause,
    PartKind,
)

Share = Annotated[float, Field(ge=0, le=1)]
Value = float | str | None
SixKeys = Field(min_length=6, max_length=6)
ByBasis = Literal["numbers", "published", "fitted", "common practice", "from memory", "estimate"]
Shares = Annotated[dict[ByBasis, float], SixKeys]
OfNumber = Literal["path", "value", "basis", "source", "note", "doubt"]
Number = Annotated[dict[OfNumber, float | str | list[int | str]], SixKeys]


class Shape(BaseModel):
    """Exactly these keys."""

    model_config = ConfigDict(extra="forbid")


class Range(Shape):
    """The 10, 50 and 90 % quantiles of a date."""

    early: date
    likely: date
    late: date


class Reason(Shape):
    """One fact behind an item."""

    code: str
    subject: str
    found: Value
    needed: Value
    unit: str
    days: float
    basis: str
    source: str
    note: str


class NotPlanned(Shape):
    """Work that is not planned for a tree."""

    tree_id: UUID
    operation: str
    rule: str
    cycle: int
    reasons: list[Reason]


class Follows(Shape):
    """What a look follows."""

    rule: str
    entry: UUID
    part: UUID | None


class Given(Shape):
    """How strong fertilizer is given; nothing while there is a hold."""

    percent: tuple[float, float]
    low_nitrogen: bool
    hold: list[Reason]
    not_before: date | None


class Item(NotPlanned):
    """Work with its window."""

    id: UUID
    species: str
    aim: str
    opens: Range
    closes: Range
    chance: Share
    status: Literal["due", "wished", "possible"]
    how: str
    cautions: list[str]
    occurrence: int
    shared: bool
    label: str
    part: str
    part_id: UUID | None
    measure: list[str]
    done: str
    follows: Follows | None
    to: UUID | None
    also: list[UUID]
    protects: bool
    given: Given | None
    once: bool


class ForecastKnown(Shape):
    """The forecast inside the possible years."""

    source: str
    issued: datetime
    to: date
    members: int
    offset: dict[str, float]


class Known(Shape):
    """What weather a plan rests on."""

    kind: Literal["measured", "resampled", "normals"]
    years: int
    measured_to: date | None
    place: str
    distance_km: float | None
    forecast: ForecastKnown | None


class Plan(Shape):
    """``plan`` and ``start``."""

    today: date
    weather: Known
    trees: dict[UUID, str]
    items: list[Item]


class Stage(Shape):
    """One stage of one tree in one cycle."""

    stage: str
    bbch: int | None
    cycle: int
    range: Range | None
    share: Share
    seen: bool
    basis: str
    source: str
    note: str


class Tree(Shape):
    """What does not change about a tree."""

    id: UUID
    garden_id: UUID
    label: str
    species: str
    cultivar: str


class Done(Shape):
    """Work that was done."""

    operation: str
    on: date
    entry: UUID
    parts: list[UUID]
    share: Share | None
    regret: str


class Wish(Shape):
    """Work that is wished."""

    operation: str
    cycle: int | None
    anyway: bool
    after: list[UUID]


class Measure(Shape):
    """A measurement, in millimetres but for pairs of leaves."""

    what: str
    value: float
    on: date


class Look(Shape):
    """A look that followed something."""

    rule: str
    of: UUID
    on: date
    well: bool
    part: UUID | None


class Decision(Shape):
    """Work that was decided of a part, and done."""

    operation: str
    on: date
    entry: UUID
    done: date


class Part(Shape):
    """A part of a tree: one of ``part list``."""

    id: UUID
    tree: UUID
    began: UUID
    since: date
    kind: PartKind
    name: str
    height_mm: float | None
    side: str
    directive: Directive
    pairs: Annotated[int, Field(ge=0)]
    decide_by: str
    instead_of: UUID | None
    directed: date | None
    gone: date | None
    decided: str
    decided_on: date | None
    decided_in: UUID | None
    carried_out: list[Decision]
    measures: list[Measure]


class State(Shape):
    """What the log says of a tree."""

    aim: str
    vigour: Annotated[int, Field(ge=1, le=5)]
    size: Literal["small", "medium", "large"]
    spot: UUID | None
    pot: str | None
    pot_litres: float | None
    moves: list[tuple[date, UUID]]
    done: list[Done]
    seen: list[tuple[str, date, datetime]]
    not_yet: list[tuple[str, date]]
    wishes: list[Wish]
    put_off: dict[UUID, date]
    dropped: dict[UUID, date]
    parts: dict[UUID, Part]
    measures: list[Measure]
    looks: list[Look]
    reviews: list[Reviewed]
    broken_off: list[Reviewed]


class Reviewed(Shape):
    """A look of a review round at a tree."""

    round: Literal["late summer", "after leaf fall", "yearly"]
    cycle: int
    depth: Literal["full", "glance"]
    on: date
    minutes: float | None
    answers: dict[str, str | float]
    timed_as: Literal["full", "glance"] | None


class TreeNow(Shape):
    """``tree list``."""

    tree: Tree
    state: State


class Gone(Shape):
    """When a tree left, and why."""

    on: date
    why: Departure
    entry: UUID
    note: str


class TreeGone(Shape):
    """``tree list --gone``."""

    tree: Tree
    gone: Gone


class TreeShown(TreeNow):
    """``tree show``."""

    items: list[Item]
    stages: list[Stage]
    gone: Gone | None


class Spot(Shape):
    """``spot list``."""

    id: UUID
    garden_id: UUID
    name: str
    sun_from: time | None
    sun_to: time | None
    cloth_percent: int
    profile: str
    wind: str
    surface: str
    roof: bool
    quarantine: bool
    horizon: list[tuple[float, float]]


class Entry(Shape):
    """``log``."""

    id: UUID
    garden_id: UUID
    tree_ids: list[UUID]
    happened: date
    recorded_at: datetime
    who: str
    kind: EntryKind
    data: dict[str, Any]
    data_version: int
    at: time | None
    part_ids: list[UUID]
    voids: UUID | None


class Event(Shape):
    """A calendar event as it was published."""

    uid: UUID
    group: str
    cycle: int
    tree_ids: list[UUID]
    start: date
    end: date
    summary: str
    description: str
    reminder: str | None
    categories: list[str]
    status: Literal["TENTATIVE", "CONFIRMED", "CANCELLED"]
    sequence: int
    created_at: datetime
    revised_at: datetime
    dates_changed: date
    text_changed: date
    lent: str
    moves: int
    calendar: Literal["work", "windows", "tree", "helper"]
    begins: time | None
    minutes: int


class Timed(Shape):
    """What has to be done by an hour."""

    uid: UUID
    tree_ids: list[UUID]
    start: datetime
    end: datetime
    summary: str
    description: str
    reminder: str
    sequence: int
    revised_at: datetime
    to: UUID | None
    back: list[tuple[datetime, UUID | None]]
    at: list[UUID]


class Change(Shape):
    """What a publication changed about an event."""

    uid: UUID
    kind: str


class Publication(Shape):
    """``calendar``."""

    kind: Literal["work", "windows", "moves", "tree", "helper"]
    events: list[Event]
    moves: list[Timed]
    changes: list[Change]
    kept_from_before: bool


class DayLine(Shape):
    """A line of a day on the first screen."""

    item: str
    tree_ids: list[UUID]
    minutes: int


class ScreenDay(Shape):
    """A day with its work, and what has no time and is safe until then."""

    day: date
    free: int
    work: list[DayLine]
    ends: list[DayLine]


class FirstScreen(Shape):
    """``today``."""

    today: date
    warnings: list[dict[Literal["id", "subject"], str]]
    judged: bool
    cut_off: list[Annotated[str, Field(min_length=6, max_length=6)]]
    days: list[ScreenDay]
    late: list[str]
    more: list[str]


class Frost(Shape):
    """A frost of a season, and the chance that it is still to come."""

    dates: Range
    chance: float


class Weather(Shape):
    """``weather status``."""

    known: Known
    credit: str
    level: dict[str, float]
    own_level: bool
    years_missing: list[int]
    forecast_fetched: datetime | None
    forecast_expires: datetime | None
    hours_issued: datetime | None
    hours_to: datetime | None
    frost: dict[str, Frost | None]


class Place(Shape):
    """``places``: monthly means of a bundled place."""

    place: str
    latitude: float
    longitude: float
    elevation_m: float | None
    zone: str
    period: str
    credit: str
    t_min_c: Annotated[list[float], Field(min_length=12, max_length=12)]
    t_max_c: Annotated[list[float], Field(min_length=12, max_length=12)]


class Weak(Shape):
    """A number that rests on little."""

    file: str
    key: str
    number: Number
    days: Annotated[float, Field(gt=0)]
    windows: Annotated[int, Field(ge=1)]
    species: Annotated[int, Field(ge=1)]


class Audit(Shape):
    """``audit``."""

    shares: dict[str, Shares]
    weakest: list[Weak]
    cited: dict[str, int]


Pair = tuple[float, float]


class Cakes(Shape):
    """Cakes on a pot."""

    number: tuple[int, int]
    weeks: Pair
    since: date | None
    replace_from: date | None
    replace_by: date | None
    take_off: date | None


class Feeding(Shape):
    """How strong a tree is fertilized from a day on, or why not."""

    day: date
    phase: str
    percent: Pair
    n_mg_l: Pair
    every_weeks: float
    low_nitrogen: bool
    next_on: date | None
    until: date | None
    hold: list[Reason]
    not_before: date | None
    reasons: list[Reason]
    cakes: Cakes


class Dose(Shape):
    """Product a litre, and what that makes."""

    g_per_l: Pair
    made: tuple[dict[Literal["n", "p", "k"], float], dict[Literal["n", "p", "k"], float]]
    by_label: bool


class FeedingStep(Shape):
    """One strength or wait with its dates."""

    feeding: Feeding
    dates: list[date]
    fits: bool
    dose: Dose | None
    g_per_can: Pair | None
    ml_per_can: Pair | None


class Advice(Shape):
    """``fertilize``."""

    tree_id: UUID
    label: str
    steps: Annotated[list[FeedingStep], Field(min_length=1)]
    pot_takes_l: float | None


class Profile(BaseModel):
    """``species show NAME``: the profile with what it shares with its kind."""

    latin: str
    common: str
    habit: str
    stages: dict[str, Any]
    work: list[dict[str, Any]]


class Due(Shape):
    """One event of ``due``."""

    urgency: Literal["concern", "late", "closing", "now", "soon"]
    name: str
    uid: UUID
    items: Annotated[list[Item], Field(min_length=1)]


class Minutes(Shape):
    """A day's free time and the work put on it."""

    day: date
    free: Annotated[int, Field(ge=0)]
    work: list[RotaLine]
    walk: RotaWalk | None


class RotaWalk(Shape):
    """A walk of the review."""

    tree_ids: list[UUID]
    minutes: Annotated[int, Field(gt=0)]


class RotaLine(Shape):
    """Work of one event."""

    item: str
    operation: str
    rule: str
    tree_ids: list[UUID]
    minutes: Annotated[int, Field(gt=0)]
    first: date
    last: date


class RotaLeft(RotaLine):
    """Work that has no day."""

    why: Literal["can wait", "too long", "no room", "beside"]
    cost: Annotated[int, Field(ge=0)]
    again: date | None


class Rota(Shape):
    """``rota``."""

    today: date
    usual_hours: bool
    proven: bool
    trees: dict[UUID, str]
    days: list[Minutes]
    left: list[RotaLeft]


class WalkStop(Shape):
    """A tree that is looked at in a walk."""

    tree_id: UUID
    label: str
    spot: str
    round: Literal["late summer", "after leaf fall", "yearly"]
    cycle: int
    opens: date
    closes: date
    chance: Share
    depth: Literal["full", "glance"]
    minutes: Annotated[float, Field(gt=0)]
    turn: Literal["concern", "tender", "bench", "quarantine"]
    why: list[Reason]
    when: list[Reason]


class WalkOut(Shape):
    """One outing of a round."""

    on: date
    minutes: Annotated[int, Field(gt=0)]
    sunset: time | None
    stops: list[WalkStop]


class NoWalk(Shape):
    """A day without a walk."""

    day: date
    why: Literal["no time", "dark", "cold", "hot", "short", "moved"]


class Walks(Shape):
    """``review plan``."""

    proven: bool
    walks: list[WalkOut]
    left: list[WalkStop]
    not_on: list[NoWalk]


class Hours(Shape):
    """``hours``: minutes of Monday to Sunday."""

    weekly: Annotated[list[int], Field(min_length=7, max_length=7)]
    begins: Annotated[list[time | None], Field(min_length=7, max_length=7)]
    usual: bool
    away: list[dict[Literal["from", "until"], date]]


class Noted(Shape):
    """What speaks of a part before a cut."""

    name: str
    kind: str
    about: str
    on: date
    badly: bool
    directive: str
    measures: list[Measure]


class Card(Shape):
    """``before``."""

    operation: str
    look_first: list[Noted]
    keep: list[Noted]
    held: list[Noted]
    undecided: list[Noted]
    regretted: list[Noted]
    against: list[str]


class History(Shape):
    """``history``."""

    tree: dict[Literal["id", "garden_id", "label", "species", "cultivar"], str]
    entries: list[Entry]
    parts: list[Part]
    measures: list[Measure]


class Moved(Shape):
    """An item with its window before and after."""

    before: Item
    after: Item


class Placed(Shape):
    """Work with its day, and for how many years it waits."""

    operation: str
    on: date | None
    waits: Annotated[int, Field(ge=0)]
    reasons: list[Reason]


class Order(Shape):
    """An order of work over seasons, and what it loses."""

    placed: list[Placed]
    lost: Annotated[int, Field(ge=0)]


class Compared(Shape):
    """A grower's choice beside the best order."""

    against: list[Reason]
    best: Order
    chosen: Order
    cost: int


class WhatIf(Shape):
    """``what-if``."""

    looks: list[Item]
    moved: list[Moved]
    gone: list[Item]
    new: list[Item]
    hard_by: date | None
    chance: Share | None
    against: dict[UUID, list[str]]
    spacing: dict[UUID, Compared]


class Turn(Shape):
    """A tree's turn to be repotted."""

    tree_id: UUID
    species: str
    year: int | None
    first: date | None
    until: date | None
    about: date | None
    last: date | None
    every_years: Annotated[int, Field(gt=0)]
    pot_litres: Annotated[float, Field(gt=0)]
    pot_known: bool
    soil_litres: Annotated[float, Field(gt=0)]
    last_cycle: int | None
    waits: bool


class Step(Shape):
    """Work before a show, for trees that get the same."""

    tree_ids: list[UUID]
    operation: str
    day: date
    how: str
    open: bool | None


class Sitter(BaseModel):
    """``sitter``."""

    model_config = ConfigDict(extra="forbid", populate_by_name=True)

    first: Annotated[date, Field(alias="from")]
    until: date
    thirst: dict[str, list[str]]
    looks: list[Item]


class Threat(Shape):
    """What the hours to come hold for a tree on a day; values in the unit of the hazard."""

    tree: UUID
    hazard: Literal["heat", "sunburn", "hot roots", "drying", "frost", "cold roots", "wind", "hail"]
    day: date
    begins: datetime
    ends: datetime
    typical: float
    bad: float
    caution: float
    danger: float
    chances: tuple[Share, Share]
    reasons: list[str]
    deep: float | None


class Standing(Shape):
    """A warning that holds, in the text it was last told in."""

    id: UUID
    hazard: str
    severity: Literal["Extreme", "Severe", "Moderate", "Minor"]
    onset: datetime
    expires: datetime
    revision: Annotated[int, Field(ge=1)]
    levels: Annotated[dict[UUID, Literal["caution", "danger"]], Field(min_length=1)]
    subject: Annotated[str, Field(min_length=1)]
    text: Annotated[str, Field(min_length=1)]


class Tried(Shape):
    """A message that was tried over a channel; ``why_not`` is empty where it was taken."""

    channel: Annotated[str, Field(min_length=6, max_length=6)]
    why_not: str


class Warned(Shape):
    """``warn``."""

    judged_at: datetime
    forecast_at: datetime | None
    forecast_of: str | None
    cannot_judge: bool
    warnings: list[Standing]
    sent: list[Tried]
    told_now: list[UUID]
    threats: list[Threat]


class WrittenPlace(Shape):
    """``calendar --places``; a place without its login."""

    place: str
    added_at: datetime
    why_failing: str


class Address(Shape):
    """``address list``; an address without its secret."""

    id: UUID
    name: Annotated[str, Field(min_length=6, max_length=6)]
    kind: Literal["work", "windows", "moves", "tree", "helper"]
    tree_id: UUID | None
    label: str
    created_at: datetime
    last_used: datetime | None
    revoked_at: datetime | None


class Channel(Shape):
    """``channel list``; an address without what it may hold of secrets."""

    id: UUID
    name: Annotated[str, Field(min_length=6, max_length=6)]
    kind: Literal["mail", "hook", "apprise", "push"]
    address: str
    person: str
    quiet_from: time | None
    quiet_to: time | None
    why_off: str
    failing_since: datetime | None
    why_failing: str
    while_away: bool
    waiting: Annotated[int, Field(ge=0)]
    why_waiting: str


class HeavyJob(Shape):
    """A heavy job of the coming year."""

    tree_id: UUID
    operation: str
    items: Annotated[list[UUID], Field(min_length=1)]
    parts: list[str]
    minutes: Annotated[int, Field(gt=0)]
    first: date
    last: date
    safe: date
    beside: bool


class WeekJob(HeavyJob):
    """One that has a week."""

    week: date


class Spared(Shape):
    """A tree that is left alone."""

    tree_id: UUID
    reasons: Annotated[list[Reason], Field(min_length=1)]


class SoilSigns(Shape):
    """What speaks for repotting."""

    tree_id: UUID
    seconds: float | None
    bad: list[str]


class Soil(Shape):
    """Soil of one mix, in litres."""

    mix: str
    litres: Annotated[float, Field(gt=0)]
    parts: dict[str, float]
    pots: Annotated[int, Field(gt=0)]
    assumed: Annotated[int, Field(ge=0)]


class WireRoll(Shape):
    """Wire of one thickness."""

    mm: float | None
    branches: Annotated[int, Field(gt=0)]
    metres: tuple[float, float]
    unmeasured: Annotated[int, Field(ge=0)]


class PotToBuy(Shape):
    """A tree that needs a pot."""

    tree_id: UUID
    litres: float | None


class Fertilizer(Shape):
    """A year of fertilizing."""

    nitrogen_g: tuple[float, float]
    litres: Annotated[float, Field(ge=0)]
    trees: Annotated[int, Field(ge=0)]
    unknown_pots: Annotated[int, Field(ge=0)]


class Paste(Shape):
    """Wounds to cover."""

    wounds: Annotated[int, Field(ge=0)]
    works: Annotated[int, Field(ge=0)]


class Supplies(Shape):
    """What to have ready."""

    soil: list[Soil]
    wire: list[WireRoll]
    pots: list[PotToBuy]
    fertilizer: Fertilizer
    paste: Paste
    cautions: list[str]


class YearAhead(Shape):
    """``review next``."""

    today: date
    trees: dict[UUID, str]
    proven: bool
    usual_hours: bool
    jobs: list[WeekJob]
    no_time: list[HeavyJob]
    put_off: list[NotPlanned]
    spared: list[Spared]
    soil: list[SoilSigns]
    supplies: Supplies


class Span(Shape):
    """A year."""

    after: date
    last: date


class Pace(Shape):
    """How fast wounds closed."""

    height: Literal["low", "middle", "top", "height unknown"]
    mm_a_year: float
    wounds: Annotated[int, Field(gt=0)]


class Loss(Shape):
    """A tree that died."""

    tree_id: UUID
    on: date
    note: str
    before: list[Done]


class Moves(Shape):
    """Trees by what their vigour did."""

    up: int
    same: int
    down: int


class Looks(Shape):
    """Looks of reviews."""

    trees: int
    looks: int
    minutes: float
    counted: int


class DateScore(Shape):
    """How good dates were."""

    n: Annotated[int, Field(ge=0)]
    mean_days: float | None
    bias_days: float | None
    inside: Share | None
    untold: Annotated[int, Field(ge=0)]


class YearFigures(Shape):
    """The figures of a year."""

    year: Span
    wounds_closed: int
    wounds_open: int
    paces: list[Pace]
    grafts_measured: int
    grafts_taken: int
    losses: list[Loss]
    vigour: Moves
    looks: Looks
    dates: DateScore
    errors: list[int]


class Summary(Shape):
    """``review summary``."""

    today: date
    trees: dict[UUID, str]
    this: YearFigures
    before: YearFigures | None


class Spell(Shape):
    """How measured days were."""

    first: date
    last: date
    warmer_c: float
    than: Literal["usual", "expected"]


class Written(Shape):
    """What was written since."""

    kind: EntryKind | Literal["void"]
    what: str
    on: date


class MovePart(Shape):
    """What one cause moved a date by."""

    cause: MoveCause
    days: int
    spell: Spell | None
    written: list[Written]


class DateMove(Shape):
    """A told date that moved."""

    item_id: UUID
    side: DateSide
    tree_id: UUID
    told_on: date
    moved_on: date
    before: date
    after: date
    parts: Annotated[list[MovePart], Field(min_length=1)]
    operation: str
    rule: str
    cycle: int
    label: str
    part: str


class Changes(Shape):
    """``changes``."""

    today: date
    since: date
    trees: dict[UUID, str]
    moves: list[DateMove]


SHAPES: dict[str, TypeAdapter[Any]] = {
    "plan": TypeAdapter(Plan),
    "start": TypeAdapter(Plan),
    "why": TypeAdapter(list[Item | NotPlanned]),
    "changes": TypeAdapter(Changes),
    "stages": TypeAdapter(dict[str, list[Stage]]),
    "tree list": TypeAdapter(list[TreeNow]),
    "tree list --gone": TypeAdapter(list[TreeGone]),
    "tree show": TypeAdapter(list[TreeShown]),
    "spot list": TypeAdapter(list[Spot]),
    "log": TypeAdapter(list[Entry]),
    "calendar": TypeAdapter(Publication),
    "today": TypeAdapter(FirstScreen),
    "weather status": TypeAdapter(Weather),
    "species list": TypeAdapter(dict[str, Profile]),
    "species show NAME": TypeAdapter(Profile),
    "places": TypeAdapter(list[Place]),
    "audit NAME": TypeAdapter(Audit),
    "choices": TypeAdapter(dict[str, str]),
    "fertilize": TypeAdapter(list[Advice]),
    "part list": TypeAdapter(dict[str, list[Part]]),
    "due": TypeAdapter(list[Due]),
    "rota": TypeAdapter(Rota),
    "review plan": TypeAdapter(Walks),
    "hours": TypeAdapter(Hours),
    "before": TypeAdapter(Card),
    "history": TypeAdapter(History),
    "what-if": TypeAdapter(WhatIf),
    "repotting": TypeAdapter(list[Turn]),
    "show": TypeAdapter(list[Step]),
    "sitter": TypeAdapter(Sitter),
    "review next": TypeAdapter(YearAhead),
    "review summary": TypeAdapter(Summary),
    "warn": TypeAdapter(Warned),
    "channel list": TypeAdapter(list[Channel]),
    "calendar --places": TypeAdapter(list[WrittenPlace]),
    "address list": TypeAdapter(list[Address]),
}
