"""Lessons that are kept.

Revision ID: 0008
Revises: 0007
"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Make the table for lessons."""
    op.create_table(
        "lessons",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("title", sa.String(300), nullable=False),
        sa.Column("paper", sa.String(200), nullable=False),
        sa.Column("colors", sa.Integer, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("kept", sa.DateTime(timezone=True), nullable=False),
        sqlite_autoincrement=True,  # a number is never given twice
    )
