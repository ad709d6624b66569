"""Plans of pictures, and what was changed in them by hand.

Revision ID: 0009
Revises: 0008
"""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Make the table for plans."""
    op.create_table(
        "plans",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("title", sa.String(300), nullable=False),
        sa.Column("changes", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("begun", sa.LargeBinary, nullable=False),
        sa.Column("file", sa.LargeBinary, nullable=False),
        sa.Column("kept", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed", sa.DateTime(timezone=True), nullable=False),
        sqlite_autoincrement=True,  # a number is never given twice
    )
