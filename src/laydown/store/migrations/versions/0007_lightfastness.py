"""Classes of lightfastness, and tests in a window.

Revision ID: 0007
Revises: 0006
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Make the tables for what light does to colorants."""
    op.create_table(
        "lightfastness",
        sa.Column("colorant_id", sa.Integer, sa.ForeignKey("colorants.id"), primary_key=True),
        sa.Column("grade", sa.String(20), nullable=False),
        sa.Column("source", sa.String(300), nullable=False),
    )
    op.create_table(
        "window_readings",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column(
            "colorant_id", sa.Integer, sa.ForeignKey("colorants.id"), nullable=False, index=True
        ),
        sa.Column("paper", sa.String(200), nullable=False),
        sa.Column("least", sa.Double, nullable=False),
        sa.Column("most", sa.Double, nullable=False),
        sa.Column("filtered", sa.Boolean, nullable=False),
        sa.Column("before", sa.JSON, nullable=False),
        sa.Column("after", sa.JSON, nullable=False),
        sa.Column("noise", sa.Double, nullable=False),
        sa.Column("remark", sa.String(300), nullable=False),
        sa.Column("noted", sa.DateTime(timezone=True), nullable=False),
    )
