"""python -m meterlog.testing module:name: the checks on a specimen; ends with 1 if one failed."""

import importlib
import sys

from meterlog.testing.run import failures
from meterlog.testing.specimen import Specimen


def main(arguments: list[str]) -> int:
    if len(arguments) != 1 or ":" not in arguments[0]:
        print("usage: python -m meterlog.testing MODULE:NAME, where NAME is a Specimen")
        return 2
    module, _, name = arguments[0].partition(":")
    specimen = getattr(importlib.import_module(module), name)
    assert isinstance(specimen, Specimen), f"{arguments[0]} is no Specimen"
    failed = 0
    for words, fault in failures(specimen):
        print(f"{'FAILED' if fault else 'ok':<6}  {words}{f': {fault}' if fault else ''}", flush=True)
        failed += bool(fault)
    return min(failed, 1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
