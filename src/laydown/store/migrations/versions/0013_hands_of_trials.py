"""Whose hand laid a trial, where it wasn't that of the kit's owner.

Revision ID: 0013
Revises: 0012
"""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"


def upgrade() -> None:
    """Add the name; all that was noted before counts as the owner's."""
    op.add_column(
        "trial_entries", sa.Column("made_by", sa.String(200), nullable=False, server_default="")
    )
