"""PyMC's NUTS on a density that `sampling.py` wrote to a file; run with a Python that has PyMC.

Effects are written as standard normal numbers times their scale, which is the better way for this
sampler when readings say little.
"""

import json
import os
import sys
import tempfile
from collections.abc import Callable
from typing import Any

# compiled anew each time, as on a machine that has not seen this model
os.environ["PYTENSOR_FLAGS"] = f"base_compiledir={tempfile.mkdtemp()}"

import arviz
import numpy as np
import pymc as pm
import pytensor.tensor as pt
from pymc.distributions.dist_math import log_diff_normal_cdf, normal_lccdf, normal_lcdf


def model_of(told: np.lib.npyio.NpzFile) -> pm.Model:
    """Return the model: surface, cavities, groups and shots, and intervals of their sum."""
    with pm.Model() as model:
        logs = [
            pm.Normal(name, told["log_median"][i], told["log_spread"][i])
            for i, name in enumerate(("scatter", "group_ratio", "cavity_ratio", "effect"))
        ]
        scatter, group_ratio, cavity_ratio, effect = (pt.exp(log) for log in logs)
        first = pm.Normal("first", *told["first"])
        plain = pm.Normal("plain", 0.0, 1.0, shape=told["mean"].size)
        rest = pm.Deterministic("rest", effect * (told["mean"] + told["sd"] * plain))
        cavity = pm.Normal("cavity", 0.0, float(told["cavity_sd"]), shape=int(told["cavities"]))
        plain_group = pm.Normal("plain_group", 0.0, 1.0, shape=int(told["groups"]))
        group = pm.Deterministic("group", scatter * group_ratio * plain_group)
        plain_shot = pm.Normal("plain_shot", 0.0, 1.0, shape=int(told["shots"]))
        shot = pm.Deterministic("shot", scatter * plain_shot)
        middle = first + told["design"][:, 1:] @ rest + cavity[told["cavity"]]
        middle = middle + group[told["group"]] + shot[told["shot"]]
        sd, low, high = scatter * cavity_ratio, told["low"], told["high"]
        chances: tuple[tuple[Any, Callable[[Any], Any]], ...] = (
            (np.isposinf(high), lambda r: normal_lccdf(middle[r], sd, low[r])),
            (np.isneginf(low), lambda r: normal_lcdf(middle[r], sd, high[r])),
            (
                np.isfinite(low) & np.isfinite(high),
                lambda r: log_diff_normal_cdf(middle[r], sd, high[r], low[r]),
            ),
        )
        for rows, chance in chances:
            r = np.flatnonzero(rows)
            if r.size:
                pm.Potential(f"readings {r[0]} {r.size}", chance(r).sum())
    return model


def seconds() -> float:
    """Return processor seconds so far, those of the compiler as well."""
    return sum(os.times()[:4])


def main() -> None:
    """Print one line of JSON."""
    told = np.load(sys.argv[1])
    draws = int(told["draws"])
    settings = {"chains": 4, "cores": 1, "random_seed": 1, "progressbar": False}
    with model_of(told):
        begun = seconds()
        step = pm.NUTS(target_accept=0.9)  # compiles
        compiling = seconds() - begun
        begun = seconds()
        found = pm.sample(draws, tune=draws, step=step, **settings)
        sampling = seconds() - begun
    names = ["scatter", "group_ratio", "cavity_ratio", "effect", "first", "rest", "cavity", "group"]
    worth = arviz.ess(found, var_names=names, method="bulk")
    print(
        json.dumps(
            {
                "version": pm.__version__,
                "compiling": compiling,
                "sampling": sampling,
                "worth": float(min(worth[name].min() for name in names)),
                "divergences": int(found.sample_stats["diverging"].sum()),
                "means": [float(found.posterior[n].mean()) for n in names[:5]],
            }
        )
    )


if __name__ == "__main__":
    main()
