"""Warnings, the channels they take, the queue of messages, and what was last judged and run."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    _create_warning()
    _create_channel()
    _create_message()
    _create_runs()


def _create_warning() -> None:
    op.create_table(
        "warning",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("hazard", sa.String(), nullable=False),
        sa.Column("severity", sa.String(), nullable=False),
        sa.Column("onset", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires", sa.DateTime(timezone=True), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("forecast_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_warning_garden_id_garden"),
        sa.PrimaryKeyConstraint("id", name="pk_warning"),
    )
    op.create_index("ix_warning_garden_id_state", "warning", ["garden_id", "state"])


def _create_channel() -> None:
    op.create_table(
        "channel",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("secret", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("quiet_from", sa.Time(), nullable=True),
        sa.Column("quiet_to", sa.Time(), nullable=True),
        sa.Column("private_ok", sa.Boolean(), nullable=False),
        sa.Column("why_off", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_channel_garden_id_garden"),
        sa.PrimaryKeyConstraint("id", name="pk_channel"),
        sa.UniqueConstraint("garden_id", "kind", "address", name="uq_channel_garden_id_kind_address"),
    )


def _create_message() -> None:
    op.create_table(
        "message",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("channel_id", sa.Uuid(), nullable=False),
        sa.Column("warning_id", sa.Uuid(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("action", sa.String(), nullable=False),
        sa.Column("notice", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires", sa.DateTime(timezone=True), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("holder", sa.String(), nullable=False),
        sa.Column("told", sa.Boolean(), nullable=False),
        sa.Column("last_error", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_message_garden_id_garden"),
        sa.ForeignKeyConstraint(
            ["channel_id"], ["channel.id"], name="fk_message_channel_id_channel", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_message"),
    )
    op.create_index("ix_message_state_due_at", "message", ["state", "due_at"])
    op.create_index("ix_message_warning_id_channel_id", "message", ["warning_id", "channel_id"])
    op.create_index("ix_message_channel_id", "message", ["channel_id"])
    op.create_index("ix_message_garden_id", "message", ["garden_id"])


def _create_runs() -> None:
    op.create_table(
        "judgement",
        sa.Column("garden_id", sa.Uuid(), nullable=False),
        sa.Column("judged_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("forecast_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["garden_id"], ["garden.id"], name="fk_judgement_garden_id_garden"),
        sa.PrimaryKeyConstraint("garden_id", name="pk_judgement"),
    )
    op.create_table(
        "job_run",
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("slot", sa.DateTime(timezone=True), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("done_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("error", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("job", "slot", name="pk_job_run"),
    )


def downgrade() -> None:
    for table in ("job_run", "judgement", "message", "channel", "warning"):
        op.drop_table(table)
