"""What warnings are worth over a season of real hours when forecasts err.

Run by hand: ``python -m tests.benchmarks.warning_season [SEEDS]`` (default 3: 0, 1 and 2; about ten minutes). Hours: Greensboro
TMY3 from the pvlib package, heat from April to October and frost on new leaves from 15 March to 31 May, judged at 6 and 18 h
on the forecast of that hour. How forecasts err, with sources and assumptions: `tests.alerts.erring`; the gardens:
`tests.alerts.season`. What the program believes of forecasts stands in config/hazards.toml and is the same in all rows.

Columns, of tree-days: in danger, the worst hour 1 degC or more past the line of danger; missed, no warning of that tree stood 3
hours before; told as danger; past the line of caution, and how many of these were named; warned; and false, never within
2 degC of the line of caution, though it may have been withdrawn. Of warnings: how many, false for all of their trees, changes in the mean and at most, withdrawn,
raised again, median and least lead [h] of danger. Goals: no miss, one tree-day in ten false, two changes; what breaks one bears "!". No miss comes first.

The plain rule warns of all trees while the forecast extreme of the air reaches a line.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

from tests.alerts.erring import World
from tests.alerts.hazards.gardens import KNOWLEDGE
from tests.alerts.season import (
    SPRING_TREES,
    SUMMER_TREES,
    Run,
    Score,
    Season,
    came,
    runs,
    score,
    told_by_air,
    told_by_program,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.knowledge.forms.warnings import WarningRules
    from tests.alerts.season import Truth

HEAT = Season("heat", 4, 1, 214, SUMMER_TREES)
FROST = Season("frost", 3, 15, 78, SPRING_TREES)
AIR_C = {"heat": (32.0, 35.0), "frost": (2.0, 0.0)}
RULES = KNOWLEDGE.warnings
CAUTION_FROM = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
DANGER_FROM = (0.05, 0.1, 0.2, 0.3, 0.5)
FALSE_GOAL, UPDATES_GOAL = 0.1, 2
HEAD = (
    f"{'':36s}danger missed as danger  caution  told  warned  false  warnings false  changes most  withdrawn"
    " again   lead least"
)
AS_SOURCED, WORST = "errors as sourced and assumed", "errors one and a half times"
OFTEN = "judged four times a day"
WORLDS = {
    AS_SOURCED: World(),
    "errors half": World(scale=0.5),
    WORST: World(scale=1.5),
    "errors fade in 8 h": World(lasts_h=8.0),
    "errors fade in 72 h": World(lasts_h=72.0),
    "forecasts share 3 tenths of error": World(shared=0.3),
    "forecasts share 9 tenths of error": World(shared=0.9),
}


def line(title: str, of: Score) -> str:
    """Return a row of the table."""
    warnings, leads = max(len(of.events), 1), of.leads_h or [0.0]
    missed, false, changed = (
        "!" if bad else " " for bad in (of.missed, of.false > FALSE_GOAL, of.most_updates > UPDATES_GOAL)
    )
    return (
        f"{title:36s}{of.count('danger'):6d}{of.missed:7d}{missed}{of.danger_told:9.0%}"
        f"{of.count('caution'):9d}{of.caution_told:6.0%}{of.count('named'):8d}{of.false:7.1%}{false}"
        f"{len(of.events):9d}{of.total('false') / warnings:6.0%}"
        f"{of.total('updates') / warnings:9.2f}{of.most_updates:5d}{changed}"
        f"{of.total('withdrawn'):10d}{of.total('again'):6d}{median(leads):7.0f}{leads[0]:6.0f}"
    )


def raised_from(
    caution: float = RULES.caution.raised_from, danger: float = RULES.danger.raised_from
) -> WarningRules:
    """Return the rules with other chances that raise; they are kept from as much below as now, or half."""
    play = RULES.caution.raised_from - RULES.caution.kept_from
    changes = {
        "caution": {"raised_from": caution, "kept_from": max(caution - play, caution / 2)},
        "danger": {"raised_from": danger, "kept_from": danger / 2},
    }
    return RULES.model_copy(
        update={name: getattr(RULES, name).model_copy(update=to) for name, to in changes.items()}
    )


def curve(truth: Truth, season: Season, judged: Sequence[list[Run]]) -> None:
    """Print the rows of other chances and of the plain rule on the same forecasts."""
    for chance in CAUTION_FROM:
        told = (told_by_program(of, raised_from(caution=chance)) for of in judged)
        print(line(f"  caution from a chance of {chance:g}", score(truth, *told)))
    for chance in DANGER_FROM:
        told = (told_by_program(of, raised_from(danger=chance)) for of in judged)
        print(line(f"  danger from a chance of {chance:g}", score(truth, *told)))
    for line_c in AIR_C[season.hazard]:
        told = (told_by_air(of, line_c, season) for of in judged)
        print(line(f"  air at {line_c:g} degC", score(truth, *told)))


def table(title: str, season: Season, seeds: range) -> None:
    """Print how warnings do in each world, and the trade-off in the first and where errors are worst."""
    print(f"\n{title}; seeds {', '.join(map(str, seeds))}\n{HEAD}")
    truth, scores = came(season), {}
    curves: dict[str, list[list[Run]]] = {}
    often = replace(season, judged_at=(0, 6, 12, 18))
    cases = {name: (season, world) for name, world in WORLDS.items()} | {OFTEN: (often, World())}
    for name, (judged_as, world) in cases.items():
        judged = [runs(judged_as, world, seed) for seed in seeds]
        scores[name] = score(truth, *map(told_by_program, judged))
        print(line(name, scores[name]), flush=True)
        if name in (AS_SOURCED, WORST):
            curves[name] = judged
    verdict(scores)
    for name, judged in curves.items():
        print(f"\n{name}")
        curve(truth, season, judged)


def verdict(scores: dict[str, Score]) -> None:
    """Print which goal fails where; no miss comes before the others, which are let go where they cannot hold with it."""
    fails = {
        "a miss": [name for name, of in scores.items() if of.missed],
        "more than one in ten false": [name for name, of in scores.items() if of.false > FALSE_GOAL],
        "more than two changes": [name for name, of in scores.items() if of.most_updates > UPDATES_GOAL],
    }
    for goal, names in fails.items():
        print(f"{goal}: {', '.join(names) or 'nowhere'}")


def main(n_seeds: int) -> None:
    """Print the tables."""
    begun = perf_counter()
    table("Heat, April to October", HEAT, range(n_seeds))
    table("Frost, 15 March to 31 May", FROST, range(n_seeds))
    print(f"\n{perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 3)
