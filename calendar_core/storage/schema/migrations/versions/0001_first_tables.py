"""First tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    _create_weather()
    _create_garden()
    _create_spot_and_tree()
    _create_log()
    _create_published()


def _create_weather() -> None:
    op.create_table(
        "weather_series",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("station", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("latitude", sa.Float(), nullable=False),
        sa.Column("longitude", sa.Float(), nullable=False),
        sa.Column("elevation_m", sa.Float(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("credit", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_weather_series"),
        sa.UniqueConstraint("source", "station", "kind", name="uq_weather_series_source_station_kind"),
    )
    op.create_table(
        "weather_day",
        sa.Column("series_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("t_min_c", sa.Float(), nullable=True),
        sa.Column("t_max_c", sa.Float(), nullable=True),
        sa.Column("precipitation_mm", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["series_id"],
            ["weather_series.id"],
            name="fk_weather_day_series_id_weather_series",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("series_id", "day", name="pk_weather_day"),
        sqlite_with_rowid=False,
    )


def _create_garden() -> None:
    op.create_table(
        "garden",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("latitude", sa.Float(), nullable=False),
        sa.Column("longitude", sa.Float(), nullable=False),
        sa.Column("elevation_m", sa.Float(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("units", sa.String(), nullable=False),
        sa.Column("leaf_fall", sa.String(length=5), nullable=False),
        sa.Column("coldest", sa.String(length=5), nullable=False),
        sa.Column("weather_series", sa.Uuid(), nullable=True),
        sa.ForeignKeyConstraint(
            ["weather_series"], ["weather_series.id"], name="fk_garden_weather_series_weather_series"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_garden"),
        sa.UniqueConstraint("name_key", name="uq_garden_name_key"),
    )
    op.create_table(
        "person",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_person_garden_id_garden"),
        sa.PrimaryKeyConstraint("id", name="pk_person"),
        sa.UniqueConstraint("garden_id", "name_key", name="uq_person_garden_id_name_key"),
    )


def _create_spot_and_tree() -> None:
    op.create_table(
        "spot",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("name_key", sa.String(), nullable=False),
        sa.Column("sun_from", sa.Time(), nullable=True),
        sa.Column("sun_to", sa.Time(), nullable=True),
        sa.Column("cloth_percent", sa.Integer(), nullable=False),
        sa.Column("profile", sa.String(), nullable=False),
        sa.Column("wind", sa.String(), nullable=False),
        sa.Column("surface", sa.String(), nullable=False),
        sa.Column("roof", sa.Boolean(), nullable=False),
        sa.Column("quarantine", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_spot_garden_id_garden"),
        sa.PrimaryKeyConstraint("id", name="pk_spot"),
        sa.UniqueConstraint("garden_id", "name_key", name="uq_spot_garden_id_name_key"),
    )
    op.create_table(
        "tree",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("label_key", sa.String(), nullable=False),
        sa.Column("species", sa.String(), nullable=False),
        sa.Column("cultivar", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_tree_garden_id_garden"),
        sa.PrimaryKeyConstraint("id", name="pk_tree"),
        sa.UniqueConstraint("garden_id", "label_key", name="uq_tree_garden_id_label_key"),
    )


def _create_log() -> None:
    op.create_table(
        "entry",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("happened", sa.Date(), nullable=False),
        sa.Column("at", sa.Time(), nullable=True),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.Column("data_version", sa.Integer(), nullable=False),
        sa.Column("part_ids", sa.JSON(), nullable=False),
        sa.Column("voids", sa.Uuid(), nullable=True),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_entry_garden_id_garden"),
        sa.PrimaryKeyConstraint("id", name="pk_entry"),
    )
    op.create_index("ix_entry_garden_id_happened", "entry", ["garden_id", "happened"])
    op.create_table(
        "entry_tree",
        sa.Column("entry_id", sa.Uuid(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("tree_id", sa.Uuid(), nullable=False),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_entry_tree_entry_id_entry"),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_entry_tree_garden_id_garden"),
        sa.ForeignKeyConstraint(["tree_id"], ["tree.id"], name="fk_entry_tree_tree_id_tree"),
        sa.PrimaryKeyConstraint("entry_id", "position", name="pk_entry_tree"),
    )
    op.create_index("ix_entry_tree_garden_id", "entry_tree", ["garden_id"])
    op.create_index("ix_entry_tree_tree_id", "entry_tree", ["tree_id"])


def _create_published() -> None:
    op.create_table(
        "published_event",
        sa.Column("uid", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("group", sa.String(), nullable=False),
        sa.Column("cycle", sa.Integer(), nullable=False),
        sa.Column("tree_ids", sa.JSON(), nullable=False),
        sa.Column("start", sa.Date(), nullable=False),
        sa.Column("end", sa.Date(), nullable=False),
        sa.Column("summary", sa.String(), nullable=False),
        sa.Column("description", sa.String(), nullable=False),
        sa.Column("reminder", sa.String(), nullable=False),
        sa.Column("categories", sa.JSON(), nullable=False),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("revised_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("dates_changed", sa.Date(), nullable=False),
        sa.Column("text_changed", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_published_event_garden_id_garden"),
        sa.PrimaryKeyConstraint("uid", name="pk_published_event"),
    )
    op.create_index("ix_published_event_garden_id", "published_event", ["garden_id"])
    op.create_table(
        "published_member",
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("group", sa.String(), nullable=False),
        sa.Column("cycle", sa.Integer(), nullable=False),
        sa.Column("tree_id", sa.Uuid(), nullable=False),
        sa.Column("event_uid", sa.Uuid(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_published_member_garden_id_garden"),
        sa.ForeignKeyConstraint(["tree_id"], ["tree.id"], name="fk_published_member_tree_id_tree"),
        sa.PrimaryKeyConstraint("garden_id", "group", "cycle", "tree_id", name="pk_published_member"),
    )


def downgrade() -> None:
    for table in (
        "published_member",
        "published_event",
        "entry_tree",
        "entry",
        "tree",
        "spot",
        "person",
        "garden",
        "weather_day",
        "weather_series",
    ):
        op.drop_table(table)
