"""Factors, settings and chances -> the words and numbers that people read on a dial."""

from collections.abc import Iterable, Sequence
from math import isfinite

import numpy as np

from shotwindow.doe.aliases import rank
from shotwindow.doe.factors import Factor, coded_settings
from shotwindow.doe.quantities import unit_kind
from shotwindow.doe.terms import full_quadratic

WORDS_OF = {"fill": "short", "flash": "flash", "other": "other rejects"}
CUT = " [...]"  # ends a text that was cut


def spoken(name: str) -> str:
    """Return a name from study.toml as words."""
    return name.replace("_", " ")


def unit_of(factor: Factor) -> str:
    """Return the unit, for a pressure with where it is read.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.reports.naming import unit_of
    >>> unit_of(Factor("pressure", "psi", 50, 70, 1, (0, 120), 0.5))
    'psi gauge'
    """
    return f"{factor.unit} {factor.reads}" if unit_kind(factor.unit) == "pressure" else factor.unit


def with_unit(factor: Factor, value: float) -> str:
    """Return a value of a factor as it is set, with its unit."""
    return f"{factor.text(value)} {unit_of(factor)}"


def axis_label(factor: Factor) -> str:
    """Return the name and unit of a factor for an axis or the head of a column."""
    return f"{spoken(factor.name)} ({unit_of(factor)})"


def setting_words(factors: Sequence[Factor], settings: Sequence[float]) -> str:
    """Return all settings of a shot as one phrase.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.reports.naming import setting_words
    >>> setting_words([Factor("melt_temperature", "degC", 205, 235, 1, (190, 250), 0.5)], [220.0])
    'melt temperature 220 degC'
    """
    return ", ".join(
        f"{spoken(f.name)} {with_unit(f, v)}" for f, v in zip(factors, settings, strict=True)
    )


def no_alias_words(factors: Sequence[Factor], settings: Iterable[Sequence[float]]) -> str:
    """Say of a plan without aliases what it tells nothing of all the same.

    Parameters
    ----------
    factors : sequence of Factor, length k
    settings : iterable of sequence of float
        Of each fitted shot.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.reports.naming import no_alias_words
    >>> pressure = Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05)
    >>> melt = Factor("melt_temperature", "degC", 205, 235, 1, (190, 250), 0.5)
    >>> square = [(bar, degrees) for bar in (3.0, 4.0, 5.0) for degrees in (205, 220, 235)]
    >>> no_alias_words([pressure, melt], square)
    'no effect up to second order hides another.'
    >>> no_alias_words([pressure, melt], square[::2])
    'no effect that it tells apart carries another; interactions and curves beyond them may.'
    >>> no_alias_words([pressure, melt], [(3.0, 220.0), (5.0, 220.0)])
    'nothing hides behind pressure; of melt temperature, kept at one value, the plan tells nothing.'
    """
    rows = np.array(list(settings), dtype=float)
    columns = rows.T.tolist()
    once = [len(set(column)) == 1 for column in columns]
    kept = [spoken(f.name) for f, alone in zip(factors, once, strict=True) if alone]
    if not kept:
        terms = full_quadratic([factor.name for factor in factors])
        if rank(terms, coded_settings(tuple(factors), rows)) == len(terms):
            return "no effect up to second order hides another."
        return (
            "no effect that it tells apart carries another; interactions and curves beyond them "
            "may."
        )
    varied = [spoken(f.name) for f, alone in zip(factors, once, strict=True) if not alone]
    return (
        f"nothing hides behind {listed(varied)}; of {listed(kept)}, kept at one value, the plan "
        "tells nothing."
    )


def chance(probability: float) -> str:
    """Return a probability with two digits; one that is not certain is never called so.

    Examples
    --------
    >>> from shotwindow.reports.naming import chance
    >>> chance(0.934), chance(0.9999), chance(0.0001)
    ('0.93', 'over 0.99', 'under 0.01')
    """
    if not isfinite(probability):
        return "unknown"
    if probability > 0.995:
        return "over 0.99"
    return "under 0.01" if probability < 0.005 else f"{probability:.2f}"


def percent(share: float) -> str:
    """Return a share in percent with two digits.

    Examples
    --------
    >>> from shotwindow.reports.naming import percent
    >>> percent(0.2134), percent(0.0213), percent(0.0)
    ('21 %', '2.1 %', '0 %')
    """
    return f"{100 * share:.2g} %" if share < 0.995 else f"{100 * share:.3g} %"


def plural(count: int, word: str, many: str = "") -> str:
    """Return a count with its noun.

    Examples
    --------
    >>> from shotwindow.reports.naming import plural
    >>> plural(1, "shot"), plural(3, "shot"), plural(4, "cavity", "cavities")
    ('1 shot', '3 shots', '4 cavities')
    """
    return f"{count} {word if count == 1 else many or word + 's'}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Return words as one phrase.

    Examples
    --------
    >>> from shotwindow.reports.naming import listed
    >>> listed(["short", "flash", "sink"])
    'short, flash and sink'
    """
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), words[-1] if words else ""]))


def shortened(text: str, most: int) -> str:
    """Return a text of so many signs at the most; one that was cut says so.

    Examples
    --------
    >>> from shotwindow.reports.naming import shortened
    >>> shortened("gland cap", 20), shortened("gland cap for the pump", 15)
    ('gland cap', 'gland cap [...]')
    """
    return text if len(text) <= most else text[: most - len(CUT)] + CUT
