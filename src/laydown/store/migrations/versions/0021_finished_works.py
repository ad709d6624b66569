"""Finished works: what was made, on which paper, by which recipes.

Revision ID: 0021
Revises: 0020
"""

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"


def upgrade() -> None:
    """Make the table for finished works."""
    op.create_table(
        "finished_works",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("title", sa.String(200), nullable=False),
        sa.Column("paper", sa.String(200), nullable=False),
        sa.Column("recipes", sa.Text, nullable=False),
        sa.Column("done", sa.String(10), nullable=False),
        sa.Column("remark", sa.Text, nullable=False),
        sa.Column("photograph", sa.String(64), nullable=False),
        sa.Column("kept", sa.DateTime(timezone=True), nullable=False),
        sqlite_autoincrement=True,  # a number is never given twice
    )
