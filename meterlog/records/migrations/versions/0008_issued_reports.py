"""Reports that were issued under a number."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "issued_reports",
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("time_ns", sa.BigInteger(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in _TEXTS),
        sa.ForeignKeyConstraint(["session_id"], ["sessions.id"], name="fk_issued_reports_session_id"),
        sa.PrimaryKeyConstraint("number", name="pk_issued_reports"),
    )


_TEXTS = ("kind", "customer", "replaces", "because", "results_digest", "file_digest")


def downgrade() -> None:
    raise NotImplementedError("what was handed over is not forgotten")
