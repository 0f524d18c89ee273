"""python -m tests.fuzz [NAME ...] [--bytes 10000000] [--seed 5]: random and damaged bytes for each decoder.

Prints a table, and what was wrong below it; ends with 1 if anything was. `make fuzz` runs all of it.
"""

import argparse
import sys

from tests.fuzz.run import SEED, Tally, run
from tests.fuzz.subjects import SUBJECTS

HEAD = "| decoder | bytes | readings | unjustified | crashes | slowest piece, ms | grown, kB | seconds |"


def row(tally: Tally) -> str:
    return (
        f"| {tally.name} | {tally.bytes_fed} | {tally.readings} | {tally.unjustified} | {tally.crashes} "
        f"| {tally.slowest_s * 1e3:.0f} | {tally.grown_kb} | {tally.seconds:.0f} |"
    )


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("names", nargs="*", help=f"of {', '.join(SUBJECTS)}; all if none is named")
    parser.add_argument("--bytes", type=int, default=10_000_000, help="for each decoder (10 million)")
    parser.add_argument("--seed", type=int, default=SEED)
    wanted = parser.parse_args()
    print(f"seed {wanted.seed}\n\n{HEAD}\n|---|---|---|---|---|---|---|---|")
    tallies = []
    for name in wanted.names or SUBJECTS:
        tallies.append(run(SUBJECTS[name](), wanted.bytes, wanted.seed))
        print(row(tallies[-1]), flush=True)
    for tally in tallies:
        for fault in tally.faults:
            print(f"{tally.name}: {fault}")
    return int(not all(tally.sound for tally in tallies))


if __name__ == "__main__":
    sys.exit(main())
