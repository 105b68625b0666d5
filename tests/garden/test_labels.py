"""What things may be called. Sources: The Unicode Standard, 23.2 (layout controls); UAX 9 (direction); UTS 51 (emoji)."""

from __future__ import annotations

import pytest

from calendar_core.garden.labels import Named, right_of
from calendar_core.storage.names import key_of


@pytest.mark.parametrize(
    "name",
    [
        "Maple 1", "盆栽 🌲", "Ahorn (rot), klein", "#3", "Йорк", "می‌خواهم", "क्‍ष", "👨‍🌾", "❤️", "O'Hara's – 2nd",
    ],
)  # fmt: skip
def test_names_that_can_be_seen_and_typed(name: str) -> None:
    """Persian by U+200C, Devanagari and emoji by U+200D."""
    assert right_of(name, "other") == ""


@pytest.mark.parametrize(
    "sign",
    ["\u202e", "\u2066", "\u200b", "\u2060", "\ufeff", "\u00ad", "\u034f", "\u3164", "\u2028", "\u200e"],
)
@pytest.mark.parametrize("of", ["tree", "part", "other"])
def test_signs_that_show_nothing(sign: str, of: Named) -> None:
    right = f"a name of signs that can be seen, without U+{ord(sign):04X}"
    assert right_of(f"Ma{sign}ple", of) == right
    assert right_of(sign, of) == right


@pytest.mark.parametrize(
    "name", ["Ma\u200cple", "\u200dMaple", "Maple \u200d1", "می\u200c", "می\u200c\u200cخ", "盆\u200d1"]
)
def test_joiners_where_nothing_is_joined(name: str) -> None:
    assert right_of(name, "other")


@pytest.mark.parametrize(
    ("name", "of", "right"),
    [
        ("all", "tree", "another name: all stands for every tree"),
        (" ALL ", "tree", "another name: all stands for every tree"),
        ("\uff21ll", "tree", "another name: all stands for every tree"),
        ("all", "other", ""),
        ("--help", "tree", "a name that does not begin with -, as options do"),
        ("-1", "other", "a name that does not begin with -, as options do"),
        ("Maple, old", "tree", "a name without , and :"),
        ("Maple: old", "tree", "a name without , and :"),
        ("left=low", "part", "a name without ; and ="),
        ("low; left", "part", "a name without ; and ="),
        ("behind the shed, left: shade", "other", ""),
    ],
)
def test_names_that_no_command_reaches(name: str, of: Named, right: str) -> None:
    assert right_of(name, of) == right


def test_what_looks_the_same_is_the_same() -> None:
    assert key_of("❤") == key_of("❤️")
    assert key_of("می‌خواهم") == key_of("میخواهم")
