"""Why clipped readings mislead: a full part says "at least full", and a line through it bends."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.plans import PlannedShot
from shotwindow.doe.readings import Readings
from shotwindow.doe.study import Study
from shotwindow.examples.lessons.bench import INVENTED, press, study
from shotwindow.models.outcomes import true_latent
from shotwindow.models.press import Press
from shotwindow.models.rehearsal import shoot_plan
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.textbook import fit
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.page_pictures import Picture, Table, drawn
from shotwindow.reports.theme import FAINT, INK, PAPER, laid_out, new_figure, themed

Array = NDArray[np.float64]

MELT, TIME = 220.0, 5.5
SHOTS = 11
TRIES = range(1, 21)
SHOWN = 1
METHODS = ("line, 100 as a number", "line, full parts left out", "intervals")


@dataclass(frozen=True)
class Seen:
    """Where parts become full: the truth, and what each method said in each try.

    Attributes
    ----------
    true : float
        Pressure, bar.
    said : dict of str to ndarray, shape (tries,)
    shown : Readings
        Of one try.
    line : ndarray, shape (2,)
        Intercept and slope through all of them, a full part taken for 100.
    """

    true: float
    said: dict[str, Array]
    shown: Readings
    line: Array


def one_factor() -> tuple[Study, Press]:
    """Return the study with pressure alone, and its press with the other settings held."""
    pressure = study().factors[0]
    held = (press().held[0], MELT, press().held[2], TIME)
    alone = replace(press(), factors=(pressure,), gains=press().gains[:1], held=held)
    return replace(study(), factors=(pressure,)), alone


def shots() -> tuple[PlannedShot, ...]:
    """Return one shot at every other mark of the gauge, upward."""
    marks = study().factors[0].marks[::2]
    return tuple(PlannedShot(i, "1", "", 1, "ladder", (float(m),)) for i, m in enumerate(marks, 1))


@cache
def seen() -> Seen:
    """Shoot the ladder of pressures often, and look for its edge in each way."""
    alone, bench = one_factor()
    tries = [shoot_plan(alone, bench, shots(), seed=luck, slip_rate=0.0) for luck in TRIES]
    said = {
        METHODS[0]: np.array([_crossing(line(r)) for r in tries]),
        METHODS[1]: np.array([_crossing(line(r, only_short=True)) for r in tries]),
        METHODS[2]: np.array([_edge(r) for r in tries]),
    }
    return Seen(_true_edge(alone, bench), said, tries[SHOWN - 1], line(tries[SHOWN - 1]))


def fills(readings: Readings) -> Array:
    """Return what was written down as fill, a full part as 100, (n,)."""
    low, high = readings.fill_low[:, 0], readings.fill_high[:, 0]
    return np.where(np.isinf(high), 100.0, (low + np.minimum(high, 200.0)) / 2)


def line(readings: Readings, *, only_short: bool = False) -> Array:
    """Return intercept and slope of fill over pressure by least squares, (2,)."""
    pressure, fill = readings.settings[:, 0], fills(readings)
    used = fill < 100.0 if only_short else np.ones(len(fill), dtype=bool)
    matrix = np.column_stack([np.ones(int(used.sum())), pressure[used]])
    return fit(matrix, fill[used]).coefficients


def _crossing(coefficients: Array) -> float:
    return float((100.0 - coefficients[0]) / coefficients[1])


def _edge(readings: Readings) -> float:
    """Return the pressure at which the middle one of the draws says that parts become full."""
    surface = fit_surfaces(readings).fill
    fine = np.linspace(readings.settings.min(), readings.settings.max(), 401)
    latent = np.median(surface.latent(fine[:, None]), axis=1)
    return float(fine[int((latent >= surface.limit).argmax())])


def _true_edge(alone: Study, bench: Press) -> float:
    fine = np.linspace(alone.factors[0].low, alone.factors[0].high, 2001)
    fill = true_latent(bench, fine[:, None])[0][:, 0]
    return float(fine[int((fill >= 100.0).argmax())])


def lesson() -> Lesson:
    """Make the handout."""
    found = seen()
    full = int((fills(found.shown) == 100.0).sum())
    told = (
        f"{SHOTS} shots with rising pressure, melt at {MELT:g} degC, injection time {TIME:g} s. "
        "Fill is judged by eye in steps of 2 percent points. Once a part is full it reads 100, "
        "however much pressure was to spare: the reading is clipped.",
        f"In the picture {full} of {SHOTS} parts are full. A straight line through all readings by "
        "least squares takes each of them for exactly 100.",
    )
    ways = (
        f"The same ladder was shot {len(TRIES)} times. Each time the pressure at which parts "
        "become full was read off in three ways: where the line through all readings reaches 100; "
        "where the line through the short parts alone does; and by a fit that takes a short part "
        "for an "
        'interval of 2 percent points and a full one for "100 or more", as shotwindow does.',
    )
    return Lesson(
        title="Full is not 100: clipped readings",
        goal="say what a full part tells, and how a fit goes wrong that takes it for a number.",
        minutes=25,
        source=INVENTED,
        parts=(
            Part("What was done", told, picture=_picture(found)),
            Part("Where do parts become full?", ways, _table(found)),
        ),
        questions=_questions(found),
    )


def _table(found: Seen) -> Table:
    rows = [("truth", f"{found.true:.2f}", "", "")]
    for method, places in found.said.items():
        away, sd = places.mean() - found.true, places.std(ddof=1)
        rows.append((method, f"{places.mean():.2f}", f"{away:+z.2f}", f"{sd:.2f}"))
    heads = ("method", "mean (bar)", "away from the truth (bar)", "standard deviation (bar)")
    return Table(f"Edge to short shots, {len(TRIES)} tries", heads, tuple(rows))


def _picture(found: Seen) -> Picture:
    alone, bench = one_factor()
    pressure, fill = found.shown.settings[:, 0], fills(found.shown)
    fine = np.linspace(alone.factors[0].low, alone.factors[0].high, 101)
    with themed():
        figure = new_figure(7.0, 3.2)
        axes = figure.subplots()
        clipped = fill == 100.0
        axes.plot(
            fine,
            true_latent(bench, fine[:, None])[0][:, 0],
            color=INK,
            label="truth, if fill went on",
        )
        axes.plot(
            fine, found.line[0] + found.line[1] * fine, color=INK, linestyle=(0, (6, 2)),
            label="line through all readings",
        )  # fmt: skip
        axes.axhline(100.0, color=FAINT, linewidth=0.8)
        axes.plot(
            pressure[~clipped], fill[~clipped], "v", color=INK, markerfacecolor=PAPER, label="short"
        )
        # an arrow: the quantity behind a full part lies somewhere above
        axes.errorbar(
            pressure[clipped], fill[clipped], yerr=4.0, lolims=True, color=INK, linestyle="none",
            capsize=3.0, label="full: 100 or more",
        )  # fmt: skip
        axes.set_xlabel("pressure (bar gauge)")
        axes.set_ylabel("fill (%)")
        figure.legend(loc="outside right upper")
        laid_out(figure)
    alt = (
        f"Fill over pressure. Short parts rise with the truth; {int(clipped.sum())} full parts lie "
        "at 100 with arrows upward, while the truth goes on rising. The dashed line through all "
        "readings is too flat: too high at low pressure, too low at high."
    )
    return drawn(figure, "clipped", alt)


def _questions(found: Seen) -> tuple[Question, ...]:
    away = {method: places.mean() - found.true for method, places in found.said.items()}
    spread = {method: places.std(ddof=1) for method, places in found.said.items()}
    first, second, third = METHODS
    step = study().factors[0].step
    return (
        Question(
            "Why is the line through all readings too flat?",
            "The full parts pull it down: behind each of them is a fill that would have gone on "
            "rising, and it is entered as 100. The more pressure the range covers beyond the edge, "
            "the flatter the line.",
        ),
        Question(
            f"By how many marks of the gauge ({step:g} bar) does it miss the edge on average? Are "
            "more shots a cure?",
            f"{away[first]:+z.2f} bar, {abs(away[first]) / step:.1f} marks. No: every new shot is "
            "clipped in the same way. The error is in what the readings are taken for, not in "
            "their scatter.",
        ),
        Question(
            "Leave the full parts out: what is lost, and when does that go wrong too?",
            f"Here it does well on average ({away[second]:+z.2f} bar), with a standard deviation "
            f"of {spread[second]:.2f} against {spread[third]:.2f} bar: that the edge lies below "
            "the full parts is lost. Where the scatter is larger, near the edge only the parts "
            "that happened to come out short are kept, and the line bends; where few parts are "
            "short, hardly anything is left to draw it through.",
            3,
        ),
        Question(
            "Flash that is too small to see reads 0. What is the same about it, and how would you "
            "write it down?",
            f"It is clipped too, at the other end: less than can be seen, here "
            f"{study().flash.seen_from:g} {study().flash.unit}, an interval with an upper end "
            f"only. By intervals the edge above is {away[third]:+z.2f} bar off.",
        ),
    )
