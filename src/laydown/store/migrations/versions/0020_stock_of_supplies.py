"""What of a kit runs low, is used up, or is on loan.

Revision ID: 0020
Revises: 0019
"""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"


def upgrade() -> None:
    """Add the word; all that is there stands in the box."""
    column = sa.Column("stock", sa.String(20), nullable=False, server_default="there")
    op.add_column("kit_members", column)
