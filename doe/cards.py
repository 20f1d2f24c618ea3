"""A cards.csv turned into cards: what is known of each resin, and who says so.

The shipped cards.csv gives each value with its source in words, which sheets and pages print; the
addresses of these sources stand in card_sources.csv. What nobody told is None: never a guess.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from shotwindow.doe.cells import Wrong, read_real
from shotwindow.doe.errors import Problem, StudyError, guess
from shotwindow.doe.tables import Cell, read_table

_RANGES = {
    "melt": ("melt_low_degC", "melt_high_degC", "melt_source"),
    "ceiling": ("", "ceiling_degC", "ceiling_source"),
    "mold": ("mold_low_degC", "mold_high_degC", "mold_source"),
    "drying_degC": ("drying_low_degC", "drying_high_degC", "drying_source"),
    "drying_h": ("drying_low_h", "drying_high_h", "drying_source"),
    "moisture": ("", "moisture_percent", "moisture_source"),
    "vent": ("vent_low_mm", "vent_high_mm", "vent_source"),
}
_WORDS = (
    "name",
    "aliases",
    "drying",
    "dwell_min",
    "dwell_source",
    "never_with",
    "hazards",
    "hazards_source",
    "refuse",
    "refuse_source",
)
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_COLUMNS = (*_WORDS, *sorted({column for three in _RANGES.values() for column in three if column}))


@dataclass(frozen=True)
class Known:
    """A value or a range with its source; `low` is None where only the upper end is told."""

    low: float | None
    high: float
    source: str

    def text(self, unit: str) -> str:
        """Return the range with its unit and source.

        Examples
        --------
        >>> from shotwindow.doe.cards import Known
        >>> Known(190, 210, "the maker's data sheet").text("degC")
        "190 to 210 degC (the maker's data sheet)"
        """
        single = self.low is None or self.low == self.high
        span = f"{self.high:g}" if single else f"{self.low:g} to {self.high:g}"
        return f"{span} {unit} ({self.source or 'no source given'})"


@dataclass(frozen=True)
class Card:
    """What is known of a resin.

    Attributes
    ----------
    name : str
    aliases : tuple of str
        Other names that it goes by.
    melt, mold : Known or None
        Usual temperatures of melt and mold in degC.
    ceiling : Known or None
        degC that the melt must stay below.
    drying : str
        "yes", "if wet", "no", or "" where it is not known.
    drying_degC, drying_h : Known or None
    moisture : Known or None
        Most water before molding, in percent of the mass.
    dwell : tuple of (float or None, float)
        Pairs of melt temperature in degC and the minutes allowed there, ascending; a temperature
        of None means any, and comes last.
    dwell_source : str
    vent : Known or None
        Depth of vents in mm.
    never_with : tuple of str
        Names of cards that this resin must not follow, or be followed by, in one barrel.
    hazards, hazards_source : str
    refuse, refuse_source : str
        Why this material is not planned for at all; empty for all others.
    """

    name: str
    aliases: tuple[str, ...]
    melt: Known | None = None
    ceiling: Known | None = None
    mold: Known | None = None
    drying: str = ""
    drying_degC: Known | None = None
    drying_h: Known | None = None
    moisture: Known | None = None
    dwell: tuple[tuple[float | None, float], ...] = ()
    dwell_source: str = ""
    vent: Known | None = None
    never_with: tuple[str, ...] = ()
    hazards: str = ""
    hazards_source: str = ""
    refuse: str = ""
    refuse_source: str = ""

    def dwell_text(self) -> str:
        """Return the longest times in the barrel, with their source."""
        at = (f"{m:g} min" + (f" at {t:g} degC" if t is not None else "") for t, m in self.dwell)
        return f"{', '.join(at)} ({self.dwell_source or 'no source given'})"

    def lines(self) -> tuple[str, ...]:
        """Return everything on the card, a line each, with its source or that it is not known.

        Examples
        --------
        >>> from shotwindow.doe.cards import Card
        >>> Card("invented resin", ()).lines()[:2]
        ('melt temperature: not known', 'melt stays below: not known')
        """
        ranges = (
            ("melt temperature", self.melt, "degC"),
            ("melt stays below", self.ceiling, "degC"),
            ("mold temperature", self.mold, "degC"),
            ("drying temperature", self.drying_degC, "degC"),
            ("drying time", self.drying_h, "h"),
            ("most moisture", self.moisture, "percent"),
            ("vent depth", self.vent, "mm"),
        )
        told = [
            f"{what}: {known.text(unit) if known else 'not known'}" for what, known, unit in ranges
        ]
        hazards = f"{self.hazards} ({self.hazards_source})" if self.hazards else "not known"
        return (
            *told,
            f"needs drying: {self.drying or 'not known'}",
            f"longest dwell: {self.dwell_text() if self.dwell else 'not known'}",
            f"hazards of its own: {hazards}",
        )


def read_cards(file: str, data: bytes) -> tuple[Card, ...]:
    r"""Return the cards in the bytes of a file with the columns of the shipped cards.csv.

    Columns may be missing and cells empty: what they would tell is not known.

    Raises
    ------
    StudyError
        With every mistake in the file.

    Examples
    --------
    >>> from shotwindow.doe.cards import read_cards
    >>> card, = read_cards("cards.csv", b"name,ceiling_degC\ninvented resin,230\n")
    >>> card.ceiling.text("degC"), card.melt
    ('230 degC (no source given)', None)
    """
    table = read_table(file, data, key="name")
    heads = [cell.text for cell in table.header]
    problems = [
        Problem(f"{file}, heading", f'"{head}"', "a column of a card", _meant(head))
        for head in heads
        if head not in _COLUMNS
    ]
    cards = []
    for row in table.rows:
        cells = dict(zip(heads, row, strict=False))
        place = f"{file}, row {row[0].row}"
        cards.append(_card(cells, place, problems))
    if problems:
        raise StudyError(problems)
    return tuple(cards)


def _meant(head: str) -> str:
    meant = guess(head, _COLUMNS)
    return f"did you mean {meant}?" if meant else f"the columns are {', '.join(_COLUMNS)}"


def _card(cells: Mapping[str, Cell], place: str, problems: list[Problem]) -> Card:
    words = {key: cells[key].text if key in cells else "" for key in _WORDS}
    if not words["name"]:
        problems.append(Problem(f"{place}, name", "an empty cell", "the material's name"))
    if words["drying"] not in ("yes", "if wet", "no", ""):
        expected = "yes, if wet, no, or an empty cell"
        problems.append(Problem(f"{place}, drying", f'"{words["drying"]}"', expected))
    aliases, never_with = _listed(words.pop("aliases")), _listed(words.pop("never_with"))
    dwell = _dwell(words.pop("dwell_min"), f"{place}, dwell_min", problems)
    ranges = {key: _known(columns, cells, place, problems) for key, columns in _RANGES.items()}
    return Card(
        aliases=aliases,
        dwell=dwell,
        never_with=never_with,
        **words,  # type: ignore[arg-type] # fields by name
        **ranges,  # type: ignore[arg-type] # fields by name
    )


def _listed(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split("|") if part.strip())


def _known(
    columns: tuple[str, str, str], cells: Mapping[str, Cell], place: str, problems: list[Problem]
) -> Known | None:
    ends: list[float | None] = []
    for column in columns[:2]:
        ends.append(None)
        cell = cells.get(column)
        if cell is not None and cell.text:
            try:
                ends[-1] = read_real(cell)
            except Wrong as wrong:
                problems.append(wrong.at(f"{place}, {column}", cell))
    low, high = ends
    if low is not None and (high is None or low > high):
        expected = f"at most {columns[1]}"
        found = f"{low:g}" if high is not None else f"{low:g} without {columns[1]}"
        problems.append(Problem(f"{place}, {columns[0]}", found, expected))
    source = cells[columns[2]].text if columns[2] in cells else ""
    return None if high is None else Known(low, high, source)


def _dwell(
    text: str, place: str, problems: list[Problem]
) -> tuple[tuple[float | None, float], ...]:
    pairs: list[tuple[float | None, float]] = []
    for part in _listed(text):
        told = re.fullmatch(rf"({_NUMBER})(?: at ({_NUMBER}))?", part)
        if told is None:
            expected = 'minutes, or "minutes at degC", parted by |'
            problems.append(Problem(place, f'"{part}"', expected, 'as in "60 at 200 | 30 at 210"'))
            continue
        pairs.append((float(told[2]) if told[2] else None, float(told[1])))
    return tuple(sorted(pairs, key=lambda pair: inf if pair[0] is None else pair[0]))
