"""Interval readings and a prior -> the log posterior density of one surface, many chains at once.

    latent = surface(setting) + cavity + lot + group + shot + rest of the cavity
    (where wanted, a cavity also has slopes of its own along the settings)

A reading is an interval of ``latent``. The surface is a polynomial with normal coefficients whose
common size is itself estimated; group and shot are normal, shared by all shots of a temperature
group and by all cavities of a shot; the rest is normal, one for each cavity of each shot. For
graded readings the latent limit of a good shot is zero, and the other limits are estimated.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.censored import Kinds, Slopes, kinds, slopes
from shotwindow.models.scales import Prior, to_power

Array = NDArray[np.float64]
Whole = NDArray[np.intp]

# Prior standard deviations of a scale (two in a billion lie beyond): farther out there is nothing
# but overflow, since ends and scatters grow with the exponential of a scale.
BELIEVABLE = 6.0


@dataclass(frozen=True)
class Observed:
    """Readings of one response, one row a shot and cavity, missing ones left out.

    Parameters
    ----------
    design : ndarray, shape (rows, terms)
        Model matrix, first column ones.
    low, high : ndarray, shape (rows,)
        Ends of each reading in latent units (what is fixed of them, for grades).
    low_gaps, high_gaps : ndarray, shape (rows, gaps)
        Multiples of the estimated gaps between grade limits to add to the ends.
    cavity, lot, group, shot : ndarray of int, shape (rows,)
        Numbers from zero.
    cavities, lots, groups, shots : int
        How many of each there are; ``groups`` is 0 where no setting is slow.
    powers : int
        1 where the ends are logarithms of widths whose power is estimated, 0 elsewhere.
    slopes : int
        Settings along which each cavity has a slope of its own: none, or all. Their columns of
        ``design`` follow the ones.
    """

    design: Array
    low: Array
    high: Array
    low_gaps: Array
    high_gaps: Array
    cavity: Whole
    lot: Whole
    group: Whole
    shot: Whole
    cavities: int
    lots: int
    groups: int
    shots: int
    powers: int = 0
    slopes: int = 0

    @cached_property
    def exact(self) -> NDArray[np.bool_]:
        """Readings that are the value itself; both ends of a grade may differ by gaps alone."""
        same = (self.low_gaps == self.high_gaps).all(axis=1)
        return np.asarray((self.low == self.high) & same)

    @property
    def gaps(self) -> int:
        """How many distances between grade limits are estimated."""
        return int(self.low_gaps.shape[1])


def _indicator(number: Whole, count: int) -> Array:
    return np.equal(number[:, None], np.arange(count)).astype(np.float64)


@dataclass(frozen=True)
class Density:
    """Log posterior density of one response; states are columns of shape (size, chains)."""

    data: Observed
    prior: Prior

    @cached_property
    def parts(self) -> dict[str, slice]:
        """Rows of the state that hold each kind of parameter."""
        data, several = self.data, self.data.cavities > 1
        sizes = {
            "surface": data.design.shape[1],
            "cavity": data.cavities if several else 0,
            "slope": data.cavities * data.slopes if several else 0,
            "lot": data.lots if data.lots > 1 else 0,
            "group": data.groups,
            "shot": data.shots if several else 0,
            "scatter": 1,
            "group_ratio": int(data.groups > 0),
            "cavity_ratio": int(several),
            "effect": int(data.design.shape[1] > 1),
            "bend": int(self.second.any()),
            "gaps": data.gaps,
            "power": data.powers,
        }
        ends = np.cumsum(list(sizes.values()))
        return {
            name: slice(int(end) - size, int(end))
            for (name, size), end in zip(sizes.items(), ends, strict=True)
        }

    @property
    def size(self) -> int:
        """Number of parameters."""
        return int(self.parts["power"].stop)

    @cached_property
    def _sorts(self) -> Kinds:
        return kinds(self.data.low, self.data.high, self.data.exact)

    @cached_property
    def rows(self) -> Array:
        """What each reading's mean is made of, shape (readings, parameters but the logarithms)."""
        data, blocks = self.data, [self.data.design]
        if data.cavities > 1:
            cavity = _indicator(data.cavity, data.cavities)
            along = cavity[:, :, None] * data.design[:, None, 1 : 1 + data.slopes]
            blocks += [cavity, along.reshape(len(cavity), -1)]
        if data.lots > 1:
            blocks.append(_indicator(data.lot, data.lots))
        if data.groups:
            blocks.append(_indicator(data.group, data.groups))
        if data.cavities > 1:
            blocks.append(_indicator(data.shot, data.shots))
        return np.hstack(blocks)

    @property
    def second(self) -> NDArray[np.bool_]:
        """Which coefficients but the first are of second order."""
        none = np.zeros(self.data.design.shape[1] - 1, dtype=bool)
        return none if self.prior.second is None else self.prior.second

    @cached_property
    def log_priors(self) -> dict[str, tuple[float, float]]:
        """Means and standard deviations of the parameters that are logarithms."""
        prior = self.prior
        return {
            "scatter": (float(np.log(prior.scatter)), prior.scatter_spread),
            "group_ratio": (float(np.log(prior.group_ratio)), prior.ratio_spread),
            "cavity_ratio": (float(np.log(prior.cavity_ratio)), prior.ratio_spread),
            "effect": (float(np.log(prior.effect)), prior.effect_spread),
            "bend": (0.0, prior.bend_spread),
            "gaps": (float(np.log(prior.cut_gap)), prior.cut_spread),
            "power": (float(np.log(prior.power)), prior.power_spread),
        }

    @property
    def rest(self) -> int:
        """Number of parameters that are not logarithms; they come first."""
        return int(self.parts["scatter"].start)

    @property
    def shared(self) -> int:
        """Number of parameters that several shots share: all but effects of shots."""
        return int(self.parts["shot"].start)

    @cached_property
    def log_median(self) -> Array:
        """Prior means of the parameters that are logarithms, in the order of the state."""
        return self._logs(0)

    @cached_property
    def log_spread(self) -> Array:
        """Prior standard deviations of the parameters that are logarithms."""
        return self._logs(1)

    def _logs(self, which: int) -> Array:
        counts = [self.parts[n].stop - self.parts[n].start for n in self.log_priors]
        return np.repeat([p[which] for p in self.log_priors.values()], counts)

    def logs(self, scales: Array) -> dict[str, Array]:
        """Columns of all logarithms -> each by name, (columns,); zero for those not estimated.

        ``gaps`` is of shape (gaps, columns).
        """
        found = {}
        for name in self.log_priors:
            part = self.parts[name]
            rows = scales[part.start - self.rest : part.stop - self.rest]
            found[name] = rows if name == "gaps" or len(rows) else np.zeros((1, scales.shape[1]))
        return {n: rows if n == "gaps" else rows[0] for n, rows in found.items()}

    def ends(self, log: dict[str, Array]) -> tuple[Array, Array]:
        """Ends of every reading for columns of logarithms by name, each (readings, columns)."""
        data, gaps = self.data, np.exp(log["gaps"])
        if data.powers:
            power = np.exp(log["power"])
            return to_power(data.low[:, None], power), to_power(data.high[:, None], power)
        return (
            data.low[:, None] + data.low_gaps @ gaps,
            data.high[:, None] + data.high_gaps @ gaps,
        )

    def likelihood(self, eta: Array, ends: tuple[Array, Array], rest_sd: Array) -> Slopes:
        """Log probability of every reading, with slopes, for means of shape (readings, columns)."""
        return slopes(self._sorts, *ends, eta, rest_sd)

    def named(self, states: Array) -> dict[str, Array]:
        """Draws of shared parameters and logarithms -> each by name, in latent units, draws first.

        Parameters
        ----------
        states : ndarray, shape (shared + logarithms, draws)

        Returns
        -------
        dict
            ``surface`` (draws, terms), ``cavity`` (draws, cavities), ``slope`` (draws, cavities,
            slopes), ``lot`` (draws, lots), and of shape (draws,) ``shot_sd``, ``rest_sd`` (zero
            with one cavity) and ``group_sd``; ``gaps`` (draws, gaps) between the limits of
            neighboring grades, and ``power`` (draws,) of widths.
        """
        parts, data, draws = self.parts, self.data, states.shape[1]
        log = self.logs(states[self.shared :])
        none = np.zeros(draws)
        return {
            "surface": states[parts["surface"]].T,
            "cavity": states[parts["cavity"]].T if data.cavities > 1 else np.zeros((draws, 1)),
            "slope": states[parts["slope"]].T.reshape(draws, data.cavities, -1)
            if data.cavities > 1
            else np.zeros((draws, 1, 0)),
            "lot": states[parts["lot"]].T if data.lots > 1 else np.zeros((draws, 1)),
            "shot_sd": np.exp(log["scatter"]),
            "rest_sd": np.exp(log["scatter"] + log["cavity_ratio"]) if data.cavities > 1 else none,
            "group_sd": np.exp(log["scatter"] + log["group_ratio"]) if data.groups else none,
            "gaps": np.exp(log["gaps"]).T,
            "power": np.exp(log["power"]),
        }
