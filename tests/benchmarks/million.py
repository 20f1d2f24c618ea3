"""A million marks and more, 4 cavities: seconds, memory and error of window, setpoint and box.

    python tests/benchmarks/million.py                   2^20 marks of four factors, 20 shots
    python tests/benchmarks/million.py --marks-each 7    5.8 million of eight factors, 56 shots,
                                                         thinned as in a study
    python tests/benchmarks/million.py --marks-each 7 --all-marks

Then four shots are suggested. The shots are invented (straight lines with a little scatter): they
only give the search something to search.
"""

import argparse
import resource
import time
from collections.abc import Callable
from typing import TypeVar

import numpy as np

from shotwindow.doe.readings import Readings, readings
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study, parse_study
from shotwindow.models.candidates import Ground
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.limiting import find_limits
from shotwindow.models.margins import find_edges
from shotwindow.models.next_shots import choose_next
from shotwindow.models.parts import connected_parts
from shotwindow.models.setpoint import Ranges, find_ranges, find_setpoint
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.thinning import sways, thinned
from shotwindow.models.window import (
    LIKELY,
    SURE,
    Region,
    Window,
    find_window,
    settings_at,
    tried_region,
)

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

#: What each coded setting adds to fill and to flash.
PULL = (1.0, 0.5, 0.2, 0.4, 0.1, 0.15, -0.1, 0.05)


def eight(each: int) -> Study:
    """Return a study of eight factors with so many marks each, four cavities, two slow settings."""
    return parse_study(eight_text(each, 4))


def eight_text(each: int, cavities: int) -> str:
    """Return the same with so many cavities, as it stands in study.toml."""
    names = """pressure melt_temperature mold_temperature injection_time
        screw_speed back_pressure cooling_time shot_volume""".split()
    units = "bar degC degC s rpm bar s cm3".split()
    low = (2.0, 205, 30, 4.0, 20, 1.0, 10, 15)
    text = f"mold.cavities = {cavities}\n"
    for name, unit, first in zip(names, units, low, strict=True):
        text += f'[factors.{name}]\nunit = "{unit}"\nlow = {first}\n'
        text += f"high = {first + 0.5 * (each - 1)}\nstep = 0.5\n"
        text += f"limits = [{max(0, first - 1)}, {first + 0.5 * each + 1}]\n"
        text += "soak_min = 12\n" if unit == "degC" else ""
    return text


