"""How fast and how good the search for optimal plans is, alone and beside another library's.

The other library is `pydoe`, general-purpose and installed for this only; without it its part is left
out. Both sides search the same 81 candidates for the largest |X'X|. At equal efficiency means: the
fewest starts with which ours is at least as good as the best of theirs, for each of ten seeds.
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
METHODS = ("sequential", "simple_exchange", "fedorov", "modified_fedorov", "detmax")


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """Return what the work gives and the median seconds of three times."""
    seconds = []
    for _ in range(3):
        begun = time.perf_counter()
        result = work()
        seconds.append(time.perf_counter() - begun)
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
        import pydoe
    except ImportError:
        print("pydoe is not installed: no comparison (python -m pip install pydoe)")
        return
    task = Task(full_quadratic("abcd"), (THREE,) * 4, np.eye(20))
    candidates = np.stack(np.meshgrid(*(THREE,) * 4), axis=-1).reshape(-1, 4)
    theirs = {}
    for method in METHODS:
        (plan, _), seconds = timed(
            lambda method=method: pydoe.optimal_design(candidates, 20, 2, "D", method)
        )
        theirs[method] = (float(task.loss(plan)), seconds)
    best = min(loss for loss, _ in theirs.values())
    for starts in (1, 2, 3, 5, 10, 20, 50):
        losses = [exchange(task, starts, np.random.default_rng(s)).loss[0] for s in range(10)]
        if max(losses) <= best + 1e-9:
            break
    _, ours = timed(lambda: exchange(task, starts, np.random.default_rng(1)))
    print(
        f"ours, {starts} starts: {ours:.3f} s, D {np.exp((best - max(losses)) / 15):.4f} of theirs"
    )
    for method, (loss, seconds) in theirs.items():
        relative = np.exp((max(losses) - loss) / 15)
        print(f"  {method:17} {seconds:.3f} s ({seconds / ours:5.1f} x), D {relative:.4f} of ours")


if __name__ == "__main__":
    print(f"Python {sys.version.split()[0]}, numpy {np.__version__}")
    alone()
    beside()
