"""Steps that are mixed on the palette.

Revision ID: 0003
Revises: 0002
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the table for the parts of a mixture."""
    op.create_table(
        "parts",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("step_id", sa.Integer, sa.ForeignKey("steps.id"), nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column(
            "colorant_id", sa.Integer, sa.ForeignKey("colorants.id"), nullable=False, index=True
        ),
        sa.Column("parts", sa.Integer, nullable=False),
        sa.UniqueConstraint("step_id", "position"),
    )
