"""Ranges, colorants, papers and swatches.

Revision ID: 0001
Revises:
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

NAME = sa.String(200)
WORD = sa.String(20)


def upgrade() -> None:
    """Make the tables for what is measured."""
    op.create_table(
        "ranges",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", NAME, nullable=False),
        sa.Column("key", NAME, nullable=False, unique=True),
        sa.Column("medium", WORD, nullable=False),
    )
    op.create_table(
        "colorants",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("range_id", sa.Integer, sa.ForeignKey("ranges.id"), nullable=False),
        sa.Column("name", NAME, nullable=False),
        sa.Column("key", NAME, nullable=False),
        sa.Column("code", NAME, nullable=False),
        sa.Column("blender", sa.Boolean, nullable=False),
        sa.UniqueConstraint("range_id", "key"),
    )
    op.create_table(
        "papers",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", NAME, nullable=False),
        sa.Column("key", NAME, nullable=False, unique=True),
        sa.Column("coats_limit", sa.Integer, nullable=False),
    )
    op.create_table(
        "swatches",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("paper_id", sa.Integer, sa.ForeignKey("papers.id"), nullable=False, index=True),
        sa.Column("basis", WORD, nullable=False),
        sa.Column("reflectance", sa.JSON, nullable=False),
        sa.Column("xyz", sa.JSON, nullable=False),
        sa.Column("spread", sa.Double, nullable=False),
        sa.Column("flags", sa.JSON, nullable=False),
        sa.Column("taken_in", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("basis in ('spectrum', 'xyz')", name="basis_known"),
    )
    _steps()


def _steps() -> None:
    op.create_table(
        "steps",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("swatch_id", sa.Integer, sa.ForeignKey("swatches.id"), nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("colorant_id", sa.Integer, sa.ForeignKey("colorants.id"), index=True),
        sa.Column("coats", sa.Integer),
        sa.Column("stroke", WORD),
        sa.Column("pressure", WORD),
        sa.Column("dilution", sa.Double),
        sa.Column("wait", WORD),
        sa.Column("treatment", WORD),
        sa.Column("tool", WORD),
        sa.UniqueConstraint("swatch_id", "position"),
        sa.CheckConstraint(
            "(colorant_id is null) = (treatment is not null)", name="colorant_or_treatment"
        ),
    )
