"""What persons say of sheets, by file."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "said_by_hand",
        sa.Column("sha256", sa.String(), primary_key=True),
        sa.Column("said", sa.String(), nullable=False),
    )
