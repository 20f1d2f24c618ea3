"""A study and its plan -> a handout for a class: the plan, an empty plot to draw on, questions.

No result stands in it: the class makes the shots and draws the window before any program does.
"""

from collections import Counter
from typing import TYPE_CHECKING

from shotwindow.doe.judging import judge
from shotwindow.doe.plans import Plan
from shotwindow.doe.restrictions import cost
from shotwindow.doe.rows import WARM_UP
from shotwindow.doe.study import Study
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.naming import (
    axis_label,
    listed,
    no_alias_words,
    percent,
    plural,
    setting_words,
    shortened,
    spoken,
)
from shotwindow.reports.page_pictures import Table, drawn
from shotwindow.reports.planned import clock
from shotwindow.reports.rulers import set_marks
from shotwindow.reports.sheet import reading_rules
from shotwindow.reports.slices import map_axes
from shotwindow.reports.theme import FAINT, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.figure import Figure

MOST_NAMED = 6  # settings; more are counted
MINUTES = 45  # of talk and drawing, a guess; the shots themselves come on top


def empty_plot(study: Study) -> "Figure":
    """Draw the axes of the window's map with every mark, and nothing in them.

    Lines stand at the numbered marks only, faint, so that pencil is seen on them.
    """
    axes_of = map_axes(study.factors)
    with themed():
        figure = new_figure(7.0, 5.0)
        axes = figure.subplots()
        for axis, j in zip((axes.xaxis, axes.yaxis), axes_of, strict=False):
            set_marks(axis, study.factors[j])
        across = study.factors[axes_of[0]]
        axes.set(xlim=(across.low, across.high), xlabel=axis_label(across))
        if len(axes_of) > 1:
            up = study.factors[axes_of[1]]
            axes.set(ylim=(up.low, up.high), ylabel=axis_label(up))
        else:
            axes.set(ylim=(0, 1), yticks=[])
        axes.grid(which="major", color=FAINT, linewidth=0.4)
        return laid_out(figure)


def handout(study: Study, plan: Plan, cautions: tuple[str, ...]) -> Lesson:
    """Return the handout of a plan; its answers follow from the plan alone."""
    name = shortened(study.title or study.mold.name or "A new mold", 150)
    axes = listed([axis_label(study.factors[j]) for j in map_axes(study.factors)])
    return Lesson(
        title=f"Find the window: {name}",
        goal="draw a process window by hand from planned shots, and choose a setpoint in it.",
        minutes=MINUTES,
        source="Made from study.toml and plan.json; no result was known to it.",
        parts=(
            Part("Safety first", cautions),
            Part("Reading a shot", reading_rules(study)),
            Part("The plan, in running order", _costs(study, plan), table=_table(study, plan)),
            Part(
                "The plot to draw on",
                _how_to_draw(study),
                picture=drawn(
                    empty_plot(study), "plot", f"Empty plot of {axes}, with every mark of the dials"
                ),
            ),
        ),
        questions=_questions(study, plan),
    )


def _how_to_draw(study: Study) -> tuple[str, ...]:
    signs = (
        "For each shot draw a circle where all parts are good, a triangle that points down where "
        "one is short, one that points up where flash is over the limit."
    )
    others = [
        spoken(f.name) for j, f in enumerate(study.factors) if j not in map_axes(study.factors)
    ]
    if not others:
        return (signs,)
    return (signs, f"Write {listed(others)} of the shot beside it: the plot has no axis for that.")


def _costs(study: Study, plan: Plan) -> tuple[str, ...]:
    spent = cost(study, plan)
    return (
        f"{plural(spent.shots, 'shot')} and {plural(spent.warm_up_shots, 'warm-up shot')} in "
        f"{plural(spent.groups, 'temperature group')}, {clock(spent.minutes)} by the clock.",
    )


def _table(study: Study, plan: Plan) -> Table:
    heads = ("shot", "group", *(axis_label(f) for f in study.factors), "fill", "flash", "good?")
    rows = tuple(
        (
            str(shot.shot),
            str(shot.group),
            *(f.text(v) for f, v in zip(study.factors, shot.settings, strict=True)),
            *(("warm-up", "", "") if shot.kind == WARM_UP else ("", "", "")),
        )
        for shot in plan.shots
    )
    return Table("Write down what came out", heads, rows)


def _questions(study: Study, plan: Plan) -> tuple[Question, ...]:
    slow = [spoken(f.name) for f in study.factors if f.is_slow]
    spent = cost(study, plan)
    if slow:
        why = (
            f"Each change of {listed(slow, 'or')} costs a soak and warm-up shots: the plan has "
            f"{plural(spent.groups, 'temperature group')} for {plural(spent.shots, 'shot')}, not a "
            "change for each. The price is that shots of a group share its luck, so effects of a "
            "slow setting are told apart from groups, not from shots."
        )
    else:
        why = "No setting is slow, so that nothing stands in the way of a random order."
    aliases = [spoken(alias) for alias in judge(study, plan).aliases]
    told = "; ".join(aliases) or no_alias_words(study.factors, plan.settings().tolist())
    return (
        Question("Why are shots with the same slow settings made one after the other?", why, 3),
        Question(
            "Which settings are shot more than once, and what do these shots tell?",
            _repeats(study, plan),
        ),
        Question("Which effects can this plan not tell apart?", f"Aliases: {told}", 3),
        Question(
            "Draw the line from where on all parts are full, and the one from where on flash is "
            "over the limit. Where are you least sure of them?",
            "Each line runs between the two kinds of shots on either side. It is least sure where "
            "these lie far apart, and where nothing was shot.",
        ),
        Question(
            "Choose a setting that is far from both lines. How many marks of each dial may it move "
            "before shots turn bad?",
            "Count marks from the setting to each line along each axis; the smaller number is its "
            "margin. Compare it with what `shotwindow window` says of the recorded shots.",
        ),
        Question(
            f"In the window {percent(study.good_from)} or more of all shots are good. How many "
            "shots at your setting would you want to see before you trust it?",
            "A few good shots prove little: after n good ones in a row, a share of bad shots up to "
            "about 3/n is still believable with a confidence of 0.95 (the rule of three: Hanley "
            "and Lippman-Hand, JAMA 249 (1983) 1743).",
            3,
        ),
    )


def _repeats(study: Study, plan: Plan) -> str:
    """Return which settings are shot more than once, and what that is good for."""
    times = Counter(shot.settings for shot in plan.shots if shot.kind != WARM_UP)
    more = [
        f"{setting_words(study.factors, settings)} ({count} times)"
        for settings, count in times.items()
        if count > 1
    ]
    if not more:
        return (
            f"None: each of the {times.total()} shots has settings of its own. So this plan alone "
            "cannot tell how much shots differ when nothing was changed."
        )
    which = plural(len(more), "setting")
    if len(more) <= MOST_NAMED:
        which += f": {'; '.join(more)}"
    return f"{which}. Only such shots tell how much shots differ when nothing was changed."
