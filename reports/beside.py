"""Each effect by either prior, beside least squares, which is the data alone."""

from shotwindow.models.surface import Surface
from shotwindow.reports.changes import Change, Interval, turned, unit_of_effect
from shotwindow.reports.effect_words import span
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.plain_fit import PlainFit, plain_effect
from shotwindow.reports.priors import PRIORS
from shotwindow.reports.pull import effects_by_prior


def told_unit(found: Fitted, surface: Surface) -> str:
    """Return the unit of these effects in words."""
    unit = unit_of_effect(found, surface)
    if unit != "share":
        return unit
    over = "over the limit" if surface.response == "flash" else "rejected"
    return f"% of shots {over}, from 50 %"


def beside_rows(found: Fitted, surface: Surface, plain: PlainFit | None) -> list[tuple[str, ...]]:
    """Return a table with its heads: a row a setting, in the unit of the changes.

    Parameters
    ----------
    found : Fitted
    surface : Surface
        Whose response is told.
    plain : PlainFit or None
        Least squares of the same response, where there is one.
    """
    told = effects_by_prior(found)[surface.response]
    graded = surface.response == "flash" and surface.grade_limits is not None
    least_squares = f"least squares{' (grades)' if graded else ''}"
    heads = ("turned up by", *(f"{prior} prior" for prior in PRIORS), least_squares)
    rows: list[tuple[str, ...]] = [heads]
    for j, factor in enumerate(found.study.factors):
        least = None if plain is None else plain_effect(found, plain, j)
        each = [_told(told[p][j]) if p in told else "no answer" for p in PRIORS]
        rows.append((turned(factor), *each, "cannot tell" if least is None else _range(least)))
    return rows


def _told(change: Change) -> str:
    effect = change.effect
    if change.unit == "share":
        return f"{100 * effect.low:.0f} to {100 * effect.high:.0f}"
    return _range(effect)


def _range(effect: Interval) -> str:
    return span(effect.low, effect.high, "+")
