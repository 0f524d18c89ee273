"""What the meters of a session can do, where the uncertainty of a value comes from, and which display of a
meter a reading was on."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "specifications",
        sa.Column("session_id", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("since_sequence", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("meter", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["session_id"], ["sessions.id"], name="fk_specifications_session_id"),
        sa.ForeignKeyConstraint(["digest"], ["documents.digest"], name="fk_specifications_digest"),
        sa.PrimaryKeyConstraint("session_id", "since_sequence", "meter", name="pk_specifications"),
    )
    with op.batch_alter_table("readings", recreate="always") as readings:
        readings.add_column(sa.Column("display", sa.Integer(), nullable=False, server_default="1"))
    with op.batch_alter_table("settled_values", recreate="always") as values:
        values.add_column(sa.Column("about", sa.Integer(), nullable=True))
        values.add_column(sa.Column("budget", sa.Text(), nullable=False, server_default="[]"))


def downgrade() -> None:
    raise NotImplementedError("budgets are not thrown away")
