"""Ends of the interval of a value, where they do not lie alike on both sides."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("settled_values", recreate="always") as values:
        values.add_column(sa.Column("lower", sa.Float(53), nullable=True))
        values.add_column(sa.Column("upper", sa.Float(53), nullable=True))


def downgrade() -> None:
    raise NotImplementedError("intervals are not thrown away")
