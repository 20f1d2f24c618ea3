"""Where each response passes its limit along each setting -> a sentence a setting."""

from math import isinf

from shotwindow.doe.factors import Factor
from shotwindow.models.window import open_edges
from shotwindow.reports.crossings import Crossing, crossing
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import listed, spoken, unit_of, with_unit
from shotwindow.reports.plain_fit import PlainFit, plain_crossing

_BEYOND = {"fill": "full", "flash": "flash over the limit", "other": "rejects"}
_NOWHERE = {"fill": "full nowhere", "flash": "no flash over the limit", "other": "no rejects"}
_NEVER = {"fill": "A short part was never seen", "flash": "Flash over the limit was never seen"}


def edge_sentences(found: Fitted) -> list[str]:
    """Return where the edges lie along each setting, all others in the middle of the study."""
    told = []
    for j, factor in enumerate(found.study.factors):
        edges = [
            edge_words(
                crossing(found, s, j), _least_squares(found, found.least_squares.get(s.response), j)
            )
            for s in found.surfaces.each
        ]
        told.append(f"{spoken(factor.name)} ({unit_of(factor)}): {'; '.join(edges)}.")
    return told


def _least_squares(found: Fitted, plain: PlainFit | None, j: int) -> float | None:
    return None if plain is None else plain_crossing(found, plain, j)


def edge_words(place: Crossing, least_squares: float | None = None) -> str:
    """Return where one response passes its limit, with the interval that holds it 9 times in 10.

    Examples
    --------
    >>> from math import inf
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.reports.crossings import Crossing
    >>> from shotwindow.reports.edge_words import edge_words
    >>> pressure = Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05)
    >>> edge_words(Crossing("fill", pressure, 3.49, 3.72, 3.9, True), 3.99)
    'full from 3.72 (3.49 to 3.9; least squares 3.99)'
    >>> edge_words(Crossing("flash", pressure, 4.7, inf, inf, True))
    'no flash over the limit (its edge: 4.7 to above 5)'
    >>> edge_words(Crossing("fill", pressure, -inf, -inf, -inf, True))
    'full all along'
    """
    text = [_text(place.factor, value) for value in (place.low, place.middle, place.high)]
    band = f"{text[0]} to {text[2]}"
    aside = [] if least_squares is None else [f"least squares {_text(place.factor, least_squares)}"]
    if isinf(place.low) and isinf(place.high) and place.low != place.high:
        return f"{_BEYOND[place.response]}: cannot tell from where"
    if not isinf(place.middle):
        way = "from" if place.rising else "up to"
        said = f"{_BEYOND[place.response]} {way} {text[1]}"
        return f"{said} ({'; '.join([band, *aside])})"
    everywhere = place.middle == place.everywhere
    said = f"{_BEYOND[place.response]} all along" if everywhere else _NOWHERE[place.response]
    if place.low != place.high:
        aside = [f"its edge: {band}", *aside]
    return f"{said} ({'; '.join(aside)})" if aside else said


def _text(factor: Factor, value: float) -> str:
    """Return a place on a dial to a tenth of a mark, or beyond which end of the range it lies."""
    if isinf(value):
        side, end = ("above", factor.high) if value > 0 else ("below", factor.low)
        return f"{side} {factor.text(end)}"
    return factor.text(round(value / factor.step, 1) * factor.step)


def never_seen(found: Fitted) -> list[str]:
    """Return which edge no shot went beyond, and where it can still be."""
    return [_never_words(found, response) for response in open_edges(found.readings)]


def _never_words(found: Fitted, response: str) -> str:
    """More pressure, heat or time fills and flashes more, so that the way out is known for them."""
    ends = found.region.low if response == "fill" else found.region.high
    side = "below" if response == "fill" else "above"
    factors = list(zip(found.study.factors, ends, strict=True))
    guided = [f"{spoken(f.name)} {with_unit(f, float(end))}" for f, end in factors if f.role]
    others = [spoken(f.name) for f, _ in factors if not f.role]
    places = [f"{side} {listed(guided, 'or')}"] if guided else []
    places += [f"outside what was tried of {listed(others, 'or')}"] if others else []
    return f"{_NEVER[response]}: its edge lies {', '.join(places)}, or is not there."
