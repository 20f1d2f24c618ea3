"""Effective draws a second of the fit, alone and beside a general sampler on the same density.

    python tests/benchmarks/sampling.py
    python -m venv peer && peer/bin/pip install pymc
    python tests/benchmarks/sampling.py --peer peer/bin/python

Invented readings of 20 shots of four cavities in five temperature groups, a surface of 15 terms;
more than half of the readings are only known to be full. The other library, PyMC, is installed
apart since nothing else needs it; without ``--peer`` its part is left out.

Our draws are weighted, several share their scales, and they keep out of each other's way: the
weights give an effective number of sets of scales, of which averages are worth less or more. How
many draws they are worth is therefore measured: the fit is repeated with other seeds, each
parameter is turned into normal scores by its rank among all draws of all repeats, as for the bulk
effective sample size of chains (Vehtari et al., Bayesian Analysis 16, 2021, 667-718, from memory),
and the variance of the scores is divided by the variance of their means. For the tails the share
below the 5 % and the 95 % quantile takes the place of the scores. The smallest of many such
numbers, each some twenty percent off with forty repeats, is rather too small. Seconds are of the
processor. Parameters are all but the effects of single shots, which are integrated out here.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

import numpy as np
from densities import density, prior
from numpy.typing import NDArray
from scipy.special import ndtri

from shotwindow.doe.terms import full_quadratic
from shotwindow.models.drawing import draw
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]

GROUPS, FULL = 5, 0.4
DRAWS = 16_384  # of each fit: nearly all of its particles
SPREADS = {"scatter": 0.3, "scatter_spread": 0.6, "ratio_spread": 0.5, "effect_spread": 0.5}


def made_study(shots: int, cavities: int, *, factors: int = 4, seed: int = 1) -> Density:
    """Return the density of invented readings in steps of 0.1, with a ceiling and no floor."""
    rng = np.random.default_rng(seed)
    terms = full_quadratic("abcdefgh"[:factors])
    design = terms.matrix(rng.choice([-1.0, -0.5, 0.0, 0.5, 1.0], (shots, factors)))
    surface = np.where(np.arange(design.shape[1]) <= factors, 0.5, 0.1)
    surface = surface * rng.normal(1.0, 0.5, design.shape[1])
    group = np.arange(shots) * GROUPS // shots
    latent = (design @ surface)[:, None] + 0.15 * rng.standard_normal(cavities)
    latent = latent + 0.15 * rng.standard_normal(GROUPS)[group][:, None]
    latent = latent + 0.25 * rng.standard_normal((shots, 1))
    latent = latent + 0.15 * rng.standard_normal((shots, cavities))
    low = np.floor(latent / 0.1) * 0.1
    full = latent > FULL
    return density(
        design,
        np.where(full, FULL, low),
        np.where(full, np.inf, low + 0.1),
        prior(design.shape[1], **SPREADS),
        group=group,
    )


def scores(drawn: Array) -> Array:
    """Return normal scores of all draws (repeats, parameters, draws), by their ranks in all."""
    repeats, parameters, draws = drawn.shape
    together = drawn.transpose(1, 0, 2).reshape(parameters, -1)
    ranks = together.argsort(axis=1).argsort(axis=1) + 1.0
    found = ndtri((ranks - 0.375) / (ranks.shape[1] + 0.25))
    return np.asarray(found.reshape(parameters, repeats, draws).transpose(1, 0, 2))


def worth(drawn: Array) -> tuple[Array, Array]:
    """Return how many independent draws each fit is worth, for each parameter.

    Parameters
    ----------
    drawn : ndarray, shape (repeats, parameters, draws)

    Returns
    -------
    bulk, tails : ndarray, shape (parameters,)
    """
    score = scores(drawn)
    bulk = score.var(axis=(0, 2)) / score.mean(axis=2).var(axis=0, ddof=1)
    tails = []
    for chance in (0.05, 0.95):
        share = (score < ndtri(chance)).mean(axis=2)
        tails.append(chance * (1.0 - chance) / share.var(axis=0, ddof=1))
    return np.asarray(bulk), np.minimum(*tails)


def measured(what: Density, effective: float, times: int) -> dict[str, float]:
    """Fit so many times; return seconds of one fit and what its draws are worth.

    Returns
    -------
    dict
        ``seconds`` of the processor, ``weights`` (effective number by the weights), ``worth`` (the
        smallest effective number of any parameter, by the repeats), ``median`` over parameters,
        ``tails`` (the smallest in the tails), and ``usable``, the share of fits whose draws may be
        used.
    """
    states, found, seconds = [], [], []
    for seed in range(times):
        begun = time.process_time()
        drawn = draw(what, np.random.default_rng(seed), draws=DRAWS, effective=effective)
        seconds.append(time.process_time() - begun)
        states.append(drawn.states)
        found.append(drawn.diagnostics)
    bulk, tails = worth(np.array(states))
    return {
        "seconds": float(np.median(seconds)),
        "weights": float(np.median([d.effective for d in found])),
        "worth": float(bulk.min()),
        "median": float(np.median(bulk)),
        "tails": float(tails.min()),
        "usable": float(np.mean([d.converged for d in found])),
    }


def beside(what: Density, python: str, draws: int) -> dict[str, float]:
    """Return what the other library needs on the same density, by its own measure of worth."""
    data, before = what.data, what.prior
    told = {
        "design": data.design, "low": data.low, "high": data.high, "cavity": data.cavity,
        "group": data.group, "shot": data.shot, "cavities": data.cavities, "groups": data.groups,
        "shots": data.shots, "mean": before.mean, "sd": before.sd,
        "first": [before.intercept_mean, before.intercept_sd], "cavity_sd": before.cavity_sd,
        "log_median": what.log_median, "log_spread": what.log_spread, "draws": draws,
    }  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "density.npz"
        np.savez(file, **told)  # type: ignore[arg-type] # arrays and numbers
        script = Path(__file__).with_name("sampling_peer.py")
        done = subprocess.run([python, script, file], stdout=subprocess.PIPE, text=True, check=True)
    return dict(json.loads(done.stdout.splitlines()[-1]))


def _head(first: str) -> str:
    columns = ["seconds", "effective by weights", "worth of the least known parameter"]
    columns += ["of the median one", "in its tails, the least", "worth a second", "usable"]
    return f"| {' | '.join([first, *columns])} |\n| ---: {'| ---: ' * len(columns)}|"


def _row(name: str, found: dict[str, float]) -> str:
    rate = found["worth"] / found["seconds"]
    return (
        f"| {name} | {found['seconds']:.2f} | {found['weights']:.0f} | {found['worth']:.0f} | "
        f"{found['median']:.0f} | {found['tails']:.0f} | {rate:.0f} | {found['usable']:.0%} |"
    )


def ours(efforts: Sequence[float], times: int) -> float:
    """Print what our draws are worth for each effort; return the best worth a second."""
    what = made_study(20, 4)
    open_end = np.isinf(what.data.high).mean()
    print(
        f"20 shots of 4 cavities, 15 terms, {what.size} parameters, {open_end:.0%} of readings "
        f"only known to be full; medians of {times} fits\n"
    )
    print(_head("asked"))
    rates = []
    for effort in efforts:
        found = measured(what, effort, times)
        rates.append(found["worth"] / found["seconds"])
        print(_row(f"{effort:g}", found), flush=True)
    return max(rates)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print all tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--peer", metavar="PYTHON", help="a Python with PyMC")
    add("--times", type=int, default=40, help="repeats of each fit")
    add("--efforts", type=float, nargs="+", default=[300.0, 1000.0, 2000.0])
    add("--draws", type=int, default=1000, help="of each of four chains of the peer")
    asked = parser.parse_args(arguments)
    best = ours(asked.efforts, asked.times)
    if asked.peer:
        theirs = beside(made_study(20, 4), asked.peer, asked.draws)
        print(
            f"\nPyMC {theirs['version']}, NUTS, 4 chains of {asked.draws} draws after as many to "
            f"tune, one after the other: bulk ESS of the least known parameter "
            f"{theirs['worth']:.0f}, {theirs['divergences']:.0f} divergences\n"
        )
        print(
            "| counted | seconds | worth a second | ours / theirs |\n| --- | ---: | ---: | ---: |"
        )
        seconds = theirs["sampling"]
        for name, more in (("compilation excluded", 0.0), ("included", theirs["compiling"])):
            rate = theirs["worth"] / (seconds + more)
            print(f"| {name} | {seconds + more:.1f} | {rate:.1f} | {best / rate:.0f} |")


if __name__ == "__main__":
    main()
