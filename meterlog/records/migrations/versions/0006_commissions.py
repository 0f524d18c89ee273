"""For whom a session is run."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "commissions",
        sa.Column("session_id", sa.Integer(), nullable=False, autoincrement=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in _TEXTS),
        sa.ForeignKeyConstraint(["session_id"], ["sessions.id"], name="fk_commissions_session_id"),
        sa.PrimaryKeyConstraint("session_id", name="pk_commissions"),
    )


_TEXTS = ("customer", "customer_says", "received", "work_place")


def downgrade() -> None:
    raise NotImplementedError("whose a unit was is not thrown away")
