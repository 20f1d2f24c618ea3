"""Least-squares fit -> shots that do not fit or that pull it, and the scale of even scatter."""

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.diagnostics import Influence, box_cox, influence
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import listed, plural
from shotwindow.reports.plain_fit import PlainFit
from shotwindow.reports.questions import Question, number

Array = NDArray[np.float64]

OUTLIER = 0.05  # chance that any shot of a study lies as far out by luck
ALONE = 1e-9  # 1 - leverage of a shot that decides a coefficient alone
_SPAN = 3.0  # powers beyond are not tried


def shots_question(found: Fitted, plain: PlainFit) -> Question:
    """List the residuals in running order, with what is odd about each shot."""
    asked = "Does any shot disagree, or pull the surface alone (in running order)?"
    told = influence(plain.fit)
    if told is None:
        return Question(
            asked, ("Cannot be told: the model meets every reading exactly, so none sticks out.",)
        )
    shots = found.readings.shot[plain.rows]
    marks = _remarks(plain, told)
    rows = tuple(
        (
            int(shots[i]),
            float(plain.fit.response[i]),
            float(plain.fit.fitted[i]),
            float(plain.fit.residuals[i]),
            number(float(told.studentized[i])),
            float(told.leverage[i]),
            number(float(told.cooks_distance[i])),
            marks[i],
        )
        for i in range(len(shots))
    )
    said = list(outlier_words(found, plain)) or ["None disagrees more than luck would have it."]
    said += _pull_words(shots, told)
    heads = ("shot", "read", "fitted", "residual", "studentized", "leverage", "Cook", "")
    return Question(asked, tuple(said), heads, rows)


def outlier_words(found: Fitted, plain: PlainFit) -> tuple[str, ...]:
    """Return a sentence for each shot that does not belong, with what may be the matter."""
    told = influence(plain.fit)
    if told is None:
        return ()
    words = []
    for i in np.flatnonzero(np.nan_to_num(told.p_outlier, nan=1.0) < OUTLIER):
        shot = f"Shot {found.readings.shot[plain.rows[i]]}"
        same = np.all(np.abs(plain.coded - plain.coded[i]) < 1e-9, axis=1)
        same[i] = False
        read = _value(found, plain, float(plain.fit.response[i]))
        if same.any():
            others = plain.fit.response[same]
            span = _value(found, plain, float(others.min()))
            if others.max() > others.min():
                span = f"{others.min():.4g} to {_value(found, plain, float(others.max()))}"
            repeats = "its repeat" if same.sum() == 1 else f"its {same.sum()} repeats"
            words.append(f"{shot} disagrees with {repeats}: {read} against {span}; typed wrongly?")
        else:
            expected = _value(found, plain, _without(plain, int(i)))
            words.append(
                f"{shot} disagrees with all others: {read} where they foretell {expected}; typed "
                "wrongly? If not, shoot it again."
            )
    return tuple(words)


def _value(found: Fitted, plain: PlainFit, value: float) -> str:
    unit = "%" if plain.response == "fill" else found.study.flash.unit
    return f"{value:.3g} {unit}"


def _without(plain: PlainFit, i: int) -> float:
    """Fitted value of a shot from all others."""
    own = 1.0 - float(plain.fit.leverage[i])
    return float(plain.fit.response[i] - plain.fit.residuals[i] / own)


def _remarks(plain: PlainFit, told: Influence) -> list[str]:
    """Return a word for each shot: an outlier, one that decides alone, or one that pulls."""
    remarks = [""] * len(told.leverage)
    for i in range(len(remarks)):
        if told.leverage[i] > 1.0 - ALONE:
            remarks[i] = "alone"
        elif told.p_outlier[i] < OUTLIER:
            remarks[i] = "OUTLIER"
        elif told.cooks_distance[i] > 1.0:
            remarks[i] = "pulls"
    return remarks


def _pull_words(shots: NDArray[np.int64], told: Influence) -> list[str]:
    alone = [str(shot) for shot in shots[told.leverage > 1.0 - ALONE]]
    pulls = [str(shot) for shot in shots[np.nan_to_num(told.cooks_distance) > 1.0]]
    said = []
    if alone:
        said.append(
            f"Nothing else stands where {'shot' if len(alone) == 1 else 'shots'} {listed(alone)} "
            "(alone) does, so the fit goes through it and cannot doubt it (leverage 1)."
        )
    if pulls:
        said.append(
            f"Without {'shot' if len(pulls) == 1 else 'one of the shots'} {listed(pulls)} the "
            "whole surface would move (Cook's distance above 1): look at its reading twice."
        )
    return said


def box_cox_question(plain: PlainFit) -> Question:
    """Find the power of the readings under which they scatter evenly."""
    asked = "On which scale do the readings scatter evenly (Box-Cox)?"
    below = int((plain.fit.response <= 0).sum())
    if below:
        return Question(
            asked,
            (f"Cannot be told: it takes readings above zero, and {plural(below, 'shot')} read 0.",),
        )
    if not plain.fit.rss:
        return Question(asked, ("Cannot be told: the model meets every reading exactly.",))
    told = box_cox(plain.fit.matrix, plain.fit.response, span=_SPAN)
    assert told is not None  # readings above zero and a degree of freedom are there
    least = f"{-_SPAN:g} or less" if told.low <= -_SPAN else f"{told.low:.2g}"
    most = f"{_SPAN:g} or more" if told.high >= _SPAN else f"{told.high:.2g}"
    words = f"Power {told.power:.2g}, and from {least} to {most} does as well"
    if told.low <= 1.0 <= told.high:
        verdict = "1 is among them, so the readings may stay as they are"
    elif told.low <= 0.0 <= told.high:
        verdict = "0 is among them, so logarithms would scatter more evenly"
    else:
        verdict = "1 is not among them, so another scale would scatter more evenly"
    capped = "" if plain.response != "fill" else " Readings that stop at full count as they stand."
    return Question(asked, (f"{words}: {verdict}.{capped}",))
