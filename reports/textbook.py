"""Fitted shots -> the analysis of the textbooks, each table under the question it answers."""

from collections.abc import Sequence

import numpy as np

from shotwindow.reports.clipping import clipping_question
from shotwindow.reports.findings import Findings
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.plain_fit import why_no_fit, worst_readings
from shotwindow.reports.questions import Question, question_lines
from shotwindow.reports.textbook_effects import (
    curvature_question,
    dispersion_question,
    half_normal_question,
)
from shotwindow.reports.textbook_level import ascent_question, level_question
from shotwindow.reports.textbook_shots import box_cox_question, shots_question
from shotwindow.reports.textbook_terms import (
    coded_question,
    groups_question,
    model_question,
    units_question,
)
from shotwindow.reports.textbook_variance import anova_question, quality_question
from shotwindow.reports.words import paragraph

Answers = dict[str, tuple[Question, ...]]


def textbook(found: Findings) -> Answers:
    """Return the questions that least squares answers, by response; "edges" holds the lesson.

    The same value is printed by `surfaces --textbook`, stands in its JSON, and can be put on a
    page with `text_rows`.
    """
    return {**response_answers(found), **edge_answers(found)}


def response_answers(fitted: Fitted) -> Answers:
    """Return those of them about a response, for which no window is needed."""
    return {response: _questions(fitted, response) for response in ("fill", "flash")}


def edge_answers(found: Findings) -> Answers:
    """Return the lesson: why its edges lie elsewhere than those of the window."""
    return {"edges": (clipping_question(found),)}


def _questions(found: Fitted, response: str) -> tuple[Question, ...]:
    why = no_tables(found, response)
    if why:
        return (Question(f"What does least squares say of {response}?", (why,)),)
    plain = found.least_squares[response]
    assert plain is not None  # or there would be a reason
    return (
        model_question(found, plain),
        coded_question(found, plain),
        units_question(found, plain),
        anova_question(plain),
        quality_question(plain),
        half_normal_question(found, plain),
        dispersion_question(found, plain),
        curvature_question(found, plain),
        groups_question(found, plain),
        shots_question(found, plain),
        box_cox_question(plain),
        level_question(found, plain),
        ascent_question(found, plain),
    )


def no_tables(found: Fitted, response: str) -> str:
    """Return in a sentence why there are no tables of a response; empty where there are."""
    if response == "flash" and found.readings.flash_grade is not None:
        return (
            "No tables: flash was graded, and a grade says which of two is worse but not by how "
            "much, so sums of its squares mean nothing. The surface above takes it as it is."
        )
    numbers = worst_readings(found.readings, response)
    seen = numbers[np.isfinite(numbers)]
    if found.least_squares[response] is None:
        return why_no_fit(found, response)
    if np.ptp(seen) == 0:
        unit = "%" if response == "fill" else f" {found.study.flash.unit}"
        return (
            f"No tables: every shot reads {seen[0]:g}{unit}, so there is nothing that a setting "
            "could have changed."
        )
    return ""


def textbook_lines(answers: dict[str, tuple[Question, ...]]) -> list[str]:
    """Return all questions with their tables, as `surfaces --textbook` prints them."""
    heads = {"fill": "Textbook least squares: fill", "flash": "Textbook least squares: flash"}
    lines = paragraph(
        "Textbook analysis: each shot's worst cavity taken as an exact number. It is shown to "
        "learn from and to compare; the window is made from the surfaces above."
    )
    for response, questions in answers.items():
        lines += ["", heads.get(response, "Textbook least squares: the edges")]
        lines += _asked(questions)
    return lines


def _asked(questions: Sequence[Question]) -> list[str]:
    lines: list[str] = []
    for question in questions:
        lines += ["", *question_lines(question)]
    return lines
