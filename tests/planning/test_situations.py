"""Grower cases: each file of tests/situations against the plan of its day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.planning.situations import FOLDER, bench_of, misses, read, shuffled

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.slow

FILES = sorted(FOLDER.glob("*.toml"))


def marked(path: Path) -> object:
    """A case, expected to fail where the file says why it does."""
    fails = read(path).fails
    return pytest.param(path, id=path.stem, marks=[pytest.mark.xfail(reason=fails)] if fails else [])


@pytest.mark.parametrize("path", [marked(path) for path in FILES])
def test_situation(path: Path) -> None:
    case = read(path)
    bench = bench_of(case)
    found = list(misses(case, bench))
    if case.shuffle:
        plan = bench.plan(case.today)
        bench.entries = shuffled(bench.entries)
        if bench.plan(case.today) != plan:
            found.append("the log in another order of writing gives another plan")
    assert not found, "\n".join([case.title, *found])
