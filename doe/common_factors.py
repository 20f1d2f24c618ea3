"""Two studies -> how a setting of the one is set in the other: order, units, melt pressure.

Two presses push the melt with different pistons: the same reading of their gauges is not the same
pressure on the melt. Where both area ratios are known, pressures are matched on the melt.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.factors import Factor
from shotwindow.doe.quantities import convert, unit_kind
from shotwindow.doe.study import Study

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Match:
    """How settings (n, k) of study A become settings of study B.

    Attributes
    ----------
    order : tuple of int, length k
        For each factor of B, its place in A.
    scale, offset : ndarray, shape (k,)
        For each factor of B: its value is ``scale * value in A + offset``.
    by_melt : tuple of str
        Factors that were matched by melt pressure.
    by_gauge : tuple of str
        Pressures that were matched as the gauges read, since an area ratio is not known.
    """

    order: tuple[int, ...]
    scale: Array
    offset: Array
    by_melt: tuple[str, ...]
    by_gauge: tuple[str, ...]

    def there(self, settings: ArrayLike) -> Array:
        """Return settings (n, k) of A as settings (n, k) of B."""
        here = np.asarray(settings, dtype=np.float64)
        return here[..., list(self.order)] * self.scale + self.offset


def match_factors(a: Study, b: Study) -> Match:
    r"""Match the factors of two studies.

    Raises
    ------
    StudyError
        With everything that does not match.

    Examples
    --------
    >>> from shotwindow.doe.common_factors import match_factors
    >>> from shotwindow.doe.study import parse_study
    >>> text = "press.area_ratio = {}\n[factors.pressure]\nunit = '{}'\nlow = 1\nhigh = 9\nstep = 1"
    >>> a, b = parse_study(text.format(12, "bar")), parse_study(text.format(6, "MPa"))
    >>> match_factors(a, b).there([[5.0]]).tolist()  # 5 bar on 12 : 1 is 60 bar on the melt
    [[1.0]]
    """
    problems: list[Problem] = []
    if set(a.names) != set(b.names):
        problems.append(
            Problem(
                "compare",
                f"the factors {', '.join(a.names)} and {', '.join(b.names)}",
                "the same factors in both studies",
                "what is a factor in one study and held in the other cannot be compared",
            )
        )
        raise StudyError(problems)
    order = tuple(a.names.index(name) for name in b.names)
    lines: list[tuple[float, float]] = []
    by_melt: list[str] = []
    by_gauge: list[str] = []
    for here, there in zip((a.factors[i] for i in order), b.factors, strict=True):
        if here.unit != there.unit and unit_kind(here.unit) != unit_kind(there.unit):
            place = f"compare [factors.{here.name}] unit"
            expected = "units of one kind in both studies"
            problems.append(Problem(place, f"{here.unit} and {there.unit}", expected))
            continue
        ratio = 1.0
        if unit_kind(here.unit) == "pressure":
            ratio, melt = _ratio(a, b, here, there, problems)
            (by_melt if melt else by_gauge).append(here.name)
        zero = _converted(0.0, here, there)
        lines.append((ratio * (_converted(1.0, here, there) - zero), zero))
    if problems:
        raise StudyError(problems)
    scale, offset = np.array(lines).T
    return Match(order, scale, offset, tuple(by_melt), tuple(by_gauge))


def _converted(value: float, here: Factor, there: Factor) -> float:
    return value if here.unit == there.unit else convert(value, here.unit, there.unit)


def _ratio(
    a: Study, b: Study, here: Factor, there: Factor, problems: list[Problem]
) -> tuple[float, bool]:
    """Return the pressure read in B over that read in A at one melt pressure; whether by melt."""
    both_gauge = here.reads == there.reads == "gauge"
    ratios = [
        1.0 if factor.reads == "melt" else study.press.area_ratio
        for study, factor in ((a, here), (b, there))
    ]
    if ratios[0] is not None and ratios[1] is not None:
        return ratios[0] / ratios[1], True
    if not both_gauge:
        place = "compare study.toml [press] area_ratio"
        problems.append(Problem(place, "nothing", "the ratio of the press that reads its gauge"))
    return 1.0, False
