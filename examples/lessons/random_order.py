"""Why random order: a press that drifts puts its drift into whatever was changed last."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.seeds import generator
from shotwindow.examples.lessons.bench import INVENTED, press, study, weighed
from shotwindow.models.effects import effects
from shotwindow.models.outcomes import true_latent
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.naming import axis_label
from shotwindow.reports.page_pictures import Picture, Table, drawn
from shotwindow.reports.theme import INK, PAPER, laid_out, new_figure, themed

Array = NDArray[np.float64]
Ints = NDArray[np.int_]

LUCK = 1
REPEATS = 4
DRIFT = 0.02  # bar that the regulator creeps up from shot to shot
ORDERS = 400
MELT = 220.0
PRESSURES, TIMES = (2.4, 3.0), (3.0, 8.0)


@dataclass(frozen=True)
class Seen:
    """Effects of pressure and injection time, each of shape (2,) unless told otherwise.

    Attributes
    ----------
    true : ndarray
        Of the press without drift and scatter.
    fill : ndarray, shape (16,)
        Of the tidy order, shot by shot, with drift.
    tidy_still, tidy : ndarray
        The tidy order without drift, and with it.
    shuffled : ndarray, shape (ORDERS, 2)
        Random orders with drift, each with its own scatter.
    order : ndarray of int, shape (16,)
    shuffled_fill : ndarray, shape (16,)
        One of the random orders, shot by shot.
    """

    true: Array
    fill: Array
    tidy_still: Array
    tidy: Array
    shuffled: Array
    order: Ints
    shuffled_fill: Array


def plan() -> Array:
    """Return the coded shots in the tidy order: pressure within time, (16, 2)."""
    return np.array([(p, t) for t in (-1.0, 1.0) for p in (-1.0, 1.0) for _ in range(REPEATS)])


def settings(coded: Array) -> Array:
    """Return what is set for coded shots (n, 2): pressure, melt temperature, time, (n, 3)."""
    (low, high), (short, long) = PRESSURES, TIMES
    pressure = (low + high) / 2 + coded[:, 0] * (high - low) / 2
    time = (short + long) / 2 + coded[:, 1] * (long - short) / 2
    return np.column_stack([pressure, np.full(len(coded), MELT), time])


def shot_in_order(coded: Array, drift: float, luck: int) -> Array:
    """Make shots one after the other while the regulator creeps; return their fill, (n,)."""
    set_to = settings(coded)
    set_to[:, 0] += drift * np.arange(len(coded))
    return weighed(set_to, np.ones(len(coded), dtype=int), luck)


@cache
def seen() -> Seen:
    """Make the shots in the tidy order and in many random ones."""
    tidy = plan()
    orders = [generator(i, "lesson order").permutation(len(tidy)) for i in range(ORDERS)]
    fills = [shot_in_order(tidy[order], DRIFT, i) for i, order in enumerate(orders)]
    fill = shot_in_order(tidy, DRIFT, LUCK)
    return Seen(
        true=effects(tidy, true_latent(press(), settings(tidy))[0][:, 0]),
        fill=fill,
        tidy_still=effects(tidy, shot_in_order(tidy, 0.0, LUCK)),
        tidy=effects(tidy, fill),
        shuffled=np.array([effects(tidy[o], f) for o, f in zip(orders, fills, strict=True)]),
        order=orders[LUCK],
        shuffled_fill=fills[LUCK],
    )


def lesson() -> Lesson:
    """Make the handout."""
    found = seen()
    told = (
        f"Two settings, pressure ({PRESSURES[0]:g} and {PRESSURES[1]:g} bar) and injection time "
        f"({TIMES[0]:g} and {TIMES[1]:g} s), four combinations, each shot {REPEATS} times: "
        f"{len(plan())} short shots, weighed. The tidy order makes all shots of a combination, "
        "then the next; the time is changed once, halfway.",
        f"The regulator creeps: each shot gets {DRIFT:g} bar more than the one before, which no "
        "gauge mark shows. Nobody at the press knows.",
        f"The same shots in random order: {ORDERS} orders were tried, each with its own scatter.",
    )
    return Lesson(
        title="Why random order",
        goal="say which effect a drift falls into, and what random order does about it.",
        minutes=25,
        source=INVENTED,
        parts=(
            Part("What was done", told),
            Part("Shot by shot", (), picture=_picture(found)),
            Part("What the effects came out as", (), _table(found)),
        ),
        questions=_questions(found),
    )


def _table(found: Seen) -> Table:
    pressure, _, time = study().factors
    rows = []
    for j, factor in enumerate((pressure, time)):
        mean, sd = found.shuffled[:, j].mean(), found.shuffled[:, j].std(ddof=1)
        still, tidy = found.tidy_still[j], found.tidy[j]
        cells = (
            f"{found.true[j]:+.1f}",
            f"{still:+.1f}",
            f"{tidy:+.1f}",
            f"{mean:+.1f} ({sd:.1f})",
        )
        rows.append((axis_label(factor), *cells))
    heads = (
        "effect on fill (percent points)",
        "truth",
        "tidy order, no drift",
        "tidy order, drift",
        "random orders, drift: mean (standard deviation)",
    )
    return Table(f"Effects from {len(plan())} shots", heads, tuple(rows))


def _picture(found: Seen) -> Picture:
    tidy = plan()
    with themed():
        figure = new_figure(7.0, 2.7)
        panels = figure.subplots(1, 2, sharey=True)
        shown = (
            (tidy, found.fill, "tidy order"),
            (tidy[found.order], found.shuffled_fill, "a random order"),
        )
        for axes, (coded, fill, title) in zip(panels, shown, strict=True):
            shot = np.arange(1, len(coded) + 1)
            # face tells time, shape pressure: both survive a gray print
            for p, shape in ((-1.0, "v"), (1.0, "^")):
                for t, face in ((-1.0, PAPER), (1.0, INK)):
                    here = (coded == (p, t)).all(axis=1)
                    axes.plot(
                        shot[here], fill[here], shape, color=INK, markerfacecolor=face,
                        label=f"{PRESSURES[int(p > 0)]:g} bar, {TIMES[int(t > 0)]:g} s",
                    )  # fmt: skip
            axes.set_title(title)
            axes.set_xticks(shot[::REPEATS])
            axes.set_xlabel("shot in running order")
        panels[0].set_ylabel("fill (%)")
        figure.legend(
            handles=panels[0].get_legend_handles_labels()[0], loc="outside lower center", ncols=4
        )
        laid_out(figure)
    alt = (
        "Fill of each shot in running order. Left, the tidy order: within each combination the "
        f"shots rise, from {found.fill[0]:.1f} to {found.fill[REPEATS - 1]:.1f} % in the first "
        "four. Right, a random order: each combination is spread over the whole run. Triangle "
        "down: low pressure, up: high; open: short time, filled: long."
    )
    return drawn(figure, "drift", alt)


def _questions(found: Seen) -> tuple[Question, ...]:
    away = found.tidy - found.tidy_still
    mean, sd = found.shuffled.mean(axis=0), found.shuffled.std(axis=0, ddof=1)
    half = len(plan()) // 2
    return (
        Question(
            "In the tidy order, how many shots lie on average between a shot with short and one "
            "with long injection time? How much higher has the pressure crept by then?",
            f"{half} shots; {half} x {DRIFT:g} = {half * DRIFT:.2f} bar.",
        ),
        Question(
            "By how much does the drift change each effect in the tidy order? Why is it worse for "
            "injection time?",
            f"Pressure by {away[0]:+.1f}, time by {away[1]:+.1f} percent points. Time was changed "
            f"once, so all of the long-time shots came later; pressure was changed every {REPEATS} "
            "shots, and more of the drift cancels.",
        ),
        Question(
            "What does random order do to the drift, and what does it not do?",
            f"It no longer favors a level: the mean over many orders, {mean[1]:+.1f}, is near the "
            f"truth, {found.true[1]:+.1f}. A single order can still be off: the standard "
            f"deviation is {sd[1]:.1f}. The drift has become scatter, which repeats can show and "
            "a test counts in. It has not gone away.",
            3,
        ),
        Question(
            "Which picture must you draw to see a drift? What else can be done about one?",
            "Readings, or better what is left after the effects, against running order. Keep what "
            "drifts in check, make shots in blocks with all combinations in each, put in a "
            "reference shot now and then, and keep the running order in the record.",
        ),
        Question(
            "Why does shotwindow not put melt temperatures in fully random order?",
            "Each change costs a soak and warm-up shots, so they are grouped, and the groups are "
            "drawn at random as far as the soaks allow. The price of that is the next lesson.",
            1,
        ),
    )
