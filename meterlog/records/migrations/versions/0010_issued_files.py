"""The files of issued reports, as they were handed over."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "issued_files",
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("form", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["number"], ["issued_reports.number"], name="fk_issued_files_number"),
        sa.PrimaryKeyConstraint("number", "form", name="pk_issued_files"),
    )


def downgrade() -> None:
    raise NotImplementedError("what was handed over is not thrown away")
