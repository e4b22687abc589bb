"""The first shape of a catalogue."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "patterns",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("shelfmark", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("record", sa.String(), nullable=False),
        sa.UniqueConstraint("shelfmark"),
    )
    op.create_table(
        "technique_uses",
        sa.Column("pattern_id", sa.Integer(), sa.ForeignKey("patterns.id"), primary_key=True),
        sa.Column("position", sa.Integer(), primary_key=True),
        sa.Column("technique", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
    )
    op.create_table(
        "changes",
        sa.Column("pattern_id", sa.Integer(), sa.ForeignKey("patterns.id"), primary_key=True),
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("how", sa.String(), nullable=False),
        sa.Column("record", sa.String(), nullable=False),
    )
    op.create_table(
        "attachments",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("pattern_id", sa.Integer(), sa.ForeignKey("patterns.id"), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("media_type", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("px_per_mm", sa.Float()),
        sa.Column("scale_known_by", sa.String(), nullable=False),
        sa.Column("caption", sa.String(), nullable=False),
        sa.Column("alternative_text", sa.String(), nullable=False),
        sa.UniqueConstraint("pattern_id", "sha256"),
    )
    op.create_table(
        "measurements",
        sa.Column("sha256", sa.String(), primary_key=True),
        sa.Column("analyser", sa.String(), nullable=False),
        sa.Column("settings_fingerprint", sa.String(), nullable=False),
        sa.Column("result", sa.String(), nullable=False),
        sa.Column("summary", sa.String(), nullable=False),
    )
    op.create_table(
        "collection",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("state", sa.String(), nullable=False),
    )
