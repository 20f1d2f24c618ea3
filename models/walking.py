"""A press, a number of shots -> what somebody finds who turns one setting at a time.

From the center the pressure is raised until parts are full, then until they flash; its middle is
kept, and the next setting is turned in the same way. What shots are left for a setting halve the
gaps between the last good and the first bad one. The window is the box of the ranges found.
"""

from dataclasses import dataclass
from itertools import pairwise

from shotwindow.doe.plans import PlannedShot
from shotwindow.doe.study import Study
from shotwindow.models.press import Press
from shotwindow.models.rehearsal import shoot_plan

_WARM_UP = "warm-up"


@dataclass(frozen=True)
class Walked:
    """What one factor at a time has told.

    Attributes
    ----------
    box : tuple of (float, float), length k
        Ends of the good range found along each factor, in its unit; the place that it was left at,
        twice, where nothing was good along it.
    setpoint : tuple of float, length k
        The marks in the middle of the ranges.
    any_good : bool
        Whether a shot was good at all.
    shots : tuple of PlannedShot
        In running order, warm-up shots included.
    """

    box: tuple[tuple[float, float], ...]
    setpoint: tuple[float, ...]
    any_good: bool
    shots: tuple[PlannedShot, ...]


def walk(study: Study, press: Press, shots: int, *, seed: int) -> Walked:
    """Turn one setting after the other on a practice press, in the order of the study.

    Parameters
    ----------
    study : Study
    press : Press
        Takes the factors of the study.
    shots : int
        To be made, warm-up shots not counted.
    seed : int
        Of everything that nobody set.
    """
    factors = study.factors
    made = _Walk(study, press, shots, seed)
    mark = [factor.count // 2 for factor in factors]
    box: list[tuple[float, float]] = []
    any_good = False
    for axis, factor in enumerate(factors):
        share = made.left // (len(factors) - axis)
        start = mark[axis]
        ends = _Turn(made, mark, axis, share).ends() if share else None
        any_good = any_good or ends is not None
        low, high = ends or (start, start)
        mark[axis] = (low + high) // 2
        box.append((float(factor.marks[low]), float(factor.marks[high])))
    setpoint = tuple(float(f.marks[m]) for f, m in zip(factors, mark, strict=True))
    return Walked(tuple(box), setpoint, any_good, tuple(made.shots))


class _Walk:
    """Somebody at the press: the shots made so far, and what each mark that was tried gave."""

    def __init__(self, study: Study, press: Press, shots: int, seed: int) -> None:
        self.study, self.press, self.seed = study, press, seed
        self.left = shots
        self.shots: list[PlannedShot] = []

    def shoot(self, mark: list[int]) -> int:
        """Make a shot: 0 is good, -1 short and +1 too much."""
        factors, time = self.study.factors, self.study.time
        settings = tuple(float(f.marks[m]) for f, m in zip(factors, mark, strict=True))
        slow = [j for j, f in enumerate(factors) if f.is_slow]
        last = self.shots[-1] if self.shots else None
        changed = last is None or any(last.settings[j] != settings[j] for j in slow)
        group = (last.group if last else 0) + changed
        kinds = [_WARM_UP] * (time.warm_up_shots if changed else 0) + ["ladder"]
        for kind in kinds:
            self.shots.append(PlannedShot(len(self.shots) + 1, "", "", group, kind, settings))
        self.left -= 1
        return self._look()

    def _look(self) -> int:
        seen = shoot_plan(self.study, self.press, self.shots, seed=self.seed)
        rejected = seen.other is not None and bool(seen.other[-1])
        if seen.flash_grade is not None:
            flashed = bool((seen.flash_grade[-1] > seen.flash_good).any())
        else:
            assert seen.flash_low is not None  # widths
            flashed = bool((seen.flash_low[-1] >= seen.flash_good).any())
        if rejected or flashed:
            return 1
        return 0 if (seen.fill_low[-1] >= seen.fill_good).all() else -1


class _Turn:
    """One setting being turned with so many shots: what each mark along it gave."""

    def __init__(self, walk: _Walk, mark: list[int], axis: int, shots: int) -> None:
        self.walk, self.mark, self.axis = walk, mark, axis
        self.until = walk.left - shots
        self.count = walk.study.factors[axis].count
        self.stride = max(1, round((self.count - 1) / max(2, shots - 1)))
        self.tried: dict[int, int] = {}

    def ends(self) -> tuple[int, int] | None:
        """Return the first and last good mark, or None without one."""
        start = self.mark[self.axis]
        self._at(start)
        if wrong := self.tried[start]:
            self._go(start, -wrong, wrong)
        if 0 in self.tried.values():
            self._go(self._good()[-1], 1, 0)
            self._go(self._good()[0], -1, 0)
        while self.walk.left > self.until and (place := _halfway(self.tried)) is not None:
            self._at(place)
        good = self._good()
        return (good[0], good[-1]) if good else None

    def _good(self) -> list[int]:
        return sorted(place for place, what in self.tried.items() if what == 0)

    def _at(self, place: int) -> None:
        if place not in self.tried:
            self.mark[self.axis] = place
            self.tried[place] = self.walk.shoot(self.mark)

    def _go(self, place: int, way: int, same: int) -> None:
        """Go one way by strides until a shot is no longer the same."""
        while self.walk.left > self.until and self.tried[place] == same:
            ahead = min(max(place + way * self.stride, 0), self.count - 1)
            if ahead == place:
                return
            place = ahead
            self._at(place)


def _halfway(tried: dict[int, int]) -> int | None:
    """Return the middle of the widest gap between a good and a bad mark; None if all are closed."""
    gaps = [
        (high - low, (low + high) // 2)
        for low, high in pairwise(sorted(tried))
        if (tried[low] == 0) != (tried[high] == 0) and high - low > 1
    ]
    return max(gaps)[1] if gaps else None
