"""The name of a material, as somebody typed it, turned into its card.

The shipped cards are asked, and before them a cards.csv in the study's folder.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path

from shotwindow.doe.cards import Card, read_cards
from shotwindow.doe.errors import guess


def find_card(name: str, folder: Path | None = None) -> Card | None:
    """Return the card of a material, or None where none is known.

    A name may hold more than the resin ("polypropylene, natural"). A blend of two, or a name
    that two cards fit, has no card.

    Parameters
    ----------
    name : str
        As typed in ``[material] name``.
    folder : Path, optional
        The study's folder; a cards.csv in it goes before the shipped cards, but never lifts a
        refusal.

    Raises
    ------
    StudyError
        If the folder's cards.csv holds mistakes.

    Examples
    --------
    >>> from shotwindow.doe.card_finding import find_card
    >>> find_card("POM-C, black").name, find_card("PC/ABS")
    ('acetal', None)
    """
    shipped = _match(name, _shipped())
    own_file = folder / "cards.csv" if folder is not None else None
    if own_file is None or not own_file.is_file():
        return shipped
    own = _match(name, read_cards(own_file.name, own_file.read_bytes()))
    if own and shipped and shipped.refuse:
        return replace(own, refuse=shipped.refuse, refuse_source=shipped.refuse_source)
    return own or shipped


def meant_card(name: str) -> str | None:
    """Return the name of a shipped card that a name without a card is a slip of, or None.

    Only a slip of a letter or two counts: many plastics have names that are nearly alike.

    Examples
    --------
    >>> from shotwindow.doe.card_finding import meant_card
    >>> meant_card("polypropylen"), meant_card("polysulfone"), meant_card("PPS")
    ('polypropylene', None, None)
    """
    return guess(name, (n for card in _shipped() for n in (card.name, *card.aliases)), alike=0.9)


def hottest_known() -> float:
    """Return the highest melt temperature that any shipped card tells, in degC.

    Examples
    --------
    >>> from shotwindow.doe.card_finding import hottest_known
    >>> hottest_known() > 300
    True
    """
    return max(known.high for card in _shipped() for known in (card.melt, card.ceiling) if known)


def _match(name: str, cards: tuple[Card, ...]) -> Card | None:
    plain = _folded(name)
    for card in cards:
        # Any mention of a refused material counts, also in the name of a blend.
        if card.refuse and any(_folded(a) in plain for a in (card.name, *card.aliases)):
            return card
    spans = {(span, card) for card in cards for span in _spans(name, card)}
    widest = [
        card
        for (start, end), card in spans
        if not any(s <= start and end <= e and (s, e) != (start, end) for (s, e), _ in spans)
    ]
    return widest[0] if len(set(widest)) == 1 else None


def _spans(name: str, card: Card) -> Iterator[tuple[int, int]]:
    """Yield where a card's names stand in a name, as (first, last + 1) of its words."""
    words = [word for word in map(_folded, re.split(r"[\s,;()]+", name)) if word]
    aliases = {_folded(alias) for alias in (card.name, *card.aliases)}
    for start in range(len(words)):
        for end in range(start + 1, len(words) + 1):
            # A number right behind belongs to the name: nylon 6 12 is not nylon 6.
            numbered = end < len(words) and words[end][0].isdigit()
            if "".join(words[start:end]) in aliases and not numbered:
                yield start, end


def _folded(name: str) -> str:
    return re.sub(r"[\W_]", "", name).casefold()


@cache
def _shipped() -> tuple[Card, ...]:
    return read_cards("cards.csv", files("shotwindow.doe").joinpath("cards.csv").read_bytes())
