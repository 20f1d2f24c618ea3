"""Pressure, temperatures and time of a shot -> how far the melt flows in each cavity of a mold.

Melt is pushed at constant pressure through a manifold that the cavities share, then through each
cavity's own runner and gate, and fills the cavity, a flat slit, while frozen layers grow on its
walls. Resistances act in series; the gate or the cavity, whichever freezes first, ends the flow.
The front may pass the end of the cavity as if that went on: the *potential* fill.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.freezing import Freezing
from shotwindow.models.melt import Melt

Array = NDArray[np.float64]

# Ten steps with a time that grows as their square, for the front runs ahead early: within 0.5 % of
# the potential that 400 steps give.
STEPS = 10
# A front that has gone nowhere would feel an endless stress; this share of the cavity is given.
_HEAD_START = 1e-6


@dataclass(frozen=True)
class MoldShape:
    """Channels and cavities of a mold, in meters; one entry a cavity where it is a tuple.

    Attributes
    ----------
    manifold_length : tuple of float
        Piece number j of the shared manifold carries the melt of cavity j and all after it. A
        balanced mold has one piece before all cavities and zeros after it.
    manifold_radius : float
    runner_length, runner_radius : tuple of float
        Tube to each cavity.
    gate_length, gate_width, gate_gap : tuple of float
        Slit between runner and cavity.
    length, width, gap : tuple of float
        The cavity; melt enters at one end and flows along its length.
    """

    manifold_length: tuple[float, ...]
    manifold_radius: float
    runner_length: tuple[float, ...]
    runner_radius: tuple[float, ...]
    gate_length: tuple[float, ...]
    gate_width: tuple[float, ...]
    gate_gap: tuple[float, ...]
    length: tuple[float, ...]
    width: tuple[float, ...]
    gap: tuple[float, ...]

    @property
    def cavities(self) -> int:
        """Number of cavities."""
        return len(self.length)

    @cached_property
    def area(self) -> Array:
        """Area of each cavity seen along the clamp force, m2, shape (C,)."""
        area: Array = np.array(self.length) * np.array(self.width)
        return area

    def _tube_as_slit(self, radius: Array, n: float) -> Array:
        """Return the length of each cavity that loses as much as one length of tube, (C,)."""
        gap, width = np.array(self.gap), np.array(self.width)
        slit_rate = 2.0 * (2.0 * n + 1.0) / n / (width * gap**2)
        tube_rate = (3.0 * n + 1.0) / n / (np.pi * radius**3)
        length: Array = gap / radius * (tube_rate / slit_rate) ** n
        return length

    def runner_and_gate(self, n: float) -> Array:
        """Return runner and gate as the length of cavity that loses as much pressure, (C,) m.

        Exact for a power-law melt of index n whose frozen layers take the same share everywhere.
        """
        gap, gate = np.array(self.gap), np.array(self.gate_gap)
        gate_rate = np.array(self.width) * gap**2 / (np.array(self.gate_width) * gate**2)
        runner = np.array(self.runner_length) * self._tube_as_slit(np.array(self.runner_radius), n)
        gates: Array = np.array(self.gate_length) * gap / gate * gate_rate**n
        return runner + gates

    def manifold(self, n: float) -> Array:
        """Return the manifold's pieces (rows) as lengths of each cavity (columns), (C, C) m.

        A piece that carries more than the cavity's own flow loses (flow / own flow)^n times that.
        """
        lengths = np.array(self.manifold_length)[:, None]
        return np.triu(lengths * self._tube_as_slit(np.array(self.manifold_radius), n))


@dataclass(frozen=True)
class Conditions:
    """What the melt meets in each of n shots, every field of shape (n,).

    Attributes
    ----------
    pressure : ndarray
        Melt pressure at the mouth of the mold, Pa.
    melt, mold : ndarray
        Temperatures, degC.
    time : ndarray
        How long the pressure is held, s.
    thickness : ndarray
        How many times slower this lot flows than the usual one under the same stress.
    """

    pressure: Array
    melt: Array
    mold: Array
    time: Array
    thickness: Array


@dataclass(frozen=True)
class Filling:
    """How far the melt came, every field of shape (C, n).

    Attributes
    ----------
    potential : ndarray
        Front as a share of the cavity's length; above one where more room would have been filled.
    path : ndarray
        The whole way to the front as a share of the cavity's length: manifold, runner and gate
        count as the length of cavity that loses as much pressure.
    left : ndarray
        Time under pressure after the cavity was full and before the gate froze, s; zero if short.
    """

    potential: Array
    path: Array
    left: Array


def fill_mold(shape: MoldShape, melt: Melt, freezing: Freezing, shots: Conditions) -> Filling:
    """Let the melt flow until time or frost ends it.

    Within a step the flow is that of a power law with the melt's own local index, so a power-law
    melt without frost is followed exactly: ``x^(1+1/n) = (1+1/n) (h/2) n/(2n+1) (P h/2m)^(1/n) t``.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.filling import Conditions, MoldShape, fill_mold
    >>> from shotwindow.models.freezing import SlabFreezing
    >>> from shotwindow.models.melt import POLYPROPYLENE
    >>> shape = MoldShape((0.03,), 0.002, (0.02,), (0.002,), (0.001,), (0.004,), (0.0015,),
    ...                   (0.08,), (0.012,), (0.002,))
    >>> pressure, one = np.array([3e6, 8e6]), np.ones(2)
    >>> shots = Conditions(pressure, 210.0 * one, 40.0 * one, 4.0 * one, one)
    >>> filled = fill_mold(shape, POLYPROPYLENE, SlabFreezing(1e-7, 120.0), shots)
    >>> bool(filled.potential[0, 1] > 1 > filled.potential[0, 0])
    True
    """
    rate = melt.rate_scale(shots.melt) / shots.thickness
    gap, length = np.array(shape.gap)[:, None], np.array(shape.length)[:, None]
    section = np.array(shape.width)[:, None] * gap
    runner, manifold = shape.runner_and_gate(melt.n)[:, None], shape.manifold(melt.n)
    arrival = _arrival(shape, melt, shots, rate)
    end, edges, openings = _time_steps(shape, freezing, shots, arrival, 2.0 + 1.0 / melt.n)
    load = _manifold_load(manifold, melt.n, section, section)
    front = np.full_like(end, _HEAD_START) * length
    spent = np.zeros_like(end)  # time that filling took
    path = front + runner + load
    for start, stop, opening in zip(edges[:-1], edges[1:], openings, strict=True):
        span = np.minimum(stop, end) - np.minimum(start, end)
        behind = front + runner + load * opening ** (2.0 * melt.n + 1.0)
        stress = shots.pressure * gap * opening / (2.0 * melt.stress_scale * behind)
        speed, index = melt.curve.slit.at(np.log(np.maximum(stress, 1e-30)))
        # v = dx/dt ~ behind^-index, so that behind^(1+index) grows evenly with time
        gain = (1.0 + index) * rate * gap * opening**2 * np.exp(speed) * span / behind
        moved = behind * np.expm1(np.log1p(gain) / (1.0 + index))
        drawn = np.clip(length - front, 0.0, moved)
        until_full = np.expm1((1.0 + index) * np.log1p(drawn / behind)) / np.maximum(gain, 1e-30)
        spent += span * np.minimum(until_full, 1.0)
        front = front + moved
        path = np.where(span > 0.0, behind + moved, path)
        load = _manifold_load(manifold, melt.n, drawn * section, moved * section)
    return Filling(front / length, path / length, np.maximum(end - spent, 0.0))


def _time_steps(
    shape: MoldShape, freezing: Freezing, shots: Conditions, arrival: Array, power: float
) -> tuple[Array, Array, Array]:
    """Return the end of the flow (C, n), edges of the steps (steps + 1, n), openings (steps, C, n).

    Times count from when the melt enters the cavity. An opening is the mean over its step of the
    open share of the gap to that power, by two Gauss points in the root of time.
    """
    gap, gate = np.array(shape.gap)[:, None], np.array(shape.gate_gap)[:, None]
    seal = freezing.seal_time(shots.melt, shots.mold)
    end = np.clip(shots.time - arrival, 0.0, seal * np.minimum(gate, gap) ** 2)
    roots = (np.arange(STEPS + 1) / STEPS)[:, None] * np.sqrt(np.maximum(end.max(axis=0), 1e-9))
    ends = np.minimum(roots[:, None], np.sqrt(end))
    middle, reach = (ends[1:] + ends[:-1]) / 2.0, (ends[1:] - ends[:-1]) / np.sqrt(12.0)
    whole = np.sqrt(seal) * gap
    early, late = (
        freezing.open_share(shots.melt, shots.mold, root / whole) ** power
        for root in (middle - reach, middle + reach)
    )
    # dt = 2 u du gives the later point more weight; where nothing flows both are the same.
    weight = 0.5 + 0.5 * reach / np.maximum(middle, 1e-30)
    return end, roots**2, (early + weight * (late - early)) ** (1.0 / power)


def _arrival(shape: MoldShape, melt: Melt, shots: Conditions, rate: Array) -> Array:
    """Return how long the melt takes to each gate, as in a tube of its runner's radius, (C, n)."""
    radius = np.array(shape.runner_radius)[:, None]
    length = (np.cumsum(shape.manifold_length) + np.array(shape.runner_length))[:, None]
    length = np.maximum(length, 1e-9)
    stress = np.maximum(shots.pressure, 1.0) * radius / (2.0 * length)
    speed, index = melt.curve.tube.at(np.log(stress / melt.stress_scale))
    # x^index dx = A dt from 0 to the length, where A = speed x length^index
    arrival: Array = length / ((1.0 + index) * radius * rate * np.exp(speed))
    return arrival


def _manifold_load(manifold: Array, n: float, drawn: Array, moved: Array) -> Array:
    """Return the manifold before each cavity as a length of that cavity, (C, n) m.

    Parameters
    ----------
    manifold : ndarray, shape (C, C)
        Its pieces as lengths of each cavity, if they carried the cavity's flow alone.
    n : float
        Power-law index.
    drawn : ndarray, shape (C, n)
        What each cavity took up in the last step: a full one takes up nothing.
    moved : ndarray, shape (C, n)
        What it would have taken up with more room.
    """
    load = np.zeros_like(moved)
    own = np.maximum(moved, 1e-30)
    for piece, lengths in enumerate(manifold):
        if lengths[piece] > 0.0:
            others = drawn[piece:].sum(axis=0) - drawn[piece:]
            load[piece:] += lengths[piece:, None] * (1.0 + others / own[piece:]) ** n
    return load
