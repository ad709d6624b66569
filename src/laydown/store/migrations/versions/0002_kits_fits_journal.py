"""Kits, kept fits, and the journal that undo reads.

Revision ID: 0002
Revises: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

NAME = sa.String(200)


def upgrade() -> None:
    """Make the tables for what is owned, fitted and taken back."""
    _kits()
    op.create_table(
        "fits",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("ranges", sa.Text, nullable=False),
        sa.Column("paper", NAME, nullable=False),
        sa.Column("model_version", sa.String(50), nullable=False),
        sa.Column("swatch_hash", sa.String(64), nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.UniqueConstraint("ranges", "paper"),
    )
    op.create_table(
        "changes",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("label", sa.String(500), nullable=False),
        sa.Column("made", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "journal",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("change_id", sa.Integer, sa.ForeignKey("changes.id"), nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("table_name", sa.String(50), nullable=False),
        sa.Column("before", sa.JSON),
        sa.Column("after", sa.JSON),
    )
    op.create_index("journal_by_change", "journal", ["change_id", "position"], unique=True)


def _kits() -> None:
    op.create_table(
        "kits",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", NAME, nullable=False),
        sa.Column("key", NAME, nullable=False, unique=True),
    )
    op.create_table(
        "kit_members",
        sa.Column("kit_id", sa.Integer, sa.ForeignKey("kits.id"), primary_key=True),
        sa.Column(
            "colorant_id", sa.Integer, sa.ForeignKey("colorants.id"), primary_key=True, index=True
        ),
    )
