"""Aliases of a plan -> lines: what hides behind each effect, counted where there is much of it."""

import re
from collections.abc import Sequence

from shotwindow.reports.naming import listed, plural, spoken
from shotwindow.reports.words import paragraph

# So many effects of one order behind another are named; more are counted.
MOST_NAMED = 3
# What effects are called by the number of their factors.
CALLED = {1: "square", 2: "interaction of two", 3: "interaction of three"}


def alias_lines(head: str, aliases: Sequence[str], *, whole: str = "") -> list[str]:
    r"""Return a paragraph for each alias under a head.

    Parameters
    ----------
    head : str
    aliases : sequence of str
        As `shotwindow.doe.aliases.aliases` gives them.
    whole : str, optional
        Where all of them stand; then many effects behind one are counted here.

    Examples
    --------
    >>> from shotwindow.reports.plan_aliases import alias_lines
    >>> many = "a = + b x c " + " ".join(f"- 0.33 {x} x e x f" for x in "bcdg")
    >>> print("\n".join(alias_lines("Aliases", [many, "b = - a x c"], whole="--judge")))
    Aliases
      a = + b x c and 0.33 of each of 4 interactions of three
      b = - a x c
      Each with its sign: --judge
    """
    told = [_counted(alias) if whole else alias for alias in aliases]
    lines = [line for alias in told for line in paragraph(spoken(alias), 2)]
    hint = [f"  Each with its sign: {whole}"] if told != list(aliases) else []
    return [head, *lines, *hint]


def _counted(alias: str) -> str:
    """Return an alias with the effects of one order counted where they are many."""
    effect, _, carried = alias.partition(" = ")
    by_order: dict[int, list[str]] = {}
    for term in re.split(r" (?=[+-] )", carried):
        by_order.setdefault(1 if "^" in term else term.count(" x ") + 1, []).append(term)
    few = [term for terms in by_order.values() if len(terms) <= MOST_NAMED for term in terms]
    many = [_many(order, terms) for order, terms in by_order.items() if len(terms) > MOST_NAMED]
    return f"{effect} = {listed([' '.join(few), *many] if few else many)}"


def _many(order: int, terms: Sequence[str]) -> str:
    """Return how many effects of one order there are, and the share that is carried of each."""
    shares = {share for term in terms for share in re.findall(r"^[+-] ([\d.]+) ", term) or ["1"]}
    largest = max(shares, key=float)
    share = f"{largest} of each of " if len(shares) == 1 else f"up to {largest} of "
    noun, _, of = CALLED[order].partition(" ")
    counted = f"{plural(len(terms), noun)} {of}".rstrip()
    return counted if shares == {"1"} else share + counted
