"""What trials were read from together, and the error that all of them have from it.

Revision ID: 0010
Revises: 0009
"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Add the picture and its error; what was noted before has neither."""
    op.add_column(
        "trial_entries", sa.Column("picture", sa.String(64), nullable=False, server_default="")
    )
    op.add_column(
        "trial_entries", sa.Column("shared", sa.Double, nullable=False, server_default="0")
    )
