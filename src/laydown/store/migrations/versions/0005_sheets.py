"""Printed sheets, and what was read from them.

Revision ID: 0005
Revises: 0004
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the tables for sheets and readings."""
    op.create_table(
        "sheets",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("printed", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "cell_readings",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("sheet_id", sa.Integer, sa.ForeignKey("sheets.id"), nullable=False),
        sa.Column("cell", sa.Integer, nullable=False),
        sa.Column("stage", sa.String(20), nullable=False),
        sa.Column("xyz", sa.JSON, nullable=False),
        sa.Column("spread", sa.Double, nullable=False),
        sa.Column("flags", sa.JSON, nullable=False),
        sa.Column("conversion", sa.String(40), nullable=False),
        sa.Column("accepted", sa.Boolean, nullable=False),
        sa.Column("taken_in", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_index("cell_readings_by_cell", "cell_readings", ["sheet_id", "cell"])
