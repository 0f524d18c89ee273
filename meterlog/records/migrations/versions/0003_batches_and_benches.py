"""The batch a unit belongs to, and the benches on which a session was gone on with."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("sessions", recreate="always") as sessions:
        sessions.add_column(sa.Column("batch", sa.Text(), nullable=False, server_default=""))
    op.create_table(
        "benches",
        sa.Column("session_id", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("since_sequence", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("bench_digest", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["session_id"], ["sessions.id"], name="fk_benches_session_id"),
        sa.ForeignKeyConstraint(["bench_digest"], ["documents.digest"], name="fk_benches_bench_digest"),
        sa.PrimaryKeyConstraint("session_id", "since_sequence", name="pk_benches"),
    )


def downgrade() -> None:
    raise NotImplementedError("recorded benches are not thrown away")
