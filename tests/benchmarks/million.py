"""A million marks, 20 shots, 4 cavities: seconds, memory and error of window, setpoint and box.

Run it with ``.venv/bin/python tests/benchmarks/million.py``. The shots are invented (straight lines
with a little scatter): they only give the search something to search.
"""

import argparse
import resource
import time
from collections.abc import Callable
from typing import TypeVar

import numpy as np

from shotwindow.doe.readings import readings
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study, parse_study
from shotwindow.models.goodness import goodness
from shotwindow.models.margins import find_edges
from shotwindow.models.setpoint import find_ranges, find_setpoint
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.window import find_window, settings_at, tried_region

T = TypeVar("T")

TEXT = """
mold.cavities = 4
[factors.pressure]
unit = "bar"
low = 2.0
high = 5.1
step = 0.1
limits = [0, 7]
[factors.melt_temperature]
unit = "degC"
low = 205
high = 236
step = 1
limits = [190, 250]
soak_min = 15
[factors.mold_temperature]
unit = "degC"
low = 30
high = 61
step = 1
limits = [20, 80]
soak_min = 10
[factors.injection_time]
unit = "s"
low = 4.0
high = 10.2
step = 0.2
limits = [1, 20]
"""


def shots(study: Study, count: int = 20) -> tuple[Row, ...]:
    """Invent shots with a reading of fill and of flash for each cavity."""
    rng = np.random.default_rng(4)
    rows = []
    for shot in range(1, count + 1):
        group = (shot - 1) // 4 + 1
        slow = np.random.default_rng(group).choice([-1.0, 0.0, 1.0], 2)
        fast = rng.choice([-1.0, 0.0, 1.0], 2)
        coded = np.array([fast[0], *slow, fast[1]])
        natural = [float(f.snap(f.natural(x))) for f, x in zip(study.factors, coded, strict=True)]
        pull = float(coded @ [1.0, 0.5, 0.2, 0.4])
        level = 0.06 + 0.1 * pull + 0.006 * rng.standard_normal()
        fill = [min(100.0, 2.0 * round(50 * np.exp(level - 0.015 * c))) for c in range(4)]
        root = 0.16 + 0.1 * pull + 0.01 * rng.standard_normal()
        flash = tuple(round(max(0.0, root - 0.02 * c) ** 2 / 0.02) * 0.02 for c in range(4))
        rows.append(
            Row(shot, "1", "", group, "optimal", tuple(natural), (None,) * 4, tuple(fill), flash)
        )
    return tuple(rows)


def timed(name: str, what: Callable[[], T]) -> T:
    """Call it and print wall and processor seconds."""
    wall, used = time.perf_counter(), time.process_time()
    made = what()
    wall, used = time.perf_counter() - wall, time.process_time() - used
    print(f"{name:12}{wall:8.2f} s wall {used:8.2f} s processor")
    return made


def main() -> None:
    """Measure, and compare 10,000 marks drawn at random with asking every draw."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    seed = parser.parse_args().seed
    study = parse_study(TEXT)
    seen = readings(study, shots(study))
    good = timed("fit", lambda: goodness(fit_surfaces(seen, seed=seed)))
    region = tried_region(seen)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    window = timed("window", lambda: find_window(study, seen, good))
    setpoint = timed("setpoint", lambda: find_setpoint(window, good))
    if setpoint is not None:
        print("            ", setpoint)
        ranges = timed("box", lambda: find_ranges(window, setpoint))
        print("            ", ranges)
        timed("edges", lambda: find_edges(good, setpoint, region, study.good_from))
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"marks {window.allowed.size}, likely {window.share_likely:.4f}, "
          f"sure {window.share_sure:.4f}")  # fmt: skip
    print(f"peak {after / 1024:.0f} MB, of which the search {(after - before) / 1024:.0f} MB")
    asked = np.flatnonzero(~np.isnan(window.probability_good.ravel()))
    some = np.random.default_rng(9).choice(asked, 10_000, replace=False)
    shares = np.concatenate(
        [good.shares(settings_at(study.factors, part)) for part in np.array_split(some, 50)]
    ).astype(float)
    for name, plain, found in (
        ("good", shares.mean(axis=1), window.probability_good),
        ("in window", (shares >= study.good_from).mean(axis=1), window.probability_in_window),
    ):
        off = np.abs(found.ravel()[some] - plain)
        print(f"{name:10} largest error {off.max():.5f}, mean {off.mean():.6f}")


if __name__ == "__main__":
    main()
