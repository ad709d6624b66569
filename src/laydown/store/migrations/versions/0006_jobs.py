"""Jobs: long work, how far it has come, and what came of it.

Revision ID: 0006
Revises: 0005
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Make the tables for jobs."""
    op.create_table(
        "jobs",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("task", sa.String(50), nullable=False),
        sa.Column("title", sa.String(300), nullable=False),
        sa.Column("started_by", sa.String(50), nullable=False),
        sa.Column("owner", sa.String(32), nullable=False),
        sa.Column("state", sa.String(20), nullable=False, index=True),
        sa.Column("done", sa.Integer, nullable=False),
        sa.Column("total", sa.Integer, nullable=False),
        sa.Column("message", sa.Text, nullable=False),
        sa.Column("hint", sa.Text, nullable=False),
        sa.Column("to_be_stopped", sa.Boolean, nullable=False),
        sa.Column("bytes_kept", sa.Integer, nullable=False),
        sa.Column("made", sa.DateTime(timezone=True), nullable=False),
        sa.Column("started", sa.DateTime(timezone=True)),
        sa.Column("ended", sa.DateTime(timezone=True)),
        sa.Column("heard_of", sa.DateTime(timezone=True), nullable=False),
        sqlite_autoincrement=True,  # a number is never given twice
    )
    op.create_table(
        "job_texts",
        sa.Column("job_id", sa.Integer, sa.ForeignKey("jobs.id"), primary_key=True),
        sa.Column("part", sa.String(10), primary_key=True),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
