"""Checks of the meters against references."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "meter_checks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("time_ns", sa.BigInteger(), nullable=False),
        *_texts("meter", "driver", "maker", "model", "serial_number", "text", "calibrated"),
        *_texts("point", "function", "coupling", "unit"),
        *_doubles("full_scale", "frequency_hz", nullable=True),
        *_texts("reference", "reference_serial"),
        *_doubles("reference_value", "reference_uncertainty", "reference_factor", "indicated"),
        *_doubles("standard_uncertainty", "degrees_of_freedom", "expanded_uncertainty", "resolution"),
        sa.Column("readings", sa.Integer(), nullable=False),
        *_doubles("allowed", nullable=True),
        *_doubles("every_days"),
        *_doubles("temperature_c", nullable=True),
        *_texts("warm_up", "operator", "remark", "software"),
        *(sa.Column(name, sa.Text(), nullable=name in _LACKING) for name in _DIGESTS),
        *(
            sa.ForeignKeyConstraint([name], ["documents.digest"], name=f"fk_meter_checks_{name}")
            for name in _DIGESTS
        ),
        sa.PrimaryKeyConstraint("id", name="pk_meter_checks"),
    )


_DIGESTS = ("points_digest", "bench_digest", "specification_digest")
_LACKING = ("specification_digest",)


def _texts(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.Text(), nullable=False) for name in names]


def _doubles(*names: str, nullable: bool = False) -> list[sa.Column[Any]]:
    return [sa.Column(name, sa.Float(53), nullable=nullable) for name in names]


def downgrade() -> None:
    raise NotImplementedError("checks of meters are not thrown away")
