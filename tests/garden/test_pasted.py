"""Trees written as a line."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendar_core.garden.pasted import MOST_AT_ONCE, PastedTrees, pasted_trees
from calendar_core.knowledge.profiles.names import find_species
from calendar_core.knowledge.words import AIMS, SIZES
from tests.planning.made_up import knowledge

names = st.sampled_from([p.common for p in knowledge().profiles.values()])
kinds = st.builds(
    PastedTrees, st.integers(1, MOST_AT_ONCE), names, st.sampled_from(SIZES), st.sampled_from(AIMS)
)


@settings(max_examples=50, deadline=None)
@given(st.lists(kinds, max_size=5), st.sampled_from([";", ",", "\n", "; ", "\r\n", ";;\n "]))
def test_what_is_written_is_read(kinds_: list[PastedTrees], between: str) -> None:
    text = between.join(f"{kind.count} {kind.species} {kind.size} {kind.aim}" for kind in kinds_)
    assert pasted_trees(text) == tuple(kinds_)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("black pine", PastedTrees(1, "black pine")),
        ("2x Satsuki azalea", PastedTrees(2, "Satsuki azalea")),
        ("2 x Satsuki azalea", PastedTrees(2, "Satsuki azalea")),
        ("3 Japanese maples LARGE", PastedTrees(3, "Japanese maples", "large")),
        ("maple refinement small", PastedTrees(1, "maple", "small", "refinement")),
        ("large maple", PastedTrees(1, "large maple")),
        ("  1   fig  ", PastedTrees(1, "fig")),
    ],
)
def test_forms_of_a_line(text: str, expected: PastedTrees) -> None:
    assert pasted_trees(text) == (expected,)


def test_plurals_find_their_species() -> None:
    (line,) = pasted_trees("3 Japanese maples small")
    assert find_species(line.species, knowledge().profiles) == "acer-palmatum"


def test_nothing_written_is_no_tree() -> None:
    assert pasted_trees(" ; \n, ") == ()


@pytest.mark.parametrize(
    "text", ["0 maples", "-2 maples", f"{MOST_AT_ONCE + 1} maples", "99999999999 maples"]
)
def test_a_count_that_cannot_be_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=f"right would be 1 to {MOST_AT_ONCE}"):
        pasted_trees(f"1 fig; {text}")


@pytest.mark.parametrize("text", ["3 small", "large", "refinement", "2 trunk large"])
def test_a_line_without_a_species_is_refused_with_what_was_written(text: str) -> None:
    with pytest.raises(ValueError, match=f"'{text}' names no species"):
        pasted_trees(text)
