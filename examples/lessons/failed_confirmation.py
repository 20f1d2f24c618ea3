"""A failed confirmation: what it says, and why it is not made again until it passes."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.plans import PlannedShot, make_plan
from shotwindow.doe.readings import readings
from shotwindow.doe.seeds import generator
from shotwindow.examples.lessons.bench import INVENTED, press, share_at, studied, study
from shotwindow.models.confirmation import exact_limits, shots_to_show
from shotwindow.models.rehearsal import written_rows
from shotwindow.models.shooting import shoot
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.naming import chance, listed, percent, plural, setting_words
from shotwindow.reports.outcomes import outcomes
from shotwindow.reports.page_pictures import Picture, Table, drawn
from shotwindow.reports.theme import INK, laid_out, new_figure, themed

Array = NDArray[np.float64]

LUCK = 3
RELIABILITY, CONFIDENCE = 0.8, 0.9
MELT, TIME = 220.0, 5.5
PLANNED = 12
AGAIN = 3  # times that somebody stubborn makes a confirmation
TRIES = 2000
HEATINGS = (1, 3, 11)
_WARM_UP = 2


@dataclass(frozen=True)
class Confirmed:
    """A setpoint and its confirmation.

    Attributes
    ----------
    settings : tuple of float
    outcomes : tuple of str
        Of each shot: good, short, and so on.
    true : float
        Share of good shots that the press really gives there.
    """

    settings: tuple[float, ...]
    outcomes: tuple[str, ...]
    true: float

    @property
    def good(self) -> int:
        """How many shots were good."""
        return self.outcomes.count("good")


def needed(failures: int = 0) -> int:
    """Return the shots that show the reliability, with so many failures allowed."""
    return shots_to_show(RELIABILITY, CONFIDENCE, failures)


def first_good() -> tuple[PlannedShot, ...]:
    """Raise the pressure mark by mark until a part is good; return all shots made."""
    made: list[PlannedShot] = []
    for mark in study().factors[0].marks:
        kinds = ["ladder"] if made else ["warm-up"] * _WARM_UP + ["ladder"]
        for kind in kinds:
            setting = (float(mark), MELT, TIME)
            made.append(PlannedShot(len(made) + 1, "1", "", 1, kind, setting))
        rows = written_rows(study(), press(), made, seed=LUCK, slip_rate=0.0)
        if outcomes(readings(study(), rows))[-1] == "good":
            break
    return tuple(made)


def confirmed(settings: tuple[float, ...], luck: int) -> Confirmed:
    """Make the confirmation shots of a setpoint after heating up anew."""
    kinds = ["warm-up"] * _WARM_UP + ["confirm"] * needed()
    shots = [PlannedShot(i, "2", "", 1, kind, settings) for i, kind in enumerate(kinds, 1)]
    rows = written_rows(study(), press(), shots, seed=luck, slip_rate=0.0)
    seen = outcomes(readings(study(), rows))
    return Confirmed(settings, tuple(str(s) for s in seen), share_at(settings))


@cache
def hurried() -> Confirmed:
    """Return the confirmation of the first setting that gave a good part."""
    return confirmed(first_good()[-1].settings, LUCK + 100)


@cache
def planned() -> Confirmed:
    """Return the confirmation of the setpoint that a small plan led to."""
    found = studied(make_plan(study(), shots=PLANNED).shots, LUCK)
    assert found.setpoint is not None  # a test holds it
    return confirmed(found.setpoint.settings, LUCK + 200)


@cache
def pass_rates() -> dict[int, float]:
    """Return how often the first team's setpoint passes, by heatings among which it is shot.

    Every one of `TRIES` confirmations has its own groups and scatter.
    """
    rates = {}
    for heatings in HEATINGS:
        of_shot = np.arange(needed()) * heatings // needed()
        group = (heatings * np.arange(TRIES)[:, None] + of_shot).ravel()
        settings = np.tile(hurried().settings, (len(group), 1))
        made = shoot(press(), settings, group=group, rng=generator(LUCK, "heatings", heatings))
        good = (made.fill[:, 0] >= 100.0) & (made.flash[:, 0] <= study().flash.good)
        good &= made.rejects == 0
        rates[heatings] = float(good.reshape(TRIES, needed()).all(axis=1).mean())
    return rates


def passes(share: float, failures: int = 0) -> float:
    """Return the chance that a confirmation passes at a true share of good shots."""
    from scipy.special import bdtr

    return float(bdtr(failures, needed(failures), 1.0 - share))


def lesson() -> Lesson:
    """Make the handout."""
    first = hurried()
    count = len([s for s in first_good() if s.kind != "warm-up"])
    told = (
        f"A team raised the pressure mark by mark, at melt {MELT:g} degC and {TIME:g} s. After "
        f"{plural(count, 'shot')} the first good part came, and they called it the setpoint: "
        f"{setting_words(study().factors, first.settings)}.",
        f"Before the confirmation they fixed what it is to show: {percent(RELIABILITY)} good "
        f"shots, with {percent(CONFIDENCE)} confidence. That takes {needed()} shots, all good: a "
        f"press with no more than {percent(RELIABILITY)} would give {needed()} good ones in a row "
        f"with a chance of {RELIABILITY ** needed():.3f} at most. They heated up anew and shot "
        "them.",
        f"Result: {_counted(first)}.",
    )
    return Lesson(
        title="A failed confirmation",
        goal="say what a failed confirmation tells, and what may and may not be done after it.",
        minutes=30,
        source=INVENTED,
        parts=(
            Part("What was done", told),
            Part("The chance to pass", (_curve_words(),), picture=_picture()),
            Part("Another team", (_other_words(),), _table()),
        ),
        questions=_questions(),
    )


def _counted(seen: Confirmed) -> str:
    kinds = dict.fromkeys(seen.outcomes)
    return listed([f"{seen.outcomes.count(kind)} {kind}" for kind in kinds])


def _curve_words() -> str:
    return (
        f"With one failure allowed it takes {needed(1)} shots to show the same. How many failures "
        "are allowed is fixed before the first shot, not after the first failure."
    )


def _other_words() -> str:
    return (
        f"Another team made a plan of {PLANNED} shots over all settings, and took the setpoint "
        "that is farthest from every edge. The truth is known only because the press is simulated."
    )


def _table() -> Table:
    rows = []
    for name, seen in (("first good part", hurried()), ("plan", planned())):
        low, _ = exact_limits(seen.good, needed(), confidence=CONFIDENCE, sides="lower")
        verdict = "shown" if low >= RELIABILITY else "not shown"
        words = setting_words(study().factors, seen.settings)
        good = f"{seen.good} of {needed()}"
        rows.append((name, words, good, f"{low:.2f}", verdict, chance(seen.true)))
    heads = (
        "team", "setpoint", "good", f"at least, with {percent(CONFIDENCE)} confidence",
        f"{percent(RELIABILITY)} good", "truth",
    )  # fmt: skip
    return Table(
        "Share of good shots, by the exact limit of Clopper and Pearson", heads, tuple(rows)
    )


def _picture() -> Picture:
    share = np.linspace(0.5, 1.0, 201)
    with themed():
        figure = new_figure(7.0, 2.7)
        axes = figure.subplots()
        for failures, dash in ((0, "-"), (1, (0, (6, 2)))):
            label = f"{needed(failures)} shots, {plural(failures, 'failure')} allowed"
            chances = [passes(float(s), failures) for s in share]
            axes.plot(share, chances, color=INK, linestyle=dash, label=label)
        axes.axvline(RELIABILITY, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
        axes.axhline(1 - CONFIDENCE, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
        axes.set_xlabel("true share of good shots")
        axes.set_ylabel("chance to pass")
        axes.set_xlim(0.5, 1.0)
        axes.set_ylim(0.0, 1.0)
        figure.legend(loc="outside right upper")
        laid_out(figure)
    alt = (
        f"Chance to pass over the true share of good shots. Both curves are below "
        f"{1 - CONFIDENCE:.1f} up to {RELIABILITY:g} (dotted). At a share of 0.95 the chance is "
        f"{passes(0.95):.2f} without a failure, {passes(0.95, 1):.2f} with one allowed."
    )
    return drawn(figure, "passing", alt)


def _questions() -> tuple[Question, ...]:
    first, other = hurried(), planned()
    once, rates = passes(first.true), pass_rates()
    often = 1 - (1 - once) ** AGAIN
    low, high = exact_limits(first.good, needed(), confidence=CONFIDENCE)
    return (
        Question(
            "Does the failed confirmation show that the setpoint gives fewer than "
            f"{percent(RELIABILITY)} good shots? What does it show?",
            f"No. {first.good} good of {needed()} leave a share from {low:.2f} to {high:.2f} open "
            f"(two-sided, {percent(CONFIDENCE)} confidence). It shows that the claim is not borne "
            f"out. Whether {RELIABILITY:g} lies in that range or not, one does not run from a "
            "setpoint whose claim failed.",
            3,
        ),
        Question(
            f"Somebody says: bad luck, let us shoot the {needed()} again, until they are all good. "
            f"The true share at this setpoint is {first.true:.2f}. What is the chance to pass "
            f"once, and at least once in {AGAIN} tries? What is wrong with it?",
            f"{first.true:.2f} to the power {needed()} is {once:.3f}; in {AGAIN} tries 1 - (1 - "
            f"{once:.3f})^{AGAIN} = {often:.2f}. Confidence belongs to the whole procedure: who "
            "repeats until it passes shows nothing but patience.",
            3,
        ),
        Question(
            "How did the parts fail, and what does that say about where the setpoint lies?",
            f"{_counted(first)}: the failures that are there all point to one edge. The first good "
            "part on the way up lies right at the edge to short shots; a little less pressure, "
            "heat or time in a new group, and it is short.",
        ),
        Question(
            "What is to be done instead?",
            "Keep the failed shots: they are readings like others and tell where the edge is. Fit "
            "again with them, move the setpoint away from the edge, or sharpen it by more shots "
            "first; then fix a new confirmation beforehand and make fresh shots. In a study, the "
            "failed attempt stays on record beside the new one. "
            f"The other team's setpoint passed with {other.good} of {needed()}.",
            3,
        ),
        Question(
            f"In {TRIES} simulated confirmations the first team's setpoint passed in "
            f"{percent(rates[1])} when all {needed()} shots came after one heating up, in "
            f"{percent(rates[3])} when they were shared among three, and in {percent(rates[11])} "
            f"when each had its own. The formula says {percent(once)}. Why the difference?",
            "The formula takes shots for independent. Shots after one heating share its miss of "
            "temperature: on a lucky heating all are good. What was shown is then the reliability "
            "of that heating, not of the setpoint. So a confirmation is spread over several "
            "heatings, and says over how many.",
            3,
        ),
    )
