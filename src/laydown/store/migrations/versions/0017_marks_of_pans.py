"""What the trade says of pans: opacity, staining or lifting, granulation.

Revision ID: 0017
Revises: 0016
"""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"


def upgrade() -> None:
    """Make the table for marks of pans."""
    op.create_table(
        "pan_marks",
        sa.Column("colorant_id", sa.Integer, sa.ForeignKey("colorants.id"), primary_key=True),
        sa.Column("marks", sa.String(100), nullable=False),
    )
