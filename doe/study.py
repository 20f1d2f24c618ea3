"""What a study is: the mold, press, material, factors and scales that study.toml describes.

Everything here is frozen and already checked. `read_study` turns a folder into a `Study`, or
into one error that names every mistake in its study.toml.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.factors import Factor

#: Comparisons that an [[avoid]] rule may use.
COMPARISONS = {
    ">=": np.greater_equal,
    ">": np.greater,
    "<=": np.less_equal,
    "<": np.less,
    "==": np.equal,
}

# A difference of less than this share of a step comes from arithmetic, never from a setting.
_DUST = 1e-6


@dataclass(frozen=True)
class Mold:
    """The mold.

    `full_mass_g` holds the mass of each cavity's full, flash-free part, or is None. `layout` holds
    the numbers of the cavities as they lie seen from the nozzle, row by row from the top, 0 where
    none is; None where nobody told.
    """

    name: str
    revision: str
    cavities: int
    full_mass_g: tuple[float, ...] | None
    projected_area_cm2: float | None
    layout: tuple[tuple[int, ...], ...] | None = None


@dataclass(frozen=True)
class Press:
    """The press; None is what nobody told.

    Attributes
    ----------
    name : str
    area_ratio : float or None
        Melt pressure over gauge pressure.
    clamp_force_kN, barrel_g : float or None
    group_scatter : float
        What plans take temperature groups to scatter by, in scatters of shots within a group.
    """

    name: str
    area_ratio: float | None
    clamp_force_kN: float | None
    barrel_g: float | None
    group_scatter: float = 1.0


@dataclass(frozen=True)
class Material:
    """The material; `dried_degC` and `dried_h` are None where no drying was recorded."""

    name: str
    grade: str
    lot: str
    regrind_percent: float
    dried_degC: float | None
    dried_h: float | None


@dataclass(frozen=True)
class Time:
    """Minutes that things take, and how many shots are thrown away after each change."""

    start_up_min: float
    clean_up_min: float
    shot_min: float
    warm_up_shots: int
    budget_min: float


@dataclass(frozen=True)
class Held:
    """Something kept as it is through the whole study: a number with its unit, or words."""

    name: str
    value: float | str
    unit: str

    @property
    def text(self) -> str:
        """Value and unit, for instance "12 g"."""
        value = self.value if isinstance(self.value, str) else f"{self.value:.10g}"
        return f"{value} {self.unit}".strip()


@dataclass(frozen=True)
class FillScale:
    """How fill is judged.

    Attributes
    ----------
    measured : str
        "mass", "eye" or "full-or-short".
    step : float
        Grams of the balance for "mass"; percent points for "eye"; 100 for "full-or-short".
    full_from : float
        Percent from which a part counts as full: 100, or less for a weighed part.
    """

    measured: str
    step: float
    full_from: float


@dataclass(frozen=True)
class FlashScale:
    """How flash is judged.

    Attributes
    ----------
    measured : str
        "width" or "grade".
    unit : str
        "mm" or "in"; "grade" for grades.
    step : float
        Finest difference that is read; 1 for grades.
    seen_from : float
        The narrowest flash that can be seen; 1 for grades.
    good : float
        The most that a good part may have.
    """

    measured: str
    unit: str
    step: float
    seen_from: float
    good: float


@dataclass(frozen=True)
class Study:
    """Everything that study.toml says.

    Attributes
    ----------
    title : str
    good_from : float
        Share of good shots from which a setting lies in the window.
    mold, press, material, time : Mold, Press, Material, Time
    factors : tuple of Factor
        One to eight, in the order of the file.
    held : tuple of Held
    fill, flash : FillScale, FlashScale
    avoid : tuple of dict
        Each maps factor names to a comparison and a value; a setting that meets all of one
        dict's conditions is never planned.
    schema : int
    prefer : str
        What breaks a tie between settings that are as good; "" for nothing.
    """

    title: str
    good_from: float
    mold: Mold
    press: Press
    material: Material
    time: Time
    factors: tuple[Factor, ...]
    held: tuple[Held, ...]
    fill: FillScale
    flash: FlashScale
    avoid: tuple[dict[str, tuple[str, float]], ...]
    schema: int
    prefer: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the factors, in order."""
        return tuple(factor.name for factor in self.factors)

    @property
    def cavities(self) -> int:
        """Number of cavities of the mold."""
        return self.mold.cavities

    def allowed(self, settings: ArrayLike) -> NDArray[np.bool_]:
        """Return which settings (n, k) lie within all limits and meet no [[avoid]] rule, (n,)."""
        columns = np.asarray(settings, dtype=np.float64)
        inside = np.ones(columns.shape[:-1], dtype=np.bool_)
        for j, factor in enumerate(self.factors):
            low, high = factor.limits
            dust = factor.step * _DUST
            inside &= (columns[..., j] >= low - dust) & (columns[..., j] <= high + dust)
        for rule in self.avoid:
            inside &= ~self._meets(rule, columns)
        return inside

    def _meets(
        self, rule: dict[str, tuple[str, float]], columns: NDArray[np.float64]
    ) -> NDArray[np.bool_]:
        met = np.ones(columns.shape[:-1], dtype=np.bool_)
        for name, (comparison, value) in rule.items():
            j = self.names.index(name)
            steps = (columns[..., j] - value) / self.factors[j].step
            met &= COMPARISONS[comparison](np.where(np.abs(steps) < _DUST, 0.0, steps), 0.0)
        return met


def read_study(folder: Path) -> Study:
    """Return the study that a folder's study.toml describes.

    Parameters
    ----------
    folder : Path
        The study's folder, not the file.

    Raises
    ------
    StudyError
        With every mistake in the file, or that there is none.
    """
    from shotwindow.doe.study_reading import read_study_file

    return read_study_file(folder / "study.toml")


def parse_study(text: str, place: str = "study.toml") -> Study:
    """Return the study that the text of a study.toml describes.

    Parameters
    ----------
    text : str
        TOML.
    place : str, optional
        How messages name the file.

    Raises
    ------
    StudyError
        With every mistake in the text.

    Examples
    --------
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... [mold]
    ... name = "invented lid"
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.1
    ... ''')
    >>> study.names, study.cavities, study.time.shot_min
    (('pressure',), 1, 3.0)
    """
    # Imported here because a study's parts are needed in many places, its reader (and pydantic,
    # which takes longer to load than all of this) only where a file is read.
    from shotwindow.doe.study_reading import study_from_text

    return study_from_text(text, place)
