"""Whether a paper is coated, which tells where dye lies in it.

Revision ID: 0016
Revises: 0015
"""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"


def upgrade() -> None:
    """Add the word; of papers that are there nobody has said."""
    op.add_column("papers", sa.Column("surface", sa.String(20), nullable=False, server_default=""))
