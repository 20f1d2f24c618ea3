"""One answer about a new study, as it was typed -> what it means, or what would be right."""

from shotwindow.doe.arrangement import numbers_told, what_is_right
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.errors import StudyError
from shotwindow.doe.outline import FILLS
from shotwindow.doe.quantities import NumberError, read_number
from shotwindow.doe.spans import Span, read_span


def read_material(text: str) -> str:
    """Return the name of a plastic; one that is never molded here is refused."""
    card = find_card(text)
    if card is not None and card.refuse:
        why = f"{card.refuse} ({card.refuse_source})"
        raise StudyError.one("material", text, "another material", why)
    return text


def read_cavities(text: str) -> int:
    """Return a number of cavities."""
    value = _number(text, "cavities")
    if value != int(value) or not 1 <= value <= 256:
        raise StudyError.one("cavities", text, "a whole number from 1 to 256")
    return int(value)


def read_layout(text: str, cavities: int) -> tuple[tuple[int, ...], ...]:
    """Return the rows in which the cavities lie; empty for "none", which is not told.

    Examples
    --------
    >>> from shotwindow.doe.start_answers import read_layout
    >>> read_layout("1 2 / 3 4", 4)
    ((1, 2), (3, 4))
    """
    if text.casefold() == "none":
        return ()
    parts = [row.replace(",", " ").split() for row in text.split("/")]
    if all(part.isdecimal() for row in parts for part in row):
        rows = tuple(tuple(int(part) for part in row) for row in parts)
        if numbers_told(rows) == list(range(1, cavities + 1)):
            return rows
    do = "write rows from the top and part them by /, as in 1 2 / 3 4"
    raise StudyError.one("layout", f'"{text}"', what_is_right(cavities), do)


def read_fill(text: str) -> str:
    """Return how fill is judged."""
    if text.casefold() not in FILLS:
        raise StudyError.one("fill", f'"{text}"', f"one of {', '.join(FILLS)}")
    return text.casefold()


def read_masses(text: str, cavities: int) -> tuple[float, ...]:
    """Return the mass of each cavity's full part in g.

    Examples
    --------
    >>> from shotwindow.doe.start_answers import read_masses
    >>> read_masses("2,10 2.11", 2)
    (2.1, 2.11)
    """
    masses = tuple(_number(part, "full masses", "g") for part in text.replace(";", " ").split())
    if len(masses) != cavities or min(masses) <= 0:
        expected = f"{cavities} masses in g, parted by blanks, as in 2.10 2.11"
        raise StudyError.one("full masses", f'"{text}"', expected)
    return masses


def read_pressure(text: str) -> Span:
    """Return a range of gauge pressure, which is always varied."""
    span = read_span(text, "pressure", "pressure")
    if span.is_held:
        do = "pressure is what finds both edges"
        raise StudyError.one("pressure", f"{span}", "a range, as in 40 to 70 by 5 psi", do)
    return span


def read_rating(text: str, pressure: Span) -> float | None:
    """Return the highest pressure of the press in the unit of the range; None for "none"."""
    if text.casefold() == "none":
        return None
    rating = _number(text, "the press's rating", pressure.unit)
    if rating < pressure.high:
        expected = f"at least the highest pressure to try ({pressure.high:.10g})"
        raise StudyError.one("the press's rating", text, expected)
    return rating


def read_temperature(text: str, name: str, usual: Span | None) -> Span | None:
    """Return a range or a held value; the usual one keeps its source; None for "none"."""
    if usual is not None and text == str(usual):
        return usual
    return None if text.casefold() == "none" else read_span(text, name, "temperature")


def read_time(text: str) -> Span | None:
    """Return a range of injection time or a held one; None for "none"."""
    return None if text.casefold() == "none" else read_span(text, "injection_time", "time")


def read_minutes(text: str) -> float:
    """Return minutes at the press."""
    value = _number(text, "minutes", "min")
    if value <= 0:
        raise StudyError.one("minutes", text, "more than 0")
    return value


def _number(text: str, what: str, unit: str | None = None) -> float:
    try:
        return read_number(text, unit=unit)
    except NumberError as error:
        raise StudyError.one(what, f'"{text}"', "a number", error.reason) from None
