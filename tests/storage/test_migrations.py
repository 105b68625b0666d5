"""The schema's history: complete, reversible, and harmless to the rows that are there."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING
from uuid import uuid4

import numpy as np
import pytest
from alembic import command
from alembic.migration import MigrationContext
from alembic.operations import Operations
from alembic.script import ScriptDirectory
from sqlalchemy import String, inspect, select, type_coerce, update

from alerts.notices import Channel
from alerts.outbox import channels, queue
from calendar_core.garden.model import Spot
from calendar_core.storage import gardens, weather
from calendar_core.storage.errors import StoreError
from calendar_core.storage.schema import migrate
from calendar_core.storage.schema.tables import message, metadata, spot, weather_day
from calendar_core.storage.schema.version import HEAD, VERSION_TABLE
from calendar_core.storage.transactions import WRITES
from tests.alerts.conftest import a_notice

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

    from calendar_core.garden.model import Garden
    from calendar_core.storage.engine import Store

pytestmark = pytest.mark.slow


def test_the_constant_is_the_head_of_the_scripts(fresh_store: Store) -> None:
    with fresh_store.read() as connection:
        scripts = ScriptDirectory.from_config(migrate.config(connection))
    assert scripts.get_heads() == [HEAD]


def test_revisions_are_numbered_in_order(fresh_store: Store) -> None:
    """Opening tells a newer database by comparing the numbers."""
    with fresh_store.read() as connection:
        scripts = ScriptDirectory.from_config(migrate.config(connection))
    revisions = [script.revision for script in scripts.walk_revisions()]
    assert revisions == sorted(revisions, reverse=True)
    assert all(re.fullmatch(r"\d{4}", revision) for revision in revisions)


def test_the_migrations_make_the_tables_of_the_code(fresh_store: Store) -> None:
    with migrate.schema_change(fresh_store.engine) as connection:
        command.check(migrate.config(connection))  # raises where they differ


def test_the_check_sees_a_difference(fresh_store: Store) -> None:
    with migrate.schema_change(fresh_store.engine) as connection:
        connection.exec_driver_sql("ALTER TABLE tree ADD COLUMN height_cm INTEGER")
        with pytest.raises(Exception, match="height_cm"):
            command.check(migrate.config(connection))


def test_down_to_nothing_and_up_again(fresh_store: Store) -> None:
    migrate.downgrade(fresh_store.engine, "base")
    with fresh_store.read() as connection:
        assert inspect(connection).get_table_names() == [VERSION_TABLE]
    migrate.upgrade(fresh_store.engine)
    with fresh_store.read() as connection:
        assert set(inspect(connection).get_table_names()) == {*metadata.tables, VERSION_TABLE}


def test_spots_of_before_horizons_have_none_and_an_unknown_surface_reads_as_a_bench(
    fresh_store: Store, make_garden: Callable[..., Garden]
) -> None:
    """Until then a surface was any text; what is not known is kept until the spot is changed."""
    garden = make_garden()
    with fresh_store.begin() as connection:
        gardens.add_garden(connection, garden)
        for name in ("gravel", "slate"):
            gardens.add_spot(connection, Spot(uuid4(), garden.id, name))
            connection.execute(update(spot).where(spot.c.name == name).values(surface=name))
    migrate.downgrade(fresh_store.engine, "0003")
    with fresh_store.read() as connection:
        assert "horizon" not in {column["name"] for column in inspect(connection).get_columns("spot")}
    migrate.upgrade(fresh_store.engine)
    with fresh_store.read() as connection:
        found = gardens.list_spots(connection, garden.id)
        stored = connection.execute(select(type_coerce(spot.c.surface, String))).scalars().all()
    assert [(each.name, each.surface, each.horizon) for each in found] == [
        ("gravel", "gravel", ()), ("slate", "bench", ()),
    ]  # fmt: skip
    assert sorted(stored) == ["gravel", "slate"]


def test_what_an_answer_once_silenced_for_good_is_told_of_and_waits(
    fresh_store: Store, make_garden: Callable[..., Garden]
) -> None:
    """A channel that was switched off by hand was not refused; a message that was refused is over at its own time."""
    garden, now = make_garden(), datetime(2015, 6, 25, 1, tzinfo=UTC)
    whys = {
        "ines@leafclock.example": "550 no such user",
        "ole@leafclock.example": "switched off by hand",
        "una@leafclock.example": "",
    }
    with fresh_store.begin() as connection:
        gardens.add_garden(connection, garden)
        for address, why in whys.items():
            channels.add_channel(connection, Channel(uuid4(), garden.id, "mail", address, why_off=why))
        queue.post(connection, garden.id, a_notice(), now)
        connection.execute(update(message).values(state="dead"))
    migrate.downgrade(fresh_store.engine, "0012")
    migrate.upgrade(fresh_store.engine)
    with fresh_store.begin() as connection:
        found = {each.address: each for each in channels.list_channels(connection, garden.id)}
        assert [each.why_failing for each in found.values()] == ["550 no such user", "", ""]
        assert [channels.is_cut_off(each, now) for each in found.values()] == [True, False, False]
        claimed = queue.claim(connection, "one", now)
        assert claimed is not None
        assert claimed.message.channel == found["una@leafclock.example"]
        assert queue.claim(connection, "one", now) is None
        channels.switch_on(connection, found["ines@leafclock.example"].id)
        assert queue.claim(connection, "one", now) is not None


def test_a_failed_migration_leaves_the_schema_as_it_was(fresh_store: Store) -> None:
    with pytest.raises(ZeroDivisionError), migrate.schema_change(fresh_store.engine) as connection:  # noqa: PT012 - to be undone
        connection.exec_driver_sql("CREATE TABLE half (id INTEGER)")
        raise ZeroDivisionError
    with fresh_store.read() as connection:
        assert "half" not in inspect(connection).get_table_names()


def _a_series_of_one_day(store: Store) -> None:
    series = weather.WeatherSeries(uuid4(), "logger", "1", "Court", 47.45, -122.31, 130.0, "measured")
    with store.begin() as connection:
        stored = weather.save_series(connection, series)
        weather.store_days(connection, stored.id, date(2015, 6, 24), np.array([14.0]), np.array([27.0]))


def test_an_older_program_is_not_given_phones_that_it_cannot_send_to(
    fresh_store: Store, make_garden: Callable[..., Garden]
) -> None:
    garden = make_garden()
    mail = Channel(uuid4(), garden.id, "mail", "ines@leafclock.example")
    phone = Channel(uuid4(), garden.id, "push", "https://push.leafclock.example/1", "{}")
    with fresh_store.begin() as connection:
        gardens.add_garden(connection, garden)
        for channel in (mail, phone):
            channels.add_channel(connection, channel)
        queue.post(connection, garden.id, a_notice(), datetime(2026, 12, 1, tzinfo=UTC))
    migrate.downgrade(fresh_store.engine, "0014")
    migrate.upgrade(fresh_store.engine)
    with fresh_store.read() as connection:
        assert channels.list_channels(connection, garden.id) == (mail,)
        (left,) = queue.list_messages(connection, garden.id)
    assert left.channel_id == mail.id


def _rebuild_the_parent(connection: Connection) -> None:
    """Change a column: on SQLite Alembic makes a new table, copies the rows and drops the old one."""
    operations = Operations(MigrationContext.configure(connection))
    with operations.batch_alter_table("weather_series") as batch:
        batch.alter_column("place", type_=String(200))


def _days(store: Store) -> int:
    with store.read() as connection:
        return len(connection.execute(select(weather_day.c.day)).all())


def test_rows_survive_the_rebuild_of_the_table_they_hang_on(fresh_store: Store) -> None:
    _a_series_of_one_day(fresh_store)
    with migrate.schema_change(fresh_store.engine) as connection:
        _rebuild_the_parent(connection)
    assert _days(fresh_store) == 1
    with fresh_store.read() as connection:
        (place,) = (
            each for each in inspect(connection).get_columns("weather_series") if each["name"] == "place"
        )
    assert str(place["type"]) == "VARCHAR(200)"


def test_without_the_guard_they_are_deleted(sqlite_store: Store) -> None:
    """The trap itself: SQLite, "ALTER TABLE", says to switch foreign keys off first."""
    _a_series_of_one_day(sqlite_store)
    with sqlite_store.engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        _rebuild_the_parent(connection)
    assert _days(sqlite_store) == 0


def test_a_migration_that_breaks_a_reference_is_undone(sqlite_store: Store) -> None:
    _a_series_of_one_day(sqlite_store)
    broken = "table weather_day points at a missing row of weather_series"
    with pytest.raises(StoreError, match=broken), migrate.schema_change(sqlite_store.engine) as connection:
        connection.exec_driver_sql("DELETE FROM weather_series")
    with sqlite_store.read() as connection:
        assert len(weather.list_series(connection)) == 1


def test_foreign_keys_are_on_again_after_a_migration(sqlite_store: Store) -> None:
    with migrate.schema_change(sqlite_store.engine) as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 0
    with sqlite_store.begin() as connection:  # the pool gives the same connection again
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_every_constraint_and_index_has_a_name(fresh_store: Store) -> None:
    """Without one, a later migration could not drop it on SQLite (Alembic, "Running Batch Migrations")."""
    with fresh_store.read() as connection:
        seen = inspect(connection)
        for table in metadata.tables:
            keys = [
                seen.get_pk_constraint(table),
                *seen.get_foreign_keys(table),
                *seen.get_unique_constraints(table),
            ]
            names = [key["name"] for key in [*keys, *seen.get_indexes(table)]]
            assert all(re.fullmatch(r"(pk|fk|uq|ix)_\w+", str(name)) for name in names), names
