"""How fast and how good the search for optimal plans is, alone and beside another library's.

The other library is `pydoe`, general-purpose and installed for this only; without it its part is
left out. Both sides search the same 81 candidates for the largest |X'X|, ten times. Speed at equal
efficiency: ours with the fewest starts and passes whose median of ten is no worse than theirs.
All seconds are of the processor, so that other work on the machine does not count.
"""

import sys
import time
from collections.abc import Callable
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.optimal import exchange
from shotwindow.doe.tasks import Task
from shotwindow.doe.terms import Terms, full_quadratic

THREE = np.array([-1.0, 0.0, 1.0])
T = TypeVar("T")
TIMES = 10
# Starts and passes of ours, the quickest first.
EFFORTS = ((1, 1), (1, 2), *((starts, 60) for starts in (1, 2, 3, 5, 10, 20, 50)))
METHODS = ("sequential", "simple_exchange", "fedorov", "modified_fedorov", "detmax")


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """Return what the work gives and the median processor seconds of three times."""
    seconds = []
    for _ in range(3):
        begun = time.process_time()
        result = work()
        seconds.append(time.process_time() - begun)
    return result, sorted(seconds)[1]


def moments(terms: Terms, k: int) -> NDArray[np.float64]:
    """Mean of f f' over the cube, from the moments of a uniform distribution."""
    powers = terms.powers[:, None] + terms.powers
    each = np.where(powers % 2 == 0, 1 / (powers + 1.0), 0.0)
    mean: NDArray[np.float64] = each.prod(axis=2)
    return mean


def alone() -> None:
    """Print the goals: four factors in twenty shots, and eight factors in fifty."""
    levels = np.linspace(-1, 1, 21)
    terms = full_quadratic("abcd")
    task = Task(terms, (levels,) * 4, np.eye(20), moments=moments(terms, 4))
    best = exchange(task, 1000, np.random.default_rng(0)).loss[0]
    found, seconds = timed(lambda: exchange(task, 50, np.random.default_rng(1)))
    worst = min(best / exchange(task, 50, np.random.default_rng(s)).loss[0] for s in range(2, 22))
    print(f"4 factors, 20 shots, 50 starts: {seconds:.2f} s (goal 0.5)")
    print(f"  efficiency beside the best of 1,000 starts {best / found.loss[0]:.4f} (goal 0.99)")
    print(f"  the lowest of 20 other seeds               {worst:.4f}")
    terms = full_quadratic("abcdefgh")
    task = Task(terms, (levels,) * 8, np.eye(50), moments=moments(terms, 8))
    _, seconds = timed(lambda: exchange(task, 50, np.random.default_rng(1)))
    print(f"8 factors, 50 shots, 50 starts: {seconds:.1f} s (goal 30)")


def beside() -> None:
    """Print both searches for the D-optimal plan of four factors in twenty shots."""
    try:
        import pydoe  # type: ignore[import-not-found]  # not installed for the tests
    except ImportError:
        print("pydoe is not installed: no comparison (python -m pip install pydoe)")
        return
    task = Task(full_quadratic("abcd"), (THREE,) * 4, np.eye(20))
    candidates = np.stack(np.meshgrid(*(THREE,) * 4), axis=-1).reshape(-1, 4)
    print("D-optimal, 4 factors, 20 shots, medians of ten; ours with just enough work:")
    for method in METHODS:
        theirs, seconds = [], []
        for _ in range(TIMES):
            begun = time.process_time()
            plan, _ = pydoe.optimal_design(candidates, 20, 2, "D", method)
            seconds.append(time.process_time() - begun)
            theirs.append(float(task.loss(plan)))
        for starts, passes in EFFORTS:
            begun = time.process_time()
            ours = [
                exchange(task, starts, np.random.default_rng(s), passes=passes).loss[0]
                for s in range(TIMES)
            ]
            spent = (time.process_time() - begun) / TIMES
            if np.median(ours) <= np.median(theirs) + 1e-9:
                break
        relative = np.median(theirs) / np.median(ours)
        print(
            f"  {method:17} {np.median(seconds):.3f} s; ours, {starts:2d} starts of at most "
            f"{passes:2d} passes: {spent:.4f} s "
            f"({np.median(seconds) / spent:.0f} times as fast), D {relative:.4f} times theirs"
        )


if __name__ == "__main__":
    print(f"Python {sys.version.split()[0]}, numpy {np.__version__}")
    alone()
    beside()
