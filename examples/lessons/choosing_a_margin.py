"""Choosing a margin: just full, in the middle, or just without flash, when the gauge is off."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from shotwindow.examples.lessons.bench import INVENTED, WORKED_SHOTS, press, study, truth, worked
from shotwindow.models.scoring import true_share_good
from shotwindow.models.setpoint import Setpoint
from shotwindow.models.window import Window
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.naming import chance, setting_words
from shotwindow.reports.page_pictures import Picture, Table, drawn
from shotwindow.reports.theme import INK, laid_out, new_figure, themed

Array = NDArray[np.float64]

OFF = (-0.2, -0.1, 0.0, 0.1, 0.2)  # bar that the pressure really is away from what is set


@dataclass(frozen=True)
class Seen:
    """The line along pressure through the setpoint.

    Attributes
    ----------
    forecast, true : ndarray, one value a mark
        Chance of a good shot as the fit gives it, and the true share.
    places : dict of str to float
        Pressures of three ways to choose, bar.
    shares : dict of str to ndarray
        True share of good shots of each, by how far the pressure is off.
    """

    forecast: Array
    true: Array
    places: dict[str, float]
    shares: dict[str, Array]


def parts() -> tuple[Window, Setpoint]:
    """Return the window and the setpoint that were found."""
    found = worked()
    assert found.window and found.setpoint  # a test holds it
    return found.window, found.setpoint


def _along(values: Array, setpoint: Setpoint) -> Array:
    """Return the values of all marks (n, ...) along the first factor through the setpoint, (n,)."""
    flat = int(np.ravel_multi_index(setpoint.mark[1:], values.shape[1:]))
    return values.reshape(len(values), -1)[:, flat]


@cache
def seen() -> Seen:
    """Look along the pressure, and move each choice."""
    window, setpoint = parts()
    forecast = _along(window.probability_good, setpoint)
    marks = study().factors[0].marks
    enough = marks[np.nan_to_num(forecast) >= study().good_from]
    places = {
        "just full": float(enough.min()),
        "setpoint": setpoint.settings[0],
        "just without flash": float(enough.max()),
    }
    shares = {}
    for name, pressure in places.items():
        settings = np.array([(pressure + off, *setpoint.settings[1:]) for off in OFF])
        shares[name] = true_share_good(press(), study(), settings)
    return Seen(forecast, _along(truth(), setpoint), places, shares)


def lesson() -> Lesson:
    """Make the handout."""
    found = seen()
    window, setpoint = parts()
    others = setting_words(study().factors[1:], setpoint.settings[1:])
    told = (
        f"From {WORKED_SHOTS} shots the chance of a good shot was forecast along the pressure, at "
        f"{others}. Three people choose three pressures, all with a forecast of "
        f"{study().good_from:g} or more: the lowest such (just full: it spares press and clamp), "
        "the highest (just without flash: no short ever), and the setpoint, whose worst chance "
        "over what the press holds is highest.",
        "Then a gauge is replaced and reads a mark or two wrong. What each of them gets is worked "
        "out on the press itself.",
    )
    return Lesson(
        title="Choosing a margin",
        goal="choose a setting by what happens when it is missed, and say what margin costs.",
        minutes=25,
        source=INVENTED,
        parts=(
            Part("Three choices", told, picture=_picture(found)),
            Part("When the pressure is off", (), _table(found)),
        ),
        questions=_questions(found, setpoint),
    )


def _table(found: Seen) -> Table:
    pressure = study().factors[0]
    rows = tuple(
        (name, pressure.text(found.places[name]), *(chance(float(s)) for s in shares))
        for name, shares in found.shares.items()
    )
    heads = ("choice", "set (bar)", *(f"{off:+.1f} bar" if off else "as set" for off in OFF))
    return Table("True share of good shots, by how far the pressure is off", heads, rows)


def _picture(found: Seen) -> Picture:
    marks = study().factors[0].marks
    with themed():
        figure = new_figure(7.0, 3.0)
        axes = figure.subplots()
        axes.plot(marks, found.forecast, "o", color=INK, markersize=4, label="forecast")
        axes.plot(marks, found.true, color=INK, linestyle=(0, (6, 2)), label="truth")
        axes.axhline(study().good_from, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
        for name, place in found.places.items():
            axes.axvline(place, color=INK, linewidth=0.8)
            axes.annotate(name, (place, 0.04), rotation=90, ha="right", va="bottom", fontsize=8.0)
        axes.set_xlabel("pressure (bar gauge)")
        axes.set_ylabel("share of good shots")
        figure.legend(loc="outside right upper")
        laid_out(figure)
    chosen = ", ".join(f"{name} {place:.1f} bar" for name, place in found.places.items())
    alt = (
        "Share of good shots over pressure: it rises steeply where parts become full, stays high, "
        f"and falls where they flash. Lines at the three choices: {chosen}. Dotted: "
        f"{study().good_from:g}."
    )
    return drawn(figure, "margin", alt)


def margin(found: Seen, setpoint: Setpoint) -> tuple[float, float]:
    """Return how many marks the setpoint lies from the other two choices, below and above."""
    step = study().factors[0].step
    below = (setpoint.settings[0] - found.places["just full"]) / step
    above = (found.places["just without flash"] - setpoint.settings[0]) / step
    return below, above


def _listed(found: Seen, off: int) -> str:
    shares = found.shares.items()
    return ", ".join(f"{name} {chance(float(share[off]))}" for name, share in shares)


def _questions(found: Seen, setpoint: Setpoint) -> tuple[Question, ...]:
    below, above = margin(found, setpoint)
    worst = {name: float(shares.min()) for name, shares in found.shares.items()}
    holds = study().factors[0].holds
    return (
        Question(
            "How many marks of margin does the setpoint have to each of the other two?",
            f"{below:.0f} below and {above:.0f} above: the window is that wide along the pressure, "
            "at these other settings.",
            1,
        ),
        Question(
            f"The new gauge reads {-OFF[0]:g} bar too high, so that the melt gets less. What "
            "happens to each of the three? And if it reads as much too low?",
            f"Too high: {_listed(found, 0)}. Too low: {_listed(found, -1)}. A forecast holds at "
            "the setting, and says nothing about a mark beside it.",
        ),
        Question(
            "Which choice would you hand over to somebody else, and which number of the table "
            "decides it? When would you choose otherwise?",
            "The one whose worst case is best: "
            + "; ".join(f"{name} {chance(share)}" for name, share in worst.items())
            + ". Otherwise where one failure is worse than the other: a flashed part can be "
            "trimmed, a short one cannot, and flash can harm the mold. Then the setting moves "
            "toward the milder failure.",
            3,
        ),
        Question(
            f"shotwindow takes it that the press holds the pressure to plus or minus {holds:g} "
            "bar. Where does that stand, and what if it is really 0.2 bar?",
            "In study.toml, as holds. It judges each mark by its worst chance over what is held of "
            "every setting; with a larger holds it looks for a place with more room, and says when "
            "the window is narrower than can be held.",
        ),
    )
