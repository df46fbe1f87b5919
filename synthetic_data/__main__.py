"""Write the invented fleet: python -m synthetic_data --units N --seed S --out DIR."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from synthetic_data.fleet import write_fleet


def main(arguments: Sequence[str] | None = None) -> None:
    """Write the files and print where they are."""
    parser = argparse.ArgumentParser(
        prog="python -m synthetic_data",
        description="Write an invented fleet of chargers, with its truth, as files.",
    )
    parser.add_argument("--units", type=int, default=5000, help="units in the register")
    parser.add_argument("--seed", type=int, default=1, help="same seed, same files")
    parser.add_argument("--out", type=Path, required=True, help="folder for the files")
    chosen = parser.parse_args(arguments)
    if chosen.units < 1:
        parser.error(f"--units must be at least 1, got {chosen.units}")
    written = write_fleet(chosen.out, n_units=chosen.units, seed=chosen.seed)
    for file in (*written.records(), written.truth):
        sys.stdout.write(f"{file}\n")


if __name__ == "__main__":
    main()
