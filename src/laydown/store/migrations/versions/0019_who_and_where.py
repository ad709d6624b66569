"""Who changed a library on a server, and which bench a job runs at.

Revision ID: 0019
Revises: 0018
"""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"


def upgrade() -> None:
    """Add both; of what is there nobody has said."""
    op.add_column("changes", sa.Column("who", sa.String(100), nullable=False, server_default=""))
    op.add_column("jobs", sa.Column("bench", sa.Integer, nullable=False, server_default="0"))
