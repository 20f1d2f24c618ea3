"""Tables of a study that are each in order turned into the mistakes that lie between them."""

import re
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher
from itertools import combinations
from typing import Any

import numpy as np

from shotwindow.doe.errors import Problem, guess
from shotwindow.doe.factors import STANDARD_ROLES, Factor
from shotwindow.doe.preferences import PREFERENCES, wanted_low
from shotwindow.doe.quantities import NumberError, convert, read_number, unit_kind
from shotwindow.doe.study import COMPARISONS
from shotwindow.doe.study_problems import shown

#: More than eight factors need more shots than a small press makes in a day.
MOST_FACTORS = 8
#: Words that results use beside the factors' names, so that no factor may have them.
RESERVED = ("probability_good", "probability_in_window", "fill", "flash", "mass", "reason")

Rule = dict[str, tuple[str, float]]


def name_problems(factors: Iterable[str], held: Iterable[str], place: str) -> list[Problem]:
    """Return what is wrong with the names of factors and of held settings."""
    factors, held = tuple(factors), tuple(held)
    problems = [p for name in factors if (p := _name_problem(name, f"{place} [factors.{name}]"))]
    if not 1 <= len(factors) <= MOST_FACTORS:
        problems.append(
            Problem(
                f"{place} [factors]",
                f"{len(factors) or 'no'} factors",
                f"one to {MOST_FACTORS}",
                "drop those that matter least into [held]"
                if factors
                else "add a table such as [factors.pressure]",
            )
        )
    for first, second in combinations(factors, 2):
        if _folded(first) == _folded(second):
            where = f"{place} [factors.{second}]"
            problems.append(
                Problem(where, f"{first} under another spelling", "each factor once", "remove one")
            )
    for name in held:
        twin = next((factor for factor in factors if _folded(factor) == _folded(name)), None)
        if twin:
            where = f"{place} [held.{name}]"
            do = f"remove it here or in [factors.{twin}]"
            problems.append(Problem(where, "a factor of this study", "what is kept as it is", do))
    return problems


def preference_problems(factors: Iterable[Factor], prefer: str, place: str) -> list[Problem]:
    """Return what is wrong with a preference: that no factor sets what it wants low."""
    factors = tuple(factors)
    if not prefer or not factors or wanted_low(factors, prefer):
        return []
    wanted = PREFERENCES[prefer]
    return [
        Problem(
            place,
            f'"{prefer}" in a study without a factor for it',
            f"a factor that acts as {wanted}" + (" of the melt" if wanted == "temperature" else ""),
            "take it out, or prefer something else",
        )
    ]


def factor_problems(factors: Iterable[Factor], name: str, place: str) -> list[Problem]:
    """Return what is wrong with a word that has to name one of the factors."""
    known = tuple(factor.name for factor in factors)
    return [] if name in known else [_unknown_factor(name, known, place)]


def _folded(name: str) -> str:
    return re.sub(r"[\s_-]", "", name).casefold()


def _name_problem(name: str, where: str) -> Problem | None:
    if not re.fullmatch(r"[^\W\d_][\w-]*", name):
        expected = "a name of letters, digits and underscores that begins with a letter"
        return Problem(where, shown(name), expected)
    folded = _folded(name)
    # "actual" heads the columns of what was really set, and a number marks a cavity's column.
    if folded.startswith("actual") or re.sub(r"\d+$", "", folded) in map(_folded, RESERVED):
        return Problem(where, "a name that results use", "another name")
    return None


def standard_name_problem(name: str, acts_as: str | None, place: str) -> Problem | None:
    """Return the problem of a factor that is nearly a standard one, which would lose its prior.

    Examples
    --------
    >>> from shotwindow.doe.study_checks import standard_name_problem
    >>> print(standard_name_problem("mould_temperature", None, "study.toml"))  # doctest: +ELLIPSIS
    study.toml [factors.mould_temperature]: found a name close to a standard one; expected ...
    """
    if name in STANDARD_ROLES or acts_as is not None:
        return None
    for standard, role in STANDARD_ROLES.items():
        alike = SequenceMatcher(None, _folded(name), _folded(standard)).ratio()
        if alike >= 0.9:
            return Problem(
                f"{place} [factors.{name}]",
                "a name close to a standard one",
                f'{standard}, or acts_as = "{role}" in it',
                "write the standard name if it is meant",
            )
    return None


