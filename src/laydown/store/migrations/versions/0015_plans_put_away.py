"""Plans that were put away, for undo to bring them back.

Revision ID: 0015
Revises: 0014
"""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"


def upgrade() -> None:
    """Make the table that says which they are."""
    op.create_table(
        "plans_put_away",
        sa.Column("plan_id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("put_away", sa.DateTime(timezone=True), nullable=False),
    )
