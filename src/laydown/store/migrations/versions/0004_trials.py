"""The notebook: trials, every entry ever made for each, and their photographs.

Revision ID: 0004
Revises: 0003
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

NAME = sa.String(200)
WORD = sa.String(20)


def upgrade() -> None:
    """Make the tables for what was tried."""
    op.create_table(
        "photographs",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("digest", sa.String(64), nullable=False, unique=True),
        sa.Column("name", sa.String(300), nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "trials",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("uid", sa.String(32), nullable=False, unique=True),
    )
    op.create_table(
        "trial_entries",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("trial_id", sa.Integer, sa.ForeignKey("trials.id"), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.Column("recorded", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kit", NAME, nullable=False),
        sa.Column("paper", NAME, nullable=False),
        sa.Column("recipe", sa.Text, nullable=False),
        sa.Column("reflectance", sa.JSON, nullable=False),
        sa.Column("basis", WORD, nullable=False),
        sa.Column("spread", sa.Double, nullable=False),
        sa.Column("measured", WORD, nullable=False),
        sa.Column("wanted", sa.String(500), nullable=False),
        sa.Column("intended", sa.JSON),
        sa.Column("remark", sa.Text, nullable=False),
        sa.Column("done", sa.String(10), nullable=False),
        sa.Column("fill", WORD, nullable=False),
        sa.Column("photograph_id", sa.Integer, sa.ForeignKey("photographs.id")),
        sa.UniqueConstraint("trial_id", "version"),
    )
