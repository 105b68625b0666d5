"""config/spacing.toml and the weights it goes by: as the trade has them, and faults told by their key."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from calendar_core.app.shell.session import knowledge
from tests.knowledge.broken import Bad, breaks, faults

if TYPE_CHECKING:
    from pathlib import Path

KNOWLEDGE = knowledge()
FILE = "spacing.toml"


@pytest.mark.parametrize(
    ("operation", "weight"),
    [  # the project's trade facts, G
        ("repot", 3),
        ("structural prune", 3),
        ("full defoliation", 2),
        ("decandling", 2),
        ("air layer", 2),
        ("partial defoliation", 1),
        ("wire", 1),
        ("thread graft", 1),
    ],
)
def test_weights_are_those_of_the_trade(operation: str, weight: int) -> None:
    assert KNOWLEDGE.operations[operation].weight == weight


def test_budgets_are_those_of_the_trade_but_for_a_steady_tree() -> None:
    """The trade facts, G, give 2 at vigour 3; the profiles repot and prune such trees, which weighs 3 (common practice)."""
    budget = KNOWLEDGE.spacing.budget
    assert [budget.of(vigour) for vigour in (1, 2, 4, 5)] == [0, 1, 4, 5]
    for profile in KNOWLEDGE.profiles.values():
        for work in profile.work:
            assert KNOWLEDGE.operations[work.operation].weight <= budget.of(work.requires.vigour_min), (
                work.key
            )


def test_the_yearly_work_of_a_steady_tree_leaves_room_for_a_heavy_job() -> None:
    for profile in KNOWLEDGE.profiles.values():
        for work in profile.work:
            if work.due == "programme" and work.requires.vigour_min <= 3:
                assert KNOWLEDGE.operations[work.operation].weight in (0, 3), (profile.latin, work.key)


@pytest.mark.parametrize(("share", "weight"), [(None, 0), (0.2, 0), (0.3, 1), (0.6, 1), (0.8, 2), (1.0, 2)])
def test_work_weighs_by_the_foliage_it_took(share: float | None, weight: int) -> None:
    assert KNOWLEDGE.spacing.least_weight(share) == weight


@pytest.mark.slow
@pytest.mark.parametrize(
    "bad",
    [
        Bad(
            "a stronger tree that bears less",
            FILE,
            "by_vigour = [0, 1, 3, 4, 5]",
            "by_vigour = [0, 3, 1, 4, 5]",
            f"{FILE}: budget: by_vigour is [0, 3, 1, 4, 5]; right would be no less for a stronger tree",
        ),
        Bad(
            "a budget without a vigour",
            FILE,
            "by_vigour = [0, 1, 3, 4, 5]",
            "by_vigour = [0, 1, 3, 4]",
            f"{FILE}: budget.by_vigour: found",
        ),
        Bad(
            "no heat",
            FILE,
            "heat = 650",
            "heat = 0",
            f"{FILE}: recovery.repot.heat: found 0; right would be greater than 0",
        ),
        Bad(
            "an unknown operation",
            FILE,
            "[recovery.decandling]",
            "[recovery.decandeling]",
            f"{FILE}: recovery.decandeling: found 'decandeling'; right would be the name of one in operations.toml",
        ),
        Bad(
            "a heavy operation that is forgotten",
            FILE,
            "[recovery.decandling]",
            "[recovery.decandeling]",
            f"{FILE}: recovery.decandling: missing, and it weighs something; right would be its heat",
        ),
        Bad(
            "an unknown operation that need not wait",
            FILE,
            'lets = ["thread graft"',
            'lets = ["tread graft"',
            f"{FILE}: recovery.repot.lets[0]: found 'tread graft'; right would be the name of one",
        ),
        Bad(
            "an unknown operation of a pair",
            FILE,
            'of = ["wire", "repot"]',
            'of = ["wire", "potting"]',
            f"{FILE}: apart[4].of[1]: found 'potting'; right would be the name of one",
        ),
        Bad(
            "a pair of three",
            FILE,
            'of = ["wire", "repot"]',
            'of = ["wire", "repot", "unwire"]',
            f"{FILE}: apart[4].of: found",
        ),
        Bad(
            "two gaps for a pair",
            FILE,
            "weeks = 4\n",
            "weeks = 4\nsame_cycle = true\n",
            f"{FILE}: apart[4]: give either weeks or same_cycle = true",
        ),
        Bad(
            "a pair twice",
            FILE,
            "",
            '\n[[apart]]\nof = ["repot", "wire"]\nweeks = 9\nwhy = "Again."\nbasis = "common practice"\n',
            f"{FILE}: apart[5].of: found ['repot', 'wire'] twice; right would be one rule for a pair",
        ),
        Bad(
            "no reason",
            FILE,
            'why = "Bending tears at roots that have no hold."\n',
            "",
            f"{FILE}: apart[4].why: missing",
        ),
        Bad(
            "no basis",
            FILE,
            'basis = "estimate"\nnote = "A large tree',
            'note = "A large tree',
            f"{FILE}: sitting_days.basis: missing",
        ),
        Bad("a table of the wrong shape", FILE, "", "\n[recovery.pinch]\nlets = 3\n", f"{FILE}: recovery.pinch.heat"),
    ],
    ids=lambda bad: bad.what,
)  # fmt: skip
def test_a_fault_is_told_in_a_line_that_names_it(config: Path, bad: Bad) -> None:
    breaks(config, bad)
    found = faults(config)
    assert sum(line.startswith(f"config/{bad.line}") for line in found) == 1, found
    assert all("\n" not in line for line in found)


@pytest.mark.slow
@pytest.mark.parametrize("text", ["apart = 3\nrecovery = 4\n", "apart = [1, { of = 2 }]\n", ""])
def test_tables_of_the_wrong_shape_are_faults_not_crashes(config: Path, text: str) -> None:
    (config / FILE).write_text(text, encoding="utf-8")
    assert any(line.startswith(f"config/{FILE}: budget: missing") for line in faults(config))
