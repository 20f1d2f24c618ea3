"""Ranks of the truth among the draws, for many studies drawn from the prior.

Run as ``python tests/benchmarks/calibration.py [studies]``.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from calibrations import NAMES, misfit, ranks  # noqa: E402 # its folder has to be found first


def main() -> None:
    """Print a chi-square for each parameter."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    found = ranks(count, seed=1)
    print(f"{count} studies; chi-square with 7 degrees of freedom, 5 % are above 14.1")
    for name, column in zip(NAMES, found.T, strict=True):
        print(f"{name:16} {misfit(column):6.1f}")


if __name__ == "__main__":
    main()
