"""The closed lists: every word that config/, entries and code must agree on stands here, once."""

from __future__ import annotations

from typing import Literal, get_args

Aim = Literal["trunk", "structure", "ramification", "refinement", "recovery"]
SizeClass = Literal["small", "medium", "large"]
Habit = Literal["deciduous", "conifer", "broadleaf evergreen", "tropical"]
Basis = Literal["published", "fitted", "common practice", "from memory", "estimate"]

ThermalProfile = Literal["open", "cold frame", "frost-free", "heated"]
Cover = Literal["cold frame", "frost-free", "heated"]
Surface = Literal["bench", "grass", "gravel", "paving", "dark paving", "ground", "mulch", "pale wall", "deck"]
Wind = Literal["sheltered", "normal", "windy"]
PotKind = Literal["unglazed", "dark glazed", "light glazed", "black plastic", "wood"]

PartKind = Literal[
    "apex", "branch", "graft", "wound", "wire", "dieback", "sacrifice branch", "back bud", "air layer"
]
Directive = Literal[
    "grow free", "hold", "keep as backup", "remove when replaced", "watch", "undecided", "no directive"
]
Departure = Literal["died", "sold", "given away"]
MeasureName = Literal[
    "width", "entry", "exit", "bite", "dry", "diameter", "length", "pairs", "height", "girth", "leaf"
]

Hazard = Literal["heat", "sunburn", "hot roots", "drying", "frost", "cold roots", "wind", "hail"]
Means = Literal["nothing", "water", "move", "lay down", "cover", "shade pot", "wrap", "set down"]

RoundName = Literal["late summer", "after leaf fall", "yearly"]
LookDepth = Literal["full", "glance"]
CheckPlace = Literal["soil", "base", "trunk", "branches", "top", "tree"]
PestPlace = Literal["foliage", "bark", "flowers", "soil"]
AnswerKind = Literal["number", "good or bad", "none or found", "yes or no", "vigour", "choice"]

Role = Literal["reader", "worker", "owner"]
"""What one may do on the pages: look, write the log too, or everything."""

DateSide = Literal["opens", "safe"]
MoveCause = Literal["knowledge", "record", "time", "weather", "forecast", "sight", "entry"]

AIMS: tuple[Aim, ...] = get_args(Aim)
SIZES: tuple[SizeClass, ...] = get_args(SizeClass)
HABITS: tuple[Habit, ...] = get_args(Habit)
THERMAL_PROFILES: tuple[ThermalProfile, ...] = get_args(ThermalProfile)
COVERS: tuple[Cover, ...] = get_args(Cover)
"""The coolest first."""
SURFACES: tuple[Surface, ...] = get_args(Surface)
WINDS: tuple[Wind, ...] = get_args(Wind)
POT_KINDS: tuple[PotKind, ...] = get_args(PotKind)
PART_KINDS: tuple[PartKind, ...] = get_args(PartKind)
DIRECTIVES: tuple[Directive, ...] = get_args(Directive)
DEPARTURES: tuple[Departure, ...] = get_args(Departure)
HAZARDS: tuple[Hazard, ...] = get_args(Hazard)
MEANS: tuple[Means, ...] = get_args(Means)
ROUNDS: tuple[RoundName, ...] = get_args(RoundName)
CHECK_PLACES: tuple[CheckPlace, ...] = get_args(CheckPlace)
"""In the order in which a hand moves over a tree."""
DATE_SIDES: tuple[DateSide, ...] = get_args(DateSide)
MOVE_CAUSES: tuple[MoveCause, ...] = get_args(MoveCause)
"""What moves a told date, in the order in which it is let come true."""
ROLES: tuple[Role, ...] = get_args(Role)
