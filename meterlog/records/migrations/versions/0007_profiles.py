"""The meters' own frequency responses, and by what factor a value was corrected."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "profiles",
        sa.Column("session_id", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("since_sequence", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["session_id"], ["sessions.id"], name="fk_profiles_session_id"),
        sa.ForeignKeyConstraint(["digest"], ["documents.digest"], name="fk_profiles_digest"),
        sa.PrimaryKeyConstraint("session_id", "since_sequence", "channel", name="pk_profiles"),
    )
    with op.batch_alter_table("settled_values", recreate="always") as values:
        values.add_column(sa.Column("correction", sa.Float(53), nullable=True))


def downgrade() -> None:
    raise NotImplementedError("corrections are not thrown away")
