"""How long looks take is learned from those whose minutes were counted, round by round; all figures are invented."""

from __future__ import annotations

from datetime import UTC, date, datetime
from uuid import UUID

import numpy as np
import pytest

from calendar_core.garden.model import Entry
from calendar_core.garden.state import TreeState, states
from calendar_core.planning.review.depth import Pace, usual_minutes
from tests.planning.made_up import knowledge

GARDEN = UUID(int=1)
TRUE = 1.5  # how much longer than usual this grower takes
MAPLES, PINE, FIG = [UUID(int=number) for number in range(10, 16)], UUID(int=20), UUID(int=30)
SPECIES = {**dict.fromkeys(MAPLES, "acer-palmatum"), PINE: "pinus-thunbergii", FIG: "ficus"}
RULES = knowledge().review.minutes


def _entry(number: int, tree: UUID, on: date, kind: str, data: dict[str, object]) -> Entry:
    written = datetime(on.year, on.month, on.day, 18, number % 60, tzinfo=UTC)
    return Entry(UUID(int=1000 + number), GARDEN, (tree,), on, written, "owner", kind, data)  # type: ignore[arg-type]


def _collection() -> list[Entry]:
    """Return trees of several sizes and aims, as they joined."""
    kinds = [("refinement", "large"), ("structure", "small"), ("trunk", "medium"), ("ramification", "medium")]
    return [
        _entry(
            number,
            tree,
            date(2010, 1, 1),
            "state",
            {"aim": kinds[number % 4][0], "size": kinds[number % 4][1]},
        )
        for number, tree in enumerate(SPECIES)
    ]


def after(rounds: int, spread: float = 0.0, seed: int = 0) -> dict[UUID, TreeState]:
    """Return the trees after so many late summer rounds in which maples and pine were looked at.

    ``spread`` is that of ln of the minutes about the true ones, from one look to the next.
    """
    chance, entries = np.random.default_rng(seed), _collection()
    known = states(list(SPECIES), entries, date(2010, 12, 31))
    for year in range(2011, 2011 + rounds):
        for tree in [*MAPLES, PINE]:
            true = TRUE * usual_minutes(known[tree], "full", RULES) * float(np.exp(chance.normal(0, spread)))
            said = {"round": "late summer", "cycle": year, "depth": "full", "minutes": round(true, 1)}
            entries.append(_entry(len(entries), tree, date(year, 9, 20), "review", said))
    return states(list(SPECIES), entries, date(2011 + rounds, 1, 1))


def error(rounds: int, tree: UUID, spread: float = 0.0, seed: int = 0) -> float:
    """Return how far the foreseen minutes of a tree are from its true ones, as a share of these."""
    trees = after(rounds, spread, seed)
    true = TRUE * usual_minutes(trees[tree], "full", RULES)
    return abs(Pace(trees, SPECIES, RULES).minutes(tree, trees[tree], "full") / true - 1)


@pytest.mark.parametrize("tree", [*MAPLES, PINE])
def test_three_rounds_teach_a_growers_pace_also_of_a_tree_alone_of_its_kind(tree: UUID) -> None:
    assert error(0, tree) == pytest.approx(1 / 3)
    assert error(3, tree) < 0.15


@pytest.mark.parametrize("tree", [MAPLES[0], PINE])
def test_looks_that_differ_from_one_to_the_next_teach_it_as_well_on_average(tree: UUID) -> None:
    """A fifth more or less each time: of one in five such growers a lone tree's pace is off by more."""
    assert np.mean([error(3, tree, 0.2, seed) for seed in range(100)]) < 0.15


def test_every_round_comes_nearer() -> None:
    errors = [error(rounds, PINE) for rounds in range(8)]
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] < 0.05


def test_a_tree_not_yet_looked_at_has_the_pace_of_its_species_and_a_species_never_seen_none() -> None:
    trees = after(3)
    new = UUID(int=40)
    trees[new] = TreeState()
    pace = Pace(trees, {**SPECIES, new: "acer-palmatum"}, RULES)
    usual = usual_minutes(trees[new], "full", RULES)
    assert 1.3 * usual < pace.minutes(new, trees[new], "full") < TRUE * usual
    assert pace.minutes(FIG, trees[FIG], "full") == usual_minutes(trees[FIG], "full", RULES)


def test_a_look_that_was_not_counted_or_broken_off_teaches_nothing() -> None:
    said = {"round": "late summer", "cycle": 2011, "depth": "full"}
    entries = [
        *_collection(),
        _entry(90, PINE, date(2011, 9, 20), "review", said),
        _entry(91, FIG, date(2011, 9, 20), "review", {**said, "minutes": 60, "broken_off": True}),
    ]
    trees = states(list(SPECIES), entries, date(2012, 1, 1))
    pace = Pace(trees, SPECIES, RULES)
    for tree in (PINE, FIG):
        assert pace.minutes(tree, trees[tree], "full") == usual_minutes(trees[tree], "full", RULES)


def test_a_full_look_that_counts_as_a_glance_teaches_as_a_full_one() -> None:
    said = {"round": "late summer", "cycle": 2011, "depth": "glance", "timed_as": "full"}
    entries = _collection()
    usual = usual_minutes(states(list(SPECIES), entries, date(2011, 1, 1))[PINE], "full", RULES)
    entries.append(_entry(90, PINE, date(2011, 9, 20), "review", {**said, "minutes": usual}))
    trees = states(list(SPECIES), entries, date(2012, 1, 1))
    assert Pace(trees, SPECIES, RULES).minutes(PINE, trees[PINE], "full") == pytest.approx(usual)


def test_a_slip_of_the_pen_teaches_no_more_than_a_look_four_times_as_long() -> None:
    paces = []
    for minutes in (0.01, 600.0):
        said = {"round": "late summer", "cycle": 2011, "depth": "full", "minutes": minutes}
        trees = states(
            list(SPECIES),
            [*_collection(), _entry(90, PINE, date(2011, 9, 20), "review", said)],
            date(2012, 1, 1),
        )
        usual = usual_minutes(trees[PINE], "full", RULES)
        paces.append(Pace(trees, SPECIES, RULES).minutes(PINE, trees[PINE], "full") / usual)
    assert 1 / 4 < paces[0] < 1 < paces[1] < 4
