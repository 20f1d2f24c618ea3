"""Answers to a few short questions turned into an outline of a study.

What was not answered comes from the material's card, or is left out: a range is never made up.
"""

from dataclasses import dataclass

from shotwindow.doe.cards import Card
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.spans import Span, card_span

#: How fill can be judged, and flash.
FILLS = ("eye", "mass", "full-or-short")
FLASHES = ("grade", "width")


@dataclass(frozen=True)
class Outline:
    """What is known of a study before its first plan.

    Attributes
    ----------
    title, material : str
    card : Card or None
        The material's card.
    cavities : int
    layout : tuple of tuple of int
        Rows of the cavities' numbers, seen from the nozzle; empty where nobody told.
    fill : str
        One of `FILLS`.
    full_mass_g : tuple of float
        Mass of each cavity's full part; empty unless fill is weighed.
    flash : str
        One of `FLASHES`.
    pressure : Span
        On the gauge.
    rating : float or None
        The highest gauge pressure of the press, in the unit of `pressure`.
    melt, mold, time : Span or None
        Temperatures of melt and mold, injection time; None where it is left out.
    minutes : float
        At the press.
    """

    title: str
    material: str
    card: Card | None
    cavities: int
    layout: tuple[tuple[int, ...], ...]
    fill: str
    full_mass_g: tuple[float, ...]
    flash: str
    pressure: Span
    rating: float | None
    melt: Span | None
    mold: Span | None
    time: Span | None
    minutes: float

    @property
    def settings(self) -> dict[str, Span]:
        """The settings that are told, by their standard names."""
        told = {
            "pressure": self.pressure,
            "melt_temperature": self.melt,
            "mold_temperature": self.mold,
            "injection_time": self.time,
        }
        return {name: span for name, span in told.items() if span is not None}


def temperature_unit(pressure: Span) -> str:
    """Return the unit in which somebody with this gauge is likely to read temperatures.

    Examples
    --------
    >>> from shotwindow.doe.outline import temperature_unit
    >>> from shotwindow.doe.spans import Span
    >>> temperature_unit(Span(40, 70, 5, "psi"))
    'degF'
    """
    return "degF" if pressure.unit == "psi" else "degC"


def usual_melt(card: Card | None, unit: str) -> Span | None:
    """Return the card's usual range of melt temperature, below its ceiling; None if unknown."""
    if card is None or card.melt is None:
        return None
    return card_span(card.melt, unit, card.ceiling.high if card.ceiling else None)


def usual_mold(card: Card | None, unit: str) -> Span | None:
    """Return the card's usual range of mold temperature; None if unknown."""
    return None if card is None or card.mold is None else card_span(card.mold, unit)


def check_outline(outline: Outline) -> None:
    """Raise where answers do not fit each other.

    Raises
    ------
    StudyError
        With everything that does not.
    """
    problems = []
    masses = len(outline.full_mass_g)
    if outline.fill == "mass" and masses != outline.cavities:
        expected = f"{outline.cavities}, one for each cavity"
        do = "weigh five or more full parts without flash for each cavity"
        problems.append(Problem("full masses", f"{masses}", expected, do))
    if outline.fill != "mass" and masses:
        do = "say that fill is judged by mass"
        problems.append(Problem("full masses", f"{masses}", f"none for {outline.fill}", do))
    if outline.pressure.is_held:
        do = "give lowest, highest and step: pressure is what finds both edges"
        problems.append(Problem("pressure", f"{outline.pressure}", "a range", do))
    if outline.rating is not None and outline.rating < outline.pressure.high:
        expected = f"at least the highest pressure to try ({outline.pressure.high:.10g})"
        do = "lower the range: nothing above the rating is ever planned"
        problems.append(Problem("the press's rating", f"{outline.rating:.10g}", expected, do))
    for label, text in (("title", outline.title), ("material", outline.material)):
        if not text.isprintable():
            problems.append(Problem(label, repr(text), "text that can be printed"))
    if problems:
        raise StudyError(problems)
