"""Guards that tripped."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "guard_trips",
        sa.Column("session_id", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("position", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("guard", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("step", "pass", "channel")),
        sa.Column("value", sa.Float(53), nullable=True),
        sa.Column("limit", sa.Float(53), nullable=False),
        sa.Column("at_ns", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["session_id"], ["sessions.id"], name="fk_guard_trips_session_id"),
        sa.PrimaryKeyConstraint("session_id", "sequence", "position", name="pk_guard_trips"),
    )


def downgrade() -> None:
    raise NotImplementedError("recorded trips are not thrown away")
