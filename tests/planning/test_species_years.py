"""The year of every species at three places where it is grown: in order, and at plausible dates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.planning.made_up import knowledge
from tests.planning.species_cases import SPECIES, case_misses, read_case

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.slow

FILES = sorted(SPECIES.glob("*.toml"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_year_of_a_species(path: Path) -> None:
    case = read_case(path)
    found = list(case_misses(case))
    assert not found, "\n".join([case.title, *found])


def test_every_species_has_a_year() -> None:
    assert {path.stem for path in FILES} == set(knowledge().profiles)
    assert all(read_case(path).species == path.stem for path in FILES)
