"""Pictures without what they told of place, owner and time: see 0014, which does it for PDFs too.

Revision ID: 0012
Revises: 0011
"""

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    """Leave it to 0014, for it would only be done twice."""
