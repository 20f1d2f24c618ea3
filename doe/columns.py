"""A study -> the columns of its run sheet."""

import re
from dataclasses import dataclass

from shotwindow.doe.study import Study
from shotwindow.doe.tables import fold

PLANNED = ("shot", "block", "lot", "group", "kind")
SHORT_CAVITIES = "short cavities"
REMARKS = ("other", "status", "made_at", "by", "note")

_FILL = {"mass": ("mass", "g"), "eye": ("fill", "%"), "full-or-short": ("fill", "full or short")}


@dataclass(frozen=True)
class Layout:
    """The columns of one table of runs.

    Attributes
    ----------
    settings : tuple of str
        A heading for each factor.
    fill, flash : tuple of str
        One heading for each cavity, or a single one for the worst cavity (or the total mass).
    short_cavities : bool
        Whether the cavities that are seen to be short are listed in a column of their own.
    extra : tuple of str
        Columns of the user's own, kept as text.
    """

    settings: tuple[str, ...]
    fill: tuple[str, ...]
    flash: tuple[str, ...]
    short_cavities: bool = False
    extra: tuple[str, ...] = ()

    @property
    def actual(self) -> tuple[str, ...]:
        """A heading for each factor's setting as it was read off."""
        return tuple(f"actual {heading}" for heading in self.settings)

    @property
    def readings(self) -> tuple[str, ...]:
        """Headings of what is read off a shot's parts."""
        return self.fill + ((SHORT_CAVITIES,) if self.short_cavities else ()) + self.flash

    @property
    def names(self) -> tuple[str, ...]:
        """All headings in the order of the file."""
        return PLANNED + self.settings + self.actual + self.readings + REMARKS + self.extra


def columns(study: Study) -> tuple[str, ...]:
    r"""Return the headings of a new runs.csv.

    Examples
    --------
    >>> from shotwindow.doe.columns import columns
    >>> from shotwindow.doe.study import parse_study
    >>> text = '[factors.pressure]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.1'
    >>> columns(parse_study(text))[5:9]
    ('pressure (bar)', 'actual pressure (bar)', 'fill (%)', 'flash (mm)')
    """
    return standard_layout(study).names


def standard_layout(study: Study) -> Layout:
    """Return the columns of a new runs.csv: fill for each cavity, flash for the worst one."""
    single, numbered = fill_headings(study)
    fill = numbered if study.cavities > 1 else single
    labels = tuple(factor.label for factor in study.factors)
    return Layout(labels, fill, flash_headings(study)[0])


def fill_headings(study: Study) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the one fill heading for all cavities together, and one for each of them."""
    word, unit = _FILL[study.fill.measured]
    return _headings(word, unit, study.cavities)


def flash_headings(study: Study) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the one flash heading for all cavities together, and one for each of them."""
    return _headings("flash", study.flash.unit, study.cavities)


def all_headings(study: Study) -> tuple[str, ...]:
    """Return every heading that a table of this study's runs may have."""
    labels = tuple(factor.label for factor in study.factors)
    by_total = study.fill.measured == "mass" and study.cavities > 1
    return (
        *PLANNED,
        *labels,
        *(f"actual {label}" for label in labels),
        *(name for names in fill_headings(study) for name in names),
        *((SHORT_CAVITIES,) if by_total else ()),
        *(name for names in flash_headings(study) for name in names),
        *REMARKS,
    )


def heading_key(heading: str) -> str:
    """Return what all ways of writing the same heading have in common.

    Examples
    --------
    >>> from shotwindow.doe.columns import heading_key
    >>> heading_key("Melt_temperature  [°C]") == heading_key("melt temperature (degC)")
    True
    """
    text = fold(heading.replace("_", " ").replace("°", "deg")).replace("[", "(").replace("]", ")")
    return re.sub(r"\s*([()])\s*", r"\1", text)


def _headings(word: str, unit: str, cavities: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return (f"{word} ({unit})",), tuple(f"{word} {i} ({unit})" for i in range(1, cavities + 1))
