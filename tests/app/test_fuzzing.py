"""Right input made wrong at random: a result or a refusal in lines of the program's own, and nothing half-written."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzzing import TRIES, Bench

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.slow

EXAMPLES = {"folder": 50, "trees": 60, "weather": 130, "garden file": 60, "service": 150, "command": 50}


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LEAFCLOCK_WEATHER", "off")
        return Bench(tmp_path_factory.mktemp("fuzzing"))


@pytest.mark.parametrize("kind", TRIES)
def test_a_result_or_a_refusal(
    kind: str, bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))

    @settings(
        max_examples=EXAMPLES[kind],
        deadline=None,
        derandomize=True,
        suppress_health_check=[HealthCheck.too_slow],
    )
    @given(seed=st.integers(0, 2**32))
    def tried(seed: int) -> None:
        assert TRIES[kind](bench, Random(seed)) in ("taken", "refused")  # noqa: S311 - no secret hangs on it

    tried()
