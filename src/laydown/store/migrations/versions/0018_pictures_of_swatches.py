"""Which picture a swatch was read from, and what colors near it in that picture err alike.

Revision ID: 0018
Revises: 0017
"""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"


def upgrade() -> None:
    """Add the picture and its error; of what was taken in before neither is known."""
    op.add_column(
        "swatches", sa.Column("picture", sa.String(64), nullable=False, server_default="")
    )
    op.add_column("swatches", sa.Column("shared", sa.Double, nullable=False, server_default="0"))
