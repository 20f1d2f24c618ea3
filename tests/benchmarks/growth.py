"""How the time of a fit grows with shots, cavities and settings, and that of a window with marks.

    python tests/benchmarks/growth.py --shots 20 40 80 --cavities 1 4 16

The fits are those of one surface to the invented readings of `sampling.py`, the marks those of
`million.py`. Seconds are of the processor, medians of a few fits with other seeds.
"""

import argparse
import os
import sys
import time
from collections.abc import Sequence
from pathlib import Path

# One thread, told before numpy is loaded.
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parent.parent))

import numpy as np
from benchmarks import million
from benchmarks.sampling import made_study

from shotwindow.doe.readings import readings
from shotwindow.doe.study import parse_study
from shotwindow.models.drawing import draw
from shotwindow.models.goodness import goodness
from shotwindow.models.posterior import Density
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.thinning import thinned
from shotwindow.models.window import find_window


def fitted(what: Density, times: int) -> str:
    """Fit with so many seeds; return median seconds, effective draws, and whether all are usable.

    Examples
    --------
    >>> from benchmarks.growth import fitted
    >>> from benchmarks.sampling import made_study
    >>> fitted(made_study(5, 1, factors=1), 1).count(" s, ")
    1
    """
    seconds, found = [], []
    for seed in range(times):
        begun = time.process_time()
        drawn = draw(what, np.random.default_rng(seed), draws=400)
        seconds.append(time.process_time() - begun)
        found.append(drawn.diagnostics)
    usable = sum(one.converged for one in found)
    poor = "" if usable == times else f", {usable} of {times} usable"
    return f"{np.median(seconds):.2f} s, {np.median([d.effective for d in found]):.0f}{poor}"


def by_shots(shots: Sequence[int], cavities: Sequence[int], times: int) -> None:
    """Print fits of a surface over four settings."""
    print("Four settings, 15 terms; seconds of one fit, and its effective draws by the weights\n")
    print(f"| shots | {' | '.join(f'cavities: {count}' for count in cavities)} |")
    print(f"| ---: {'| ---: ' * len(cavities)}|")
    for count in shots:
        cells = [fitted(made_study(count, each), times) for each in cavities]
        print(f"| {count} | {' | '.join(cells)} |", flush=True)


def by_factors(factors: Sequence[int], times: int) -> None:
    """Print fits of surfaces with more and more terms."""
    print("\n40 shots of 4 cavities\n\n| settings | terms | fit |\n| ---: | ---: | ---: |")
    for count in factors:
        what = made_study(40, 4, factors=count)
        terms = what.data.design.shape[1]
        print(f"| {count} | {terms} | {fitted(what, times)} |", flush=True)


def by_marks(marks: Sequence[int]) -> None:
    """Print how long the window of one fit takes at more and more marks."""
    whole = parse_study(million.TEXT)
    seen = readings(whole, million.shots(whole))
    good = goodness(fit_surfaces(seen, seed=1))
    print("\nFour settings, 4 cavities, 20 shots\n\n| marks | window, seconds |\n| ---: | ---: |")
    for most in marks:
        study = thinned(whole, most)
        begun = time.process_time()
        window = find_window(study, seen, good)
        print(f"| {window.allowed.size} | {time.process_time() - begun:.2f} |", flush=True)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print all tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--shots", type=int, nargs="+", default=[20, 40, 80])
    add("--cavities", type=int, nargs="+", default=[1, 4, 16])
    add("--factors", type=int, nargs="+", default=[2, 4, 6, 8])
    add("--marks", type=int, nargs="+", default=[4_000, 64_000, 1_048_576])
    add("--times", type=int, default=3, help="fits of each")
    asked = parser.parse_args(arguments)
    by_shots(asked.shots, asked.cavities, asked.times)
    by_factors(asked.factors, asked.times)
    by_marks(asked.marks)


if __name__ == "__main__":
    main()
