"""How long rehearsals take, how two workers share them, and whether they score as a full fit does.

    python tests/benchmarks/rehearsed.py --times 40 [--pairs 20] [--cavities 4]

A rehearsal fits with fewer draws than a study itself and looks at fewer marks. So each of the first
presses is also fitted, scored and timed as `practice --reveal` does it, on the very same readings.
"""

import argparse
import os
import time
from collections.abc import Sequence
from dataclasses import dataclass

# One thread, told before numpy is loaded.
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"

import numpy as np

from shotwindow.doe.plans import PlannedShot, make_plan
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study, parse_study
from shotwindow.models.families import FAMILIES
from shotwindow.models.presses import press_for
from shotwindow.models.rehearsal import written_rows
from shotwindow.models.rehearsals import Rehearsal, rehearse
from shotwindow.models.scoring import score
from shotwindow.reports.findings import find

#: Invented: four factors, two of them slow, parts read by eye.
STUDY = """
[time]
warm_up_shots = 2
[factors.pressure]
unit = "bar"
low = 3.0
high = 5.0
step = 0.1
limits = [0, 7]
[factors.melt_temperature]
unit = "degC"
low = 205
high = 235
step = 1
limits = [190, 250]
soak_min = 15
soak_down_min = 25
[factors.mold_temperature]
unit = "degC"
low = 28
high = 48
step = 1
limits = [15, 60]
soak_min = 10
soak_down_min = 20
[factors.injection_time]
unit = "s"
low = 3
high = 8
step = 0.5
limits = [1, 20]
"""


@dataclass(frozen=True)
class Pair:
    """One press: what a rehearsal says, and what the full fit of the same readings says."""

    quick: Rehearsal
    full: Rehearsal


def pair(study: Study, shots: Sequence[PlannedShot], seed: int, number: int) -> Pair:
    """Return a rehearsal beside the full fit, with all draws and marks, of the same readings."""
    luck = int(generator(seed, "rehearsal", number).integers(2**31))
    press = press_for(study, FAMILIES[number % len(FAMILIES)], luck)
    found = find(study, written_rows(study, press, shots, seed=luck, slip_rate=0.0), seed=luck)
    quick = rehearse(study, shots, seed=seed, number=number)
    if found.window is None:
        return Pair(quick, Rehearsal(quick.has_window, 0.0, None, quick.open_edge, False))
    near = score(press, found.study, found.window, found.setpoint)
    full = Rehearsal(
        has_window=near.true_share > 0.0,
        overlap=near.overlap,
        setpoint_good=near.setpoint_good,
        open_edge=bool(found.window.open_edges),
        answered=True,
    )
    return Pair(quick, full)


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--times", type=int, default=20, help="rehearsals that are timed")
    asked.add_argument("--pairs", type=int, default=0, help="presses that are fitted in full, too")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--cavities", type=int, default=1)
    words = asked.parse_args()
    study = parse_study(f"mold.cavities = {words.cavities}\n{STUDY}")
    shots = make_plan(study, shots=20, seed=1).shots
    print(f"20 shots; cavities: {words.cavities}")
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    if words.times:
        _times(study, shots, words.seed, words.times)
    if words.pairs:
        _agreement([pair(study, shots, words.seed, n) for n in range(words.pairs)], study.good_from)


def _times(study: Study, shots: Sequence[PlannedShot], seed: int, times: int) -> None:
    import joblib

    rehearse(study, shots, seed=seed, number=times)  # loads what is loaded once
    own = np.array([_spent(study, shots, seed, number) for number in range(times)])
    print(f"one rehearsal: {own.mean():.3f} s of processor (standard error {_error(own):.3f})")
    print(f"1000 on two processors: {1000 * own.mean() / 2 / 60:.1f} minutes of processor each")
    wall, busy = {}, {}
    with joblib.parallel_config("loky", inner_max_num_threads=1):
        for workers in (1, 2):
            pool = joblib.Parallel(n_jobs=workers, batch_size=1)
            job = joblib.delayed(_spent)
            pool(job(study, shots, seed, times + n) for n in range(workers))
            begun, here = time.monotonic(), time.process_time()
            spent = pool(job(study, shots, seed, n) for n in range(times))
            wall[workers] = time.monotonic() - begun
            busy[workers] = sum(spent) + time.process_time() - here
    print(f"wall: {wall[1]:.1f} s with one worker, {wall[2]:.1f} s with two")
    print(f"efficiency at two workers by the clock: {wall[1] / wall[2] / 2:.2f}")
    print(f"by processor seconds, which other work disturbs less: {busy[1] / busy[2]:.2f}")


def _spent(study: Study, shots: Sequence[PlannedShot], seed: int, number: int) -> float:
    """Return the processor seconds of one rehearsal; a worker runs this."""
    begun = time.process_time()
    rehearse(study, shots, seed=seed, number=number)
    return time.process_time() - begun


def _agreement(pairs: Sequence[Pair], good_from: float) -> None:
    gaps = np.array([p.quick.overlap - p.full.overlap for p in pairs if p.full.has_window])
    print(
        f"overlap, rehearsal less full fit, {len(gaps)} presses: mean {gaps.mean():+.4f} "
        f"(standard error {_error(gaps):.4f}), standard deviation {gaps.std(ddof=1):.4f}, "
        f"largest {np.abs(gaps).max():.3f}"
    )
    overlaps = np.array([(p.quick.overlap, p.full.overlap) for p in pairs if p.full.has_window])
    print(f"correlation {np.corrcoef(overlaps.T)[0, 1]:.3f}")
    for name in ("open_edge", "answered", "has_window"):
        same = sum(getattr(p.quick, name) == getattr(p.full, name) for p in pairs)
        print(f"{name}: the same on {same} of {len(pairs)}")
    works = [[(r.setpoint_good or 0.0) >= good_from for r in (p.quick, p.full)] for p in pairs]
    same = sum(quick == full for quick, full in works)
    print(f"a setpoint that works: the same on {same} of {len(pairs)}")
    quick, full = np.sum(works, axis=0)
    print(f"  {quick} by rehearsals, {full} by full fits")


def _error(values: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> float:
    return float(values.std(ddof=1) / np.sqrt(len(values)))


if __name__ == "__main__":
    main()
