"""A judged plan -> tables headed by the questions that are asked before the first shot."""

from shotwindow.doe.judging import Effect, Judgement
from shotwindow.doe.power import LEVEL, POWER
from shotwindow.doe.restrictions import Cost
from shotwindow.reports.documents import Document
from shotwindow.reports.naming import listed, plural, spoken
from shotwindow.reports.words import columns, paragraph

#: Where predictions are judged: name in a Prediction, and in words.
PLACES = (
    ("center", "at the center"),
    ("faces", "at faces, on average"),
    ("corners", "at corners, on average"),
    ("mean", "over all marks, on average"),
    ("worst", "at the worst mark"),
)


def judging_lines(judgement: Judgement, spent: Cost) -> list[str]:
    """Return the tables, each under its question, an empty line between them."""
    return [
        *_effect_lines(judgement),
        "",
        *_prediction_lines(judgement),
        "",
        *_costly_lines(judgement),
        "",
        *_minute_lines(spent),
    ]


def _effect_lines(judgement: Judgement) -> list[str]:
    """Return the smallest effect of each term that the plan sees."""
    rows = [("effect", "judged against", "freedom", "smallest seen")]
    for effect in judgement.effects:
        rows.append(
            (
                spoken(effect.name),
                f"{effect.against} scatter",
                str(effect.df),
                "unknown" if effect.smallest is None else f"{effect.smallest:.2g}",
            )
        )
    blind = (
        ""
        if all(e.smallest is not None for e in judgement.effects)
        else (
            " Unknown: no degree of freedom is left, so that the scatter is assumed, not measured."
        )
    )
    return [
        "Which effects would it miss?",
        *columns(rows),
        *paragraph(
            "In shot scatters (one is how much shots at one setting differ, their standard "
            "deviation), from low to high (a square: from center to edge), seen with a chance of "
            f"{POWER:g} in a test at {100 * LEVEL:g} %; smaller ones may be missed."
            f"{blind}",
            2,
        ),
    ]


def _prediction_lines(judgement: Judgement) -> list[str]:
    errors = vars(judgement.prediction)
    rows = [(words, f"{errors[name]:.2f}") for name, words in PLACES if errors[name] is not None]
    return [
        "How well does it predict? (standard error in shot scatters)",
        *columns(rows),
    ]


def _costly_lines(judgement: Judgement) -> list[str]:
    shots = [str(number) for number in judgement.costly_shots]
    answer = "none: any one shot can be lost"
    if shots:
        which = "shot" if len(shots) == 1 else "any one of the shots"
        answer = f"{which} {listed(shots, 'or')}: make it again if it fails"
    return ["Which single void shot would cost a term?", *paragraph(answer, 2)]


def _minute_lines(spent: Cost) -> list[str]:
    warm_up = plural(spent.warm_up_shots, "warm-up shot")
    return [
        "How long does it take?",
        *columns(
            [
                ("in the order planned", f"{spent.minutes:.0f} min"),
                ("in random order", f"{spent.free_minutes:.0f} min"),
                ("shots", f"{plural(spent.shots, 'shot')} and {warm_up}"),
            ]
        ),
    ]


def judging_document(judgement: Judgement) -> Document:
    """Return the same for JSON; errors and effects in shot scatters."""
    return {
        "effects": [_effect(effect) for effect in judgement.effects],
        "prediction_error": dict(vars(judgement.prediction)),
        "costly_shots": list(judgement.costly_shots),
    }


def _effect(effect: Effect) -> Document:
    return {
        "name": effect.name,
        "against": effect.against,
        "freedom": effect.df,
        "error": effect.error,
        "smallest": effect.smallest,
    }
