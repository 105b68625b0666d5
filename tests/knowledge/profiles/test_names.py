"""Species are found by what growers call them."""

from __future__ import annotations

import pytest

from calendar_core.app.shell.session import knowledge
from calendar_core.knowledge.profiles.names import UnknownSpeciesError, find_species

PROFILES = knowledge().profiles


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("Japanese maple", "acer-palmatum"),
        ("japanese  MAPLES", "acer-palmatum"),
        ("Acer palmatum", "acer-palmatum"),
        ("acer-palmatum", "acer-palmatum"),
        ("black pine", "pinus-thunbergii"),
        ("Japanese black pines", "pinus-thunbergii"),
        ("satsuki", "rhododendron-indicum"),
        ("Satsuki azaleas", "rhododendron-indicum"),
        ("Ficus", "ficus-microcarpa"),
        ("figs", "ficus-microcarpa"),
    ],
)
def test_common_latin_and_other_names(text: str, key: str) -> None:
    assert find_species(text, PROFILES) == key


def test_an_unknown_name_offers_the_three_nearest() -> None:
    with pytest.raises(
        UnknownSpeciesError,
        match="found 'japanese maple tree', not known yet; the nearest known are: Japanese maple, ",
    ) as caught:
        find_species("japanese maple tree", PROFILES)
    assert len(caught.value.nearest) == 3
    assert caught.value.others == ("Unknown conifer", "Unknown deciduous tree", "Unknown tropical tree")


def test_a_slip_of_the_pen_in_one_word_finds_those_that_have_it() -> None:
    with pytest.raises(UnknownSpeciesError) as caught:
        find_species("mapel", PROFILES)
    assert {"Japanese maple", "Trident maple"} < set(caught.value.nearest)


def test_an_empty_name_is_unknown() -> None:
    with pytest.raises(UnknownSpeciesError):
        find_species("  ", PROFILES)
