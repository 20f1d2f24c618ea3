"""How fast the simulated press shoots, and what random presses are like.

Run as ``python tests/benchmarks/press_speed.py [presses]``. Times are of the processor, so that
other work on the machine does not count; goals: 100,000 shots a second, and the true share of good
shots at 10,000 settings in about two seconds.
"""

import sys
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.seeds import generator
from shotwindow.models.presets import PRESETS, preset
from shotwindow.models.press import Press
from shotwindow.models.presses import random_press, some_marks
from shotwindow.models.shooting import shoot
from shotwindow.models.truth import probability_good

SHOTS, SETTINGS, MARKS = 50_000, 10_000, 1_000


def seconds(work: Callable[[], object]) -> float:
    """Return the least processor time of three runs."""
    times = []
    for _ in range(3):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def speeds(press: Press) -> tuple[float, float]:
    """Return shots a second and seconds for the share of good shots at 10,000 settings."""
    rng = generator(1, "press speed")
    marks = some_marks(press, SETTINGS, rng)
    settings = marks[rng.integers(0, len(marks), SHOTS)]
    group = np.repeat(np.arange(SHOTS // 10), 10)
    shot = seconds(lambda: shoot(press, settings, group=group, rng=rng))
    judged = seconds(lambda: probability_good(press, settings[:SETTINGS]))
    return SHOTS / shot, judged


def good_share(press: Press) -> float:
    """Return the share of good marks in the planned ranges."""
    marks = some_marks(press, MARKS, generator(2, "press speed"))
    return float(np.mean(probability_good(press, marks) >= 0.9))


def quartiles(values: list[float]) -> NDArray[np.float64]:
    """Return least, lower quartile, median, upper quartile and greatest."""
    return np.percentile(values, [0, 25, 50, 75, 100])


def main() -> None:
    """Print speeds of the presets and of random presses, and the sizes of random windows."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print(f"{'press':<12} cavities  shots/s  s for {SETTINGS} settings")
    for name in PRESETS:
        press = preset(name)
        rate, judged = speeds(press)
        print(f"{name:<12} {press.cavities:8d} {rate:8.0f}  {judged:.2f}")
    for family in "AB":
        begun = time.process_time()
        presses = [random_press(family, seed) for seed in range(count)]
        made = (time.process_time() - begun) / count
        shares = [good_share(press) for press in presses]
        text = " ".join(f"{share:.3f}" for share in quartiles(shares))
        outside = sum(not 0.05 <= share <= 0.45 for share in shares)
        print(f"{count} random presses {family}: {made:.3f} s each; share of good marks, quartiles")
        print(f"  {text}; outside 0.05 to 0.45: {outside}")


if __name__ == "__main__":
    main()
