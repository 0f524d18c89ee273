"""JSON Schemas of the files that describe meters, for editors.

python -m meterlog_drivers.declared.schema ascii > config/dialects/ascii.schema.json
"""

import json
import sys
from typing import Any

from pydantic import BaseModel

from meterlog_drivers.declared.display_model import DisplayTables
from meterlog_drivers.declared.frame_model import FrameTables
from meterlog_drivers.declared.line_model import Tables

KINDS: dict[str, type[BaseModel]] = {"ascii": Tables, "segments": DisplayTables, "binary": FrameTables}


def schema_of(kind: str) -> dict[str, Any]:
    """By the name of the driver. What a template may hold, and how tables hang together, it does not tell."""
    return KINDS[kind].model_json_schema(by_alias=True)


if __name__ == "__main__":
    print(json.dumps(schema_of(sys.argv[1]), indent=2))  # noqa: T201 - it is a command
