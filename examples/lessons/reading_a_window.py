"""Reading a window: likely and sure, edges with bands, what was not tried, and ranges together."""

import numpy as np

from shotwindow.examples.lessons.bench import (
    INVENTED,
    WORKED_SHOTS,
    press,
    study,
    true_window,
    worked,
)
from shotwindow.models.margins import Edge
from shotwindow.models.scoring import true_share_good
from shotwindow.models.setpoint import Ranges, Setpoint
from shotwindow.models.window import Window
from shotwindow.reports.alt_text import alt_text
from shotwindow.reports.figures import window_figure
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.naming import axis_label, chance, listed, percent, setting_words, spoken
from shotwindow.reports.page_pictures import Table, drawn


def parts() -> tuple[Window, Setpoint, Ranges]:
    """Return the window, setpoint and ranges that were found."""
    found = worked()
    assert found.window and found.setpoint and found.ranges  # a test holds it
    return found.window, found.setpoint, found.ranges


def lesson() -> Lesson:
    """Make the handout."""
    window, setpoint, ranges = parts()
    told = (
        f"{WORKED_SHOTS} shots of a plan were made and fitted. A setting is in the window when "
        f"{percent(study().good_from)} or more of its shots are good. Nobody knows exactly where "
        "that is: the likely window holds the settings that are in it with a chance of 0.5 or more "
        f"({percent(window.share_likely)} of all that may be set), the sure window those with a "
        f"chance of 0.9 or more ({percent(window.share_sure)}).",
        f"Setpoint: {setting_words(study().factors, setpoint.settings)}. Chance that a shot is "
        f"good there: {chance(setpoint.probability_good)}. Chance that the setting is in the "
        f"window: {chance(setpoint.probability_in_window)}.",
    )
    picture = drawn(window_figure(worked()), "window", alt_text(worked()))
    return Lesson(
        title="Reading a window",
        goal="read a map of good shots: what is known, how surely, and what nobody tried.",
        minutes=30,
        source=INVENTED,
        parts=(
            Part("The map", told, picture=picture),
            Part("Edges from the setpoint, and ranges", (), _table(ranges)),
        ),
        questions=_questions(window, setpoint, ranges),
    )


def _table(ranges: Ranges) -> Table:
    rows = []
    for j, factor in enumerate(study().factors):
        ends = [_edge_words(e) for e in worked().edges if e.factor == factor.name]
        low, high = (factor.text(factor.marks[m[j]]) for m in (ranges.low, ranges.high))
        rows.append((axis_label(factor), *ends, f"{low} to {high}"))
    heads = ("setting", "lower edge, 90 % band", "upper edge, 90 % band", "range")
    caption = f"Each edge with the other settings at the setpoint; ranges of the {ranges.of} window"
    return Table(caption, heads, tuple(rows))


def _edge_words(edge: Edge) -> str:
    if edge.median is None:
        return "beyond what was tried, most likely"
    factor = next(f for f in study().factors if f.name == edge.factor)
    what = {"fill": "short", "flash": "flash", "other": "rejects"}[edge.response or "other"]
    low, high = ("beyond" if v is None else f"{v:.4g}" for v in edge.band90)
    return f"{edge.median:.4g} {factor.unit} ({low} to {high}), {what}"


def bad_corner() -> tuple[tuple[float, ...], float] | None:
    """Return a setting of likely single settings that is truly bad, and its share of good shots.

    Each of its values is likely in the window somewhere; together they are not.
    """
    window, _, _ = parts()
    likely = window.likely
    place = []
    for axis in range(likely.ndim):
        others = tuple(a for a in range(likely.ndim) if a != axis)
        place.append(int(np.argmax(likely.any(axis=others))))
    settings = tuple(float(f.marks[m]) for f, m in zip(study().factors, place, strict=True))
    if likely[tuple(place)]:
        return None
    return settings, float(true_share_good(press(), study(), np.array([settings]))[0])


def _questions(window: Window, setpoint: Setpoint, ranges: Ranges) -> tuple[Question, ...]:
    corner = bad_corner()
    assert corner is not None  # the window leans: a test holds it
    settings, share = corner
    true = true_window()
    right = float(true[window.likely].mean())
    missed = float((true & ~window.likely).sum() / true.sum())
    marks = [high - low + 1 for low, high in zip(ranges.low, ranges.high, strict=True)]
    nearest = _nearest(setpoint)
    return (
        Question(
            "The setpoint has two chances. What is each a chance of? Can the second be low "
            "although the first is high?",
            f"{chance(setpoint.probability_good)}: that the next shot is good, in a new "
            f"temperature group. {chance(setpoint.probability_in_window)}: that "
            f"{percent(study().good_from)} or more of all shots there are good, which is a claim "
            "about the setting, not about one shot. Yes: near the limit, many surfaces give "
            "nearly enough.",
            3,
        ),
        Question(
            "Which edge is nearest to the setpoint, in marks? What would go wrong beyond it?",
            nearest,
        ),
        Question(
            'Some edges are "beyond what was tried". May one run there?',
            "No. It says that no edge was found as far as shots were made, nothing more. The area "
            "that is crossed in the map has no answer; new shots would have to give it.",
        ),
        Question(
            f"Every one of these settings is likely good somewhere: "
            f"{setting_words(study().factors, settings)}. Are they good together? How do the "
            "ranges of the table differ?",
            f"No: the true share of good shots there is {share:.2f}. The window leans, so what is "
            "good of one setting depends on the others. The ranges are a box: every combination of "
            f"marks within them ({listed([str(m) for m in marks])} marks) lies in the "
            f"{ranges.of} window, which is why they are so much smaller.",
            3,
        ),
        Question(
            "Only here can it be checked: how much of the likely window is truly in, and how much "
            "of the true window does it miss?",
            f"{percent(right)} of the likely window is truly in it; it misses "
            f'{percent(missed)} of the true one. "Likely" promises more than half '
            "at its rim, and more inside.",
            1,
        ),
    )


def _nearest(setpoint: Setpoint) -> str:
    """Return the edge nearest to the setpoint, in marks, in words."""
    away = []
    for edge in worked().edges:
        j = study().names.index(edge.factor)
        factor = study().factors[j]
        if edge.median is not None:
            marks = abs(edge.median - setpoint.settings[j]) / factor.step
            away.append((marks, spoken(factor.name), edge))
    marks, name, edge = min(away, key=lambda found: found[0])
    what = {"fill": "parts are short", "flash": "parts flash", "other": "parts are rejected"}
    return (
        f"The {'lower' if edge.side == 'low' else 'upper'} edge of {name}, {marks:.1f} marks away; "
        f"beyond it {what[edge.response or 'other']}. Its band shows that it may be nearer."
    )
