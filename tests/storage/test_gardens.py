"""Gardens, spots, trees and people go in and come out as they were, and names are found however typed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, time
from typing import TYPE_CHECKING
from uuid import UUID, uuid4

import pytest

from calendar_core.garden.model import MonthDay, Spot, Tree
from calendar_core.storage import gardens, weather
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable

    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store


def test_a_garden_comes_back_as_it_went_in(store: Store, garden: Garden) -> None:
    with store.read() as connection:
        assert gardens.get_garden(connection) == garden
        assert gardens.get_garden(connection, "COURT ") == garden


def test_a_changed_garden(store: Store, garden: Garden) -> None:
    series = weather.WeatherSeries(uuid4(), "logger", "1", "Court", 47.45, -122.31, 130.0, "measured")
    changed = replace(garden, name="COURT", units="us", leaf_fall=MonthDay(12, 1), weather_series=series.id)
    with store.begin() as connection:
        weather.save_series(connection, series)
        gardens.update_garden(connection, changed)
    with store.read() as connection:
        assert gardens.list_gardens(connection) == (changed,)


def test_text_with_a_zero_byte_is_stored_without_it(store: Store, garden: Garden) -> None:
    """PostgreSQL, "Lexical Structure": "The character with the code zero cannot be in a string constant"."""
    with store.begin() as connection:
        gardens.update_garden(connection, replace(garden, place="bu\0sy\0"))
    with store.read() as connection:
        assert gardens.get_garden(connection).place == "busy"


def test_a_garden_must_be_there_to_be_changed(store: Store, make_garden: Callable[..., Garden]) -> None:
    with pytest.raises(StoreError, match="the garden 'Court' is not stored yet"), store.begin() as connection:
        gardens.update_garden(connection, make_garden())


def test_no_garden_yet(store: Store) -> None:
    with pytest.raises(StoreError, match="no garden in this database yet"), store.read() as connection:
        gardens.get_garden(connection)


def test_one_of_several_gardens_must_be_named(
    store: Store, garden: Garden, make_garden: Callable[..., Garden]
) -> None:
    second = make_garden("Balcony")
    with store.begin() as connection:
        gardens.add_garden(connection, second)
        assert gardens.list_gardens(connection) == (second, garden)
        assert gardens.get_garden(connection, "balcony") == second
        with pytest.raises(StoreError, match=r"2 gardens: choose one with --garden: 'Balcony', 'Court'"):
            gardens.get_garden(connection)
        with pytest.raises(StoreError, match=r"no garden 'Roof': there is 'Balcony', 'Court'"):
            gardens.get_garden(connection, "Roof")


def test_a_garden_name_is_taken_in_any_case(
    store: Store, garden: Garden, make_garden: Callable[..., Garden]
) -> None:
    with pytest.raises(StoreError, match="there is a garden 'Court' already"), store.begin() as connection:
        gardens.add_garden(connection, make_garden("cOURT"))


def _a_spot(garden: Garden, name: str = "Bench 2") -> Spot:
    around = ((90.0, 10.0), (180.0, 35.5))
    return Spot(
        uuid4(),
        garden.id,
        name,
        time(7, 30),
        time(19),
        40,
        "cold frame",
        "windy",
        "gravel",
        True,
        True,
        around,
    )


def test_spots(store: Store, garden: Garden) -> None:
    spots = [_a_spot(garden, name) for name in ("Bench 10", "bench 9", "Wall")]
    moved = replace(spots[2], name="WALL", sun_from=None, sun_to=None, roof=False)
    with store.begin() as connection:
        for spot in spots:
            gardens.add_spot(connection, spot)
        gardens.update_spot(connection, moved)
    with store.read() as connection:
        assert gardens.list_spots(connection, garden.id) == (spots[1], spots[0], moved)
        assert gardens.find_spot(connection, garden.id, "BENCH  9") == spots[1]


def test_a_spot_name_is_taken_in_its_own_garden_only(
    store: Store, garden: Garden, make_garden: Callable[..., Garden]
) -> None:
    second = make_garden("Second")
    with store.begin() as connection:
        gardens.add_garden(connection, second)
        gardens.add_spot(connection, _a_spot(garden))
        gardens.add_spot(connection, _a_spot(second))
        with pytest.raises(StoreError, match="there is a spot 'Bench 2' already"):
            gardens.add_spot(connection, _a_spot(garden, "bench 2"))
        gardens.add_spot(connection, wall := _a_spot(garden, "Wall"))
        with pytest.raises(StoreError, match="there is a spot 'Bench 2' already"):
            gardens.update_spot(connection, replace(wall, name="BENCH 2"))


def test_a_spot_time_has_no_zone(store: Store, garden: Garden) -> None:
    """SQLite would drop the offset without a word."""
    wrong = replace(_a_spot(garden), sun_from=time(7, tzinfo=UTC))
    with pytest.raises(StoreError, match="has an offset: leave it out"), store.begin() as connection:
        gardens.add_spot(connection, wrong)


def test_trees_come_back_in_order_of_their_labels(store: Store, garden: Garden) -> None:
    labels = ["Maple 10", "azalea", "Maple 9", "楓 1"]
    made = {label: Tree(uuid4(), garden.id, label, "Acer palmatum", "Katsura") for label in labels}
    with store.begin() as connection:
        gardens.add_trees(connection, list(made.values()))
        gardens.add_trees(connection, [])
    with store.read() as connection:
        stored = gardens.list_trees(connection, garden.id)
    assert stored == (made["azalea"], made["Maple 9"], made["Maple 10"], made["楓 1"])


# Unicode: full case folding (CaseFolding.txt: U+00DF to "ss"; U+00C9 to U+00E9), width by NFKC (UAX 15).
@pytest.mark.parametrize(
    ("stored", "typed"),
    [("Große", "GROSSE"), ("ÉRABLE", "érable"), ("Maple １", "maple 1"), ("é", "e\u0301")],
)
def test_a_label_is_taken_in_any_case(store: Store, garden: Garden, stored: str, typed: str) -> None:
    tree = Tree(uuid4(), garden.id, stored, "Acer")
    with store.begin() as connection:
        gardens.add_trees(connection, [tree])
        assert gardens.find_tree(connection, garden.id, typed) == tree
        with pytest.raises(
            StoreError, match=f"each label once, and these come again: '{typed}': give others"
        ):
            gardens.add_trees(connection, [Tree(uuid4(), garden.id, typed, "Acer")])


def test_of_trees_with_a_label_that_comes_twice_none_is_added(store: Store, garden: Garden) -> None:
    labels = ["Fig", "Pine", "FIG", "pine "]
    with pytest.raises(StoreError, match="'FIG', 'pine '"), store.begin() as connection:
        gardens.add_trees(connection, [Tree(uuid4(), garden.id, label, "x") for label in labels])
    with store.read() as connection:
        assert gardens.list_trees(connection, garden.id) == ()


@pytest.mark.parametrize("label", ["", "  ", "two\nlines", "nul\0"])
def test_a_label_is_one_line_of_text(store: Store, garden: Garden, label: str) -> None:
    with pytest.raises(StoreError, match=r"empty|control character"), store.begin() as connection:
        gardens.add_trees(connection, [Tree(uuid4(), garden.id, label, "x")])


def test_an_unknown_label_offers_the_three_nearest(store: Store, garden: Garden) -> None:
    labels = ["Maple by the door", "Old maple", "Pine", "Fig", "Satsuki"]
    with store.begin() as connection:
        with pytest.raises(StoreError, match="no tree 'Mapel': there is no tree yet"):
            gardens.find_tree(connection, garden.id, "Mapel")
        gardens.add_trees(connection, [Tree(uuid4(), garden.id, label, "x") for label in labels])
        with pytest.raises(StoreError) as error:
            gardens.find_tree(connection, garden.id, "Old mapel")
    assert str(error.value).startswith("no tree 'Old mapel': the nearest are 'Old maple', ")
    assert str(error.value).count("'") == 2 * 4


def test_a_tree_of_another_garden_is_not_found(
    store: Store, trees: tuple[Tree, ...], make_garden: Callable[..., Garden]
) -> None:
    with store.begin() as connection:
        gardens.add_garden(connection, second := make_garden("Second"))
        with pytest.raises(StoreError, match="there is no tree yet"):
            gardens.find_tree(connection, second.id, trees[0].label)


def test_people(store: Store, garden: Garden) -> None:
    owner = gardens.Person(UUID(int=1), garden.id, "Ines", "owner")
    helper = gardens.Person(UUID(int=2), garden.id, "Abel", "helper")
    with store.begin() as connection:
        gardens.add_person(connection, owner)
        gardens.add_person(connection, helper)
        assert gardens.list_people(connection, garden.id) == (helper, owner)
        with pytest.raises(StoreError, match="there is a person 'Ines' already"):
            gardens.add_person(connection, gardens.Person(UUID(int=3), garden.id, "INES", "helper"))
