"""Told dates, what they rest on, and their moves come back as they were stored. All of it is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid4

import numpy as np
import pytest

from calendar_core.planning.moved_dates import DateMove, MovePart, Spell, ToldDate, Written
from calendar_core.storage import services, told_dates
from calendar_core.storage.told_dates import Basis

if TYPE_CHECKING:
    from calendar_core.garden.model import Garden, Tree
    from calendar_core.storage.engine import Store

DAY = date(2015, 6, 24)
NOW = datetime(2015, 6, 24, 18, 5, 1, 250, tzinfo=UTC)
FAR = (date.min, date.max)


def a_basis(number: int) -> Basis:
    return Basis(UUID(int=number), DAY, DAY, NOW, "record", "program", None)


def a_date(tree: Tree, basis: int, number: int = 1, side: str = "opens") -> ToldDate:
    return ToldDate(UUID(int=number), side, tree.id, DAY + timedelta(days=9), DAY, UUID(int=basis))  # type: ignore[arg-type]


def a_move(tree: Tree, moved_on: date, number: int = 1) -> DateMove:
    parts = (
        MovePart("weather", -3, Spell(date(2015, 6, 1), DAY, -2.13, "expected")),
        MovePart("entry", 1, written=(Written("work", "repot", DAY), Written("void", "", DAY))),
    )
    return DateMove(
        UUID(int=number), "opens", tree.id, date(2015, 5, 31), moved_on, DAY, DAY - timedelta(days=2), parts,
        "pinch", "pinch", 2015, "Look", "apex",
    )  # fmt: skip


def test_dates_come_back_with_what_they_rest_on(
    store: Store, garden: Garden, trees: tuple[Tree, ...]
) -> None:
    rows = [a_date(trees[0], 1), a_date(trees[0], 2, side="safe"), a_date(trees[1], 2, 2)]
    bases = [a_basis(1), replace(a_basis(2), measured_to=None, recorded=None)]
    with store.begin() as connection:
        told_dates.save_dates(connection, garden.id, rows, bases)
    with store.read() as connection:
        assert told_dates.load_dates(connection, garden.id) == {(r.item_id, r.side): r for r in rows}
        assert told_dates.load_bases(connection, garden.id) == {basis.id: basis for basis in bases}


def test_what_is_told_anew_replaces_itself_and_what_nothing_rests_on_goes(
    store: Store, garden: Garden, trees: tuple[Tree, ...]
) -> None:
    first, other = a_date(trees[0], 1), a_date(trees[1], 1, 2)
    with store.begin() as connection:
        told_dates.save_dates(connection, garden.id, [first, other], [a_basis(1)])
        anew = replace(first, basis=UUID(int=2), day=DAY)
        told_dates.save_dates(connection, garden.id, [anew], [a_basis(2)])
        told_dates.forget_dates(connection, garden.id)
        assert set(told_dates.load_bases(connection, garden.id)) == {UUID(int=1), UUID(int=2)}
        told_dates.forget_dates(connection, garden.id, [(other.item_id, other.side)])
        assert told_dates.load_dates(connection, garden.id) == {(anew.item_id, anew.side): anew}
        assert set(told_dates.load_bases(connection, garden.id)) == {UUID(int=2)}


def test_moves_come_back_by_day_and_a_second_of_a_day_replaces_the_first(
    store: Store, garden: Garden, trees: tuple[Tree, ...]
) -> None:
    early, late = a_move(trees[0], date(2015, 6, 3)), a_move(trees[0], DAY)
    other = replace(a_move(trees[1], DAY, 2), parts=())
    corrected = replace(late, parts=late.parts[:1], after=DAY - timedelta(days=3))
    with store.begin() as connection:
        told_dates.save_moves(connection, garden.id, [late, early, other])
        told_dates.save_moves(connection, garden.id, [corrected], taken_back=[other])
    with store.read() as connection:
        assert told_dates.load_moves(connection, garden.id, *FAR) == (early, corrected)
        assert told_dates.load_moves(connection, garden.id, DAY, DAY) == (corrected,)
        assert told_dates.load_moves(connection, uuid4(), *FAR) == ()


def test_the_last_move_is_of_a_date_that_is_still_told(
    store: Store, garden: Garden, trees: tuple[Tree, ...]
) -> None:
    early, late, other = a_move(trees[0], date(2015, 6, 3)), a_move(trees[0], DAY), a_move(trees[1], DAY, 2)
    with store.begin() as connection:
        told_dates.save_dates(connection, garden.id, [a_date(trees[0], 1)], [a_basis(1)])
        told_dates.save_moves(connection, garden.id, [early, late, other])
        assert told_dates.last_moves(connection, garden.id, DAY) == {(late.item_id, "opens"): late}
        assert told_dates.last_moves(connection, garden.id, date(2015, 6, 10)) == {
            (late.item_id, "opens"): early
        }


@pytest.mark.parametrize("expires", [None, NOW + timedelta(hours=6)])
def test_a_forecast_comes_back_as_it_was_stored(expires: datetime | None) -> None:
    run = services.StoredForecast(
        "made up", 47.5, -122.3, "America/Los_Angeles", NOW, NOW, DAY, np.array([[9.54, np.nan], [8.0, 7.25]]),
        np.array([[21.0, 22.5], [20.0, 19.0]]), "credit", 3.2, expires,
    )  # fmt: skip
    again = services.forecast_of(services.forecast_data(run))
    np.testing.assert_array_equal(again.t_min_c, run.t_min_c)
    np.testing.assert_array_equal(again.t_max_c, run.t_max_c)
    for name in ("source", "zone", "issued", "fetched", "start", "credit", "distance_km", "expires"):
        assert getattr(again, name) == getattr(run, name)
