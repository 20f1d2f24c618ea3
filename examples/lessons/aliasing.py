"""Aliasing: half a plan adds one real effect to another and cannot tell them apart."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.aliases import aliases, defining_relation
from shotwindow.doe.classical import two_level
from shotwindow.doe.terms import first_order
from shotwindow.examples.lessons.bench import INVENTED, press, study, weighed
from shotwindow.models.effects import effects
from shotwindow.models.outcomes import true_latent
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.naming import axis_label, spoken
from shotwindow.reports.page_pictures import Table

Array = NDArray[np.float64]

LUCK = 1
#: Low enough that every part is short: fill then stays a number that can go up.
LOW = np.array([2.2, 205.0, 3.0])
HIGH = np.array([3.0, 235.0, 8.0])
TIME, BOTH = 2, 3  # places of the two effects among those of `columns`


@dataclass(frozen=True)
class Seen:
    """The full plan and its halves.

    Attributes
    ----------
    coded : ndarray, shape (8, 3)
    fill, true_fill : ndarray, shape (8,)
        As weighed, and what the press gives without any scatter.
    full, true : ndarray, shape (7,)
        Effects of the columns from all eight shots; from the true fill.
    plus, minus : ndarray, shape (3,)
        Effects of the factors from the four shots of each half.
    """

    coded: Array
    fill: Array
    true_fill: Array
    full: Array
    true: Array
    plus: Array
    minus: Array


def columns(coded: Array) -> Array:
    """Return the columns of three factors, their products of two, and of all, (n, 7)."""
    a, b, c = coded.T
    return np.column_stack([a, b, c, a * b, a * c, b * c, a * b * c])


def in_plus(coded: Array) -> NDArray[np.bool_]:
    """Return which shots are in the half where time is set as pressure x melt temperature says."""
    return np.asarray(coded.prod(axis=1) > 0)


@cache
def seen() -> Seen:
    """Make the eight shots and take both halves of them."""
    coded = two_level(3)
    settings = (LOW + HIGH) / 2 + coded * (HIGH - LOW) / 2
    fill = weighed(settings, np.arange(8), LUCK)  # the temperature is set anew for each shot
    true_fill = true_latent(press(), settings)[0][:, 0]
    plus = in_plus(coded)
    return Seen(
        coded,
        fill,
        true_fill,
        effects(columns(coded), fill),
        effects(columns(coded), true_fill),
        effects(coded[plus], fill[plus]),
        effects(coded[~plus], fill[~plus]),
    )


def lesson() -> Lesson:
    """Make the handout."""
    found = seen()
    names = tuple(spoken(factor.name) for factor in study().factors)
    half = found.coded[in_plus(found.coded)]
    told = (
        "Three settings at two levels each make eight combinations. All eight were shot, with so "
        "little pressure that every part is short, and weighed; fill is the mass in percent of a "
        "full part. An effect is the mean fill at the high level less that at the low level.",
        "With half the money one makes half the shots: four, marked A, in which each level of each "
        "setting still occurs twice. The other four are marked B.",
    )
    added = (
        text.replace(" = + ", " plus ") for text in aliases(first_order(names), half, degree=2)
    )
    words = (
        f"In half A: {defining_relation(names, half)[0][2:]} has the same sign in every shot. So "
        "what half A calls the effect of a setting carries another one along: "
        f"{'; '.join(added)}.",
    )
    return Lesson(
        title="Two effects in one number: aliasing",
        goal="read off a plan which effects it adds together, and say what would part them.",
        minutes=30,
        source=INVENTED,
        parts=(
            Part("Eight shots, and two halves", told, _shots(found)),
            Part("What each half says", words, _effects(found, names)),
        ),
        questions=_questions(found),
    )


def _shots(found: Seen) -> Table:
    factors = study().factors
    rows = []
    for i, (row, fill) in enumerate(zip(found.coded, found.fill, strict=True), start=1):
        values = np.where(row > 0, HIGH, LOW)
        texts = (f.text(v) for f, v in zip(factors, values, strict=True))
        rows.append((f"{i}", "A" if row.prod() > 0 else "B", *texts, f"{fill:.1f}"))
    heads = ("shot", "half", *(axis_label(f) for f in factors), "fill (%)")
    return Table("The eight shots in sorted order", heads, tuple(rows))


def _effects(found: Seen, names: tuple[str, ...]) -> Table:
    a, b, c = names
    labels = (*names, f"{a} x {b}", f"{a} x {c}", f"{b} x {c}")
    rows = []
    for j, label in enumerate(labels):
        halves = ("cannot be told", "cannot be told")
        if j < len(names):
            halves = (f"{found.plus[j]:+.1f}", f"{found.minus[j]:+.1f}")
        rows.append((label, f"{found.full[j]:+.1f}", *halves))
    heads = ("effect on fill (percent points)", "all eight", "half A", "half B")
    return Table("Effects of the same shots", heads, tuple(rows))


def _questions(found: Seen) -> tuple[Question, ...]:
    time, both = found.full[TIME], found.full[BOTH]
    plus, minus = found.plus[TIME], found.minus[TIME]
    return (
        Question(
            "Work out the effect of injection time from the four shots of half A by hand, then "
            "from those of half B.",
            f"{plus:+.1f} and {minus:+.1f} percent points, as in the table.",
        ),
        Question(
            "Half A and half B do not agree about injection time. Which two effects from all eight "
            "shots give the number of half A, and how? And that of half B?",
            f"Time plus pressure x melt temperature: {time:+.3f} {both:+.3f} = {plus:+.3f}. In "
            f"half B it is time less pressure x melt temperature: {time:+.3f} - {both:.3f} = "
            f"{minus:+.3f}. It is arithmetic, not chance: with other scatter it would still hold.",
        ),
        Question(
            "Is the interaction of pressure and melt temperature real? What does it mean at the "
            "press?",
            f"Yes: without any scatter this press gives {found.true[BOTH]:+.1f} (and "
            f"{found.true[TIME]:+.1f} for time). A bar more fills more when the melt is hot. Only "
            "because the press is simulated can we look; at a real one repeats would have to show "
            "that it is more than scatter.",
        ),
        Question(
            "You could afford half A only. What do you write in the report about injection time? "
            "Which shots would you add to part the two?",
            "That the number is the sum of two effects, and which two; or that it is the effect of "
            "time if pressure and melt temperature do not interact. The four shots of half B part "
            "them (a fold-over): all eight together are the full plan.",
            3,
        ),
    )
