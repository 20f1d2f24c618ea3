"""Eight factors, 60 shots: what is lost where a window is looked for at few of its marks.

    python tests/benchmarks/few_marks.py                 four presses of each family
    python tests/benchmarks/few_marks.py --seeds 1       one of each
    python tests/benchmarks/few_marks.py --marks-each 5  with fewer marks, so sooner

Simulated presses with eight factors are shot with settings drawn at random from low, middle and
high. Of each fit a window is looked for as a study does, at two million marks shared out by their
number alone, and at two million shared out by what each factor does. Shares are held against
100,000 marks drawn at random from all; the standard error of these is 0.0015 at the most.
"""

import argparse
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from benchmarks.million import eight, shots

from shotwindow.doe.plans import PlannedShot
from shotwindow.doe.readings import Readings
from shotwindow.doe.study import Study
from shotwindow.models.enough_marks import find_both
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.presses import press_for
from shotwindow.models.rehearsal import shoot_plan
from shotwindow.models.setpoint import Setpoint, find_setpoint
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.thinning import MOST_MARKS, sways, thinned
from shotwindow.models.window import LIKELY, SURE, Window, find_window, tried_region

DRAWN = 100_000
HEADS = ("press", "marks", "likely", "off", "sure", "off", "held", "seconds")


def fitted(family: str, seed: int, each: int) -> tuple[Study, Readings, Goodness]:
    """Return a study of eight factors, what was shot on a press of its own, and the fit."""
    whole = eight(each)
    study = replace(whole, mold=replace(whole.mold, cavities=1))
    plan = [
        PlannedShot(row.shot, row.block, row.lot, row.group, row.kind, row.settings)
        for row in shots(study, 60)
    ]
    seen = shoot_plan(study, press_for(study, family, seed), plan, seed=seed)
    return study, seen, goodness(fit_surfaces(seen, seed=1))


def true_shares(study: Study, seen: Readings, good: Goodness) -> tuple[float, float]:
    """Shares of the likely and the sure window, of marks drawn from all."""
    rng = np.random.default_rng(8)
    settings = np.column_stack([rng.choice(f.marks, DRAWN) for f in study.factors])
    settings = settings[study.allowed(settings)]
    tried = settings[tried_region(seen).holds(settings)]
    parts = np.array_split(tried, 1 + len(tried) // 256)
    chance = np.concatenate([(good.shares(p) >= study.good_from).mean(axis=1) for p in parts])
    likely, sure = (float((chance >= least).sum() / len(settings)) for least in (LIKELY, SURE))
    return likely, sure


def searches(
    study: Study, seen: Readings, good: Goodness
) -> Iterator[tuple[Window, Setpoint | None, float]]:
    """Window, setpoint and processor seconds of each way."""
    begun = time.process_time()
    window, setpoint = find_both(study, seen, good, tried_region(seen))
    yield window, setpoint, time.process_time() - begun
    for sway in (None, sways(good.surfaces)):
        begun = time.process_time()
        window = find_window(thinned(study, MOST_MARKS, sway=sway), seen, good)
        setpoint = find_setpoint(window, good)
        yield window, setpoint, time.process_time() - begun


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a table with a line for each way on each press."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3, 4])
    parser.add_argument("--marks-each", type=int, default=7, metavar="M")
    asked = parser.parse_args(arguments)
    print(f"| {' | '.join(HEADS)} |\n| --- | --- |{' ---: |' * (len(HEADS) - 2)}")
    for family in "AB":
        for seed in asked.seeds:
            study, seen, good = fitted(family, seed, asked.marks_each)
            truth = true_shares(study, seen, good)
            for window, setpoint, seconds in searches(study, seen, good):
                counts = " ".join(str(factor.count) for factor in window.factors)
                shares = zip((window.share_likely, window.share_sure), truth, strict=True)
                cells = [f"{share:.3f} | {share - true:+.3f}" for share, true in shares]
                held = "none" if setpoint is None else f"{setpoint.probability_held:.3f}"
                told = (f"{family} {seed}", counts, *cells, held, f"{seconds:.1f}")
                print(f"| {' | '.join(told)} |", flush=True)


if __name__ == "__main__":
    main()