def shots(study: Study, count: int = 20) -> tuple[Row, ...]:
    """Invent shots with a reading of fill and of flash for each cavity."""
    rng = np.random.default_rng(4)
    rows = []
    for shot in range(1, count + 1):
        group = (shot - 1) // 4 + 1
        slow = np.random.default_rng(group).choice([-1.0, 0.0, 1.0], 2)
        fast = rng.choice([-1.0, 0.0, 1.0], len(study.factors) - 2)
        coded = np.array([fast[0], *slow, *fast[1:]])
        natural = [float(f.snap(f.natural(x))) for f, x in zip(study.factors, coded, strict=True)]
        pull = float(coded @ PULL[: coded.size])
        level = 0.06 + 0.1 * pull + 0.006 * rng.standard_normal()
        fill = [min(100.0, 2.0 * round(50 * np.exp(level - 0.015 * c))) for c in range(4)]
        root = 0.16 + 0.1 * pull + 0.01 * rng.standard_normal()
        flash = tuple(round(max(0.0, root - 0.02 * c) ** 2 / 0.02) * 0.02 for c in range(4))
        rows.append(
            Row(
                shot,
                "1",
                "",
                group,
                "optimal",
                tuple(natural),
                (None,) * coded.size,
                tuple(fill),
                flash,
            )
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
    """Measure, and compare marks drawn at random with asking every draw."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--marks-each", type=int, metavar="M", help="of each of eight factors")
    parser.add_argument("--all-marks", action="store_true", help="leave none out")
    wanted = parser.parse_args()
    whole = eight(wanted.marks_each) if wanted.marks_each else parse_study(TEXT)
    seen = readings(whole, shots(whole, 56 if wanted.marks_each else 20))
    good = timed("fit", lambda: goodness(fit_surfaces(seen, seed=wanted.seed)))
    study = whole if wanted.all_marks else thinned(whole, sway=sways(good.surfaces))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    window = timed("window", lambda: find_window(study, seen, good))
    ranges = _search(study, seen, good, window)
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"marks {window.allowed.size}, likely {window.share_likely:.4f}, "
          f"sure {window.share_sure:.4f}")  # fmt: skip
    print(f"peak {after / 1024:.0f} MB, of which the search {(after - before) / 1024:.0f} MB")
    _compare(study, good, window)
    _compare_all(whole, good, tried_region(seen), window)
    if ranges is not None:
        _compare_box(whole, good, window, ranges)


def _search(study: Study, seen: Readings, good: Goodness, window: Window) -> Ranges | None:
    """Time all that is looked for in a window."""
    ranges = None
    region = tried_region(seen)
    setpoint = timed("setpoint", lambda: find_setpoint(window, good))
    if setpoint is not None:
        print("            ", setpoint)
        ranges = timed("box", lambda: find_ranges(window, setpoint))
        print("            ", ranges)
        timed("edges", lambda: find_edges(good, setpoint, region, study.good_from))
    timed("parts", lambda: connected_parts(window.likely, window.probability_in_window))
    timed("limits", lambda: find_limits(window, good))
    ground, last = Ground(study, region, seen.settings), seen.settings[-1]
    told = timed("next", lambda: choose_next(ground, window, good, shots=4, present=last))
    print(f"             {len(told.shots)} shots")
    return ranges


def _compare(study: Study, good: Goodness, window: Window) -> None:
    """Ask every draw at 10,000 of the marks that were looked at."""
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


def _compare_all(
    whole: Study, good: Goodness, region: Region, window: Window, count: int = 50_000
) -> None:
    """Hold the shares of the window against marks drawn at random from all, also those left out."""
    marks = np.prod([factor.count for factor in whole.factors])
    settings = settings_at(whole.factors, np.random.default_rng(8).choice(marks, count))
    settings = settings[whole.allowed(settings)]
    tried = settings[region.holds(settings)]
    chance = np.concatenate(
        [(good.shares(part) >= whole.good_from).mean(axis=1) for part in np.array_split(tried, 200)]
    )
    for name, least, found in (
        ("likely", LIKELY, window.share_likely),
        ("sure", SURE, window.share_sure),
    ):
        share = float((chance >= least).sum() / len(settings))
        error = (share * (1 - share) / len(settings)) ** 0.5
        print(f"{name:10} {found:.4f}, of marks drawn from all {share:.4f} +- {error:.4f}")


def _compare_box(whole: Study, good: Goodness, window: Window, ranges: Ranges) -> None:
    """Ask every draw at marks drawn from all within the box, also those left out."""
    least = SURE if ranges.of == "sure" else LIKELY
    rng, inside, marks = np.random.default_rng(7), [], 1
    for own, kept, low, high in zip(
        whole.factors, window.factors, ranges.low, ranges.high, strict=True
    ):
        ends = kept.marks[[low, high]] + 1e-6 * own.step * np.array([-1.0, 1.0])
        within = own.marks[(own.marks >= ends[0]) & (own.marks <= ends[1])]
        inside.append(rng.choice(within, 10_000))
        marks *= within.size
    settings = np.column_stack(inside)
    chance = np.concatenate(
        [
            (good.shares(part) >= whole.good_from).mean(axis=1)
            for part in np.array_split(settings, 50)
        ]
    )
    print(f"box        of {marks} marks, {(chance >= least).mean():.4f} of 10,000 drawn are "
          f"{ranges.of}, the lowest chance {chance.min():.3f}")  # fmt: skip


if __name__ == "__main__":
    main()