def twin_pressures(
    factors: Iterable[Factor], area_ratio: float | None, place: str
) -> list[Problem]:
    """Return the problem of one pressure that is given twice, on the gauge and in the melt."""
    pressures = [factor for factor in factors if unit_kind(factor.unit) == "pressure"]
    gauges = [factor for factor in pressures if factor.reads == "gauge"]
    melts = [factor for factor in pressures if factor.reads == "melt"]
    if area_ratio is None:
        return []
    return [
        Problem(
            f"{place} [factors.{melt.name}]",
            f"the range of {gauge.name} times the area ratio",
            "each factor once",
            f"{melt.name} and {gauge.name} are one pressure read in two places; remove one",
        )
        for gauge in gauges
        for melt in melts
        if _same_range(gauge, melt, area_ratio)
    ]


def _same_range(gauge: Factor, melt: Factor, area_ratio: float) -> bool:
    ends = [convert(end, gauge.unit, melt.unit) * area_ratio for end in (gauge.low, gauge.high)]
    return bool(np.allclose(ends, (melt.low, melt.high), rtol=0.02))


def avoid_rules(
    rules: Iterable[Any], names: Iterable[str], factors: Mapping[str, Factor], place: str
) -> tuple[tuple[Rule, ...], list[Problem]]:
    """Return the [[avoid]] rules that can be read, and the problems of the others.

    Parameters
    ----------
    rules : iterable
        The tables as they stand in the file.
    names : iterable of str
        Every factor's name, also of those whose own table is wrong.
    factors : mapping of str to Factor
        The factors that could be read.
    place : str
        How messages name the file.
    """
    known = tuple(names)
    read: list[Rule] = []
    problems: list[Problem] = []
    for number, table in enumerate(rules, start=1):
        where = f"{place} [[avoid]] {number}"
        if not isinstance(table, dict) or not table:
            problems.append(Problem(where, shown(table), "at least one condition on a factor"))
            continue
        rule: Rule = {}
        for name, text in table.items():
            condition = _condition(text, factors[name].unit if name in factors else None)
            if name not in known:
                problems.append(_unknown_factor(name, known, where))
            elif condition is None:
                expected = 'a comparison and a number, such as ">= 230"'
                problems.append(Problem(f"{where} {name}", shown(text), expected))
            else:
                rule[name] = condition
        if len(rule) == len(table) and _forbids_all(rule, factors):
            do = "no setting is left; narrow the condition"
            problems.append(Problem(where, "every mark", "some marks to remain", do))
        read.append(rule)
    return tuple(read), problems


def _unknown_factor(name: str, known: tuple[str, ...], where: str) -> Problem:
    meant = guess(name, known)
    do = f"did you mean {meant}?" if meant else ""
    return Problem(f"{where} {name}", "no such factor", f"one of {', '.join(known)}", do)


def _condition(text: object, unit: str | None) -> tuple[str, float] | None:
    if not isinstance(text, str):
        return None
    plain = text.strip().replace("≥", ">=").replace("≤", "<=")
    parts = re.fullmatch(r"(>=|<=|==|=|>|<)(.*)", plain)
    if not parts:
        return None
    try:
        value = read_number(parts[2], unit=unit)
    except NumberError:
        return None
    return "==" if parts[1] == "=" else parts[1], value


def _forbids_all(rule: Rule, factors: Mapping[str, Factor]) -> bool:
    return all(
        name in factors and bool(np.all(COMPARISONS[comparison](factors[name].marks, value)))
        for name, (comparison, value) in rule.items()
    )
