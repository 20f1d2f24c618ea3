"""Ranks of the truth among the draws, for many studies drawn from the prior, and bands of edges.

Run as ``python tests/benchmarks/calibration.py [studies]``.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from calibrations import LEVELS, NAMES, covered, misfit, ranks  # noqa: E402 # its folder has to be found first


def main() -> None:
    """Print a chi-square for each parameter, and how often bands held the true edge."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    found = ranks(count, seed=1)
    print(f"{count} studies; chi-square with 7 degrees of freedom, 5 % are above 14.1")
    for name, column in zip(NAMES, found.T, strict=True):
        print(f"{name:16} {misfit(column):6.1f}")
    print("bands of the edge that held the true one, and the standard error by chance")
    for level in LEVELS:
        error = (level * (1.0 - level) / count) ** 0.5
        print(f"{level:4.0%}  {covered(found[:, -1], level):.3f} ± {error:.3f}")


if __name__ == "__main__":
    main()
