"""`python -m tests.trials settled|fallen|feel|rounds|coverage`: a table; `plots` draws. Each has a --help."""

import sys
from importlib import import_module

TABLES = {
    "settled": "tests.trials.settling.table",
    "fallen": "tests.trials.falling.table",
    "feel": "tests.trials.feel.table",
    "rounds": "tests.trials.rounds.table",
    "coverage": "tests.trials.coverage.table",
    "plots": "tests.trials.plots",
}

if __name__ == "__main__":
    if len(sys.argv) < 2 or sys.argv[1] not in TABLES:
        sys.exit(f"say which: python -m tests.trials {'|'.join(TABLES)} [--help]")
    import_module(TABLES[sys.argv[1]]).main(sys.argv[2:])
