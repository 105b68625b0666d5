"""config/feeding.toml: every tree has its row, figures follow the trade's table, and faults are told by their key."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, get_args

import pytest

from calendar_core.app.shell.session import knowledge
from calendar_core.knowledge.words import Aim
from tests.knowledge.broken import Bad, faults, is_told

if TYPE_CHECKING:
    from pathlib import Path

KNOWLEDGE = knowledge()
RULES = KNOWLEDGE.feeding
AIMS = get_args(Aim)


@pytest.mark.parametrize(
    ("aim", "phase", "percent", "n_mg_l"),
    [  # the project's trade facts, D2, for trees of no kind of their own
        ("trunk", "new growth", (100, 100), (150, 200)),
        ("trunk", "late summer", (75, 75), (100, 100)),
        ("structure", "new growth", (75, 75), (100, 150)),
        ("structure", "hard growth", (100, 100), (150, 150)),
        ("ramification", "new growth", (0, 25), (0, 50)),
        ("ramification", "hard growth", (75, 75), (75, 100)),
        ("refinement", "hard growth", (50, 50), (50, 75)),
        ("refinement", "late summer", (50, 75), (50, 75)),
        ("recovery", "new growth", (25, 25), (25, 50)),
    ],
)
def test_figures_are_those_of_the_trade(
    aim: str, phase: str, percent: tuple[float, float], n_mg_l: tuple[float, float]
) -> None:
    found = {str(name): one for name, one in RULES.row(aim, "deciduous").phases.items()}[phase]
    assert (found.percent, found.n_mg_l) == (percent, n_mg_l)


def test_a_tree_that_is_built_gets_no_less_than_one_that_is_refined() -> None:
    strongest = [
        max(one.percent[1] for one in RULES.row(aim, "deciduous").phases.values())
        for aim in ("trunk", "structure", "ramification", "refinement", "recovery")
    ]
    assert strongest == sorted(strongest, reverse=True)
    weeks = [RULES.row(aim, "deciduous").every_weeks for aim in ("trunk", "refinement", "recovery")]
    assert weeks == sorted(weeks)


def test_every_tree_gets_something_while_it_grows() -> None:
    kinds = {profile.kind for profile in KNOWLEDGE.profiles.values()}
    for aim, kind in product(AIMS, kinds):
        row = RULES.row(aim, kind)
        assert {"new growth", "hard growth"} & row.phases.keys(), (aim, kind)
        assert row.hot_percent <= max(one.percent[1] for one in row.phases.values())


def test_the_special_lines_are_their_kinds() -> None:
    """A white pine gets nothing on its candles, a black pine most before it is decandled (Boon Manakitivipart)."""
    assert "new growth" not in RULES.row("refinement", "single-flush-pine").phases
    black = RULES.row("refinement", "two-flush-pine").phases
    assert black["new growth"].percent[1] == max(one.percent[1] for one in black.values()) == 100
    assert RULES.row("recovery", "two-flush-pine") == RULES.row("recovery", "deciduous")


def test_nothing_in_autumn_for_trees_that_recover() -> None:
    assert "autumn" not in RULES.row("recovery", "deciduous").phases


BAD = (
    Bad("no such vigour", "feeding.toml", "recovers_below = 3", "recovers_below = 6", "feeding.toml: vigour.recovers_below: found 6; right would be less than or equal to 5"),
    Bad("high before low", "feeding.toml", "percent = [25, 50]", "percent = [50, 25]", "feeding.toml: strength[0].phases.hard growth: found 50 to 25; right would be low first"),
    Bad("over the label", "feeding.toml", "percent = [100, 100]", "percent = [100, 120]", "feeding.toml: strength[1].phases.new growth.percent[1]: found 120; right would be less than or equal to 100"),
    Bad("no such phase", "feeding.toml", '"late summer" =', '"late sumer" =', "feeding.toml: strength[0].phases.late sumer.[key]: found 'late sumer'; right would be"),
    Bad("no such aim", "feeding.toml", 'aims = ["trunk"]', 'aims = ["trunks"]', "feeding.toml: strength[6].aims[0]: found 'trunks'; right would be 'trunk'"),
    Bad("an aim left out", "feeding.toml", 'aims = ["structure"]', 'aims = ["trunk"]', "feeding.toml: strength has no row of all kinds for structure; right would be one"),
    Bad("no such kind", "feeding.toml", 'kinds = ["two-flush-pine"]', 'kinds = ["two-flush"]', "feeding.toml: strength[1].kinds: found 'two-flush'; right would be a name"),
    Bad("no such stage", "feeding.toml", 'stage = "candles_firm"', 'stage = "candle_firm"', "feeding.toml: begins[2].stage: found 'candle_firm'; right would be a name"),
    Bad("no such operation", "feeding.toml", 'operation = "full defoliation"', 'operation = "defoliation"', "feeding.toml: after[2].operation: found 'defoliation'; right would be a name"),
    Bad("no such operation ahead", "feeding.toml", 'operation = "repot"\nweeks = 2', 'operation = "repotting"\nweeks = 2', "feeding.toml: before[0].operation: found 'repotting'; right would be a name"),
    Bad("none before less", "feeding.toml", "none_from_c = 35", "none_from_c = 31", "feeding.toml: heat: none_from_c lies below less_from_c"),
    Bad("no basis", "feeding.toml", 'run_days = 2\nbasis = "common practice"', "run_days = 2", "feeding.toml: heat.basis: missing"),
    Bad("a source not listed", "feeding.toml", 'source = "boon-2011-04"', 'source = "boon-2011"', "feeding.toml: strength[2].source: found 'boon-2011'"),
)  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("bad", BAD, ids=[bad.what for bad in BAD])
def test_a_fault_is_told_by_file_and_key(config: Path, bad: Bad) -> None:
    is_told(config, bad)


def test_a_missing_file_is_told(config: Path) -> None:
    (config / "feeding.toml").unlink()
    assert "config/feeding.toml: the file is missing" in faults(config)
