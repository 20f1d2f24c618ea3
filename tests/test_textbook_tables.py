"""Published experiments as studies: the tables of `surfaces --textbook` say what was printed."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from invented_shots import findings, recorded, study
from numpy.typing import NDArray
from published import assert_close, numbers, words

from shotwindow.doe.rows import Row
from shotwindow.doe.study import parse_study
from shotwindow.models.coefficients import variance_inflation
from shotwindow.models.effects import contrasts
from shotwindow.models.textbook import fit
from shotwindow.reports.findings import Findings, find
from shotwindow.reports.naming import spoken
from shotwindow.reports.questions import Cell, Question, question_lines, text_rows
from shotwindow.reports.textbook import textbook, textbook_lines

Array = NDArray[np.float64]


def _found(factors: str, settings: Array, fill: Array, block: list[str] | None = None) -> Findings:
    """Take yields or shrinkages for fills read by eye, which least squares cannot know."""
    nothing = (None,) * settings.shape[1]
    rows = tuple(
        Row(i + 1, block[i] if block else "1", "1", 1, "optimal", tuple(settings[i].tolist()),
            nothing, (float(fill[i]),), (0.0,))
        for i in range(len(fill))
    )  # fmt: skip
    return find(parse_study(factors), rows)


@lru_cache
def _reactor() -> Findings:
    """Myers, Montgomery and Anderson-Cook, Response Surface Methodology, 3rd ed., Table 7.6."""
    table = numbers("response_surfaces/chemreact", "Time", "Temp", "Yield")
    coded = np.round((table[:, :2] - [85.0, 175.0]) / 5.0, 3)
    text = (
        '[factors.time]\nunit = "min"\nlow = 80\nhigh = 90\nstep = 1\nlimits = [60, 110]\n'
        '[factors.heat]\nunit = "degF"\nlow = 170\nhigh = 180\nstep = 1\nlimits = [150, 200]\n'
    )
    natural = [85.0, 175.0] + 5.0 * coded
    return _found(text, natural, table[:, 2], words("response_surfaces/chemreact")["Block"])


@lru_cache
def _shrinkage() -> Findings:
    """Montgomery, Design and Analysis of Experiments, 10th ed., Table 8.10."""
    table = numbers("montgomery/table_8_10", "A", "B", "C", "D", "E", "F", "Shrinkage")
    text = "".join(
        f'[factors.{name}]\nunit = "1"\nlow = -1\nhigh = 1\nstep = 2\nlimits = [-9, 9]\n'
        for name in ("a", "b", "c", "d", "e", "f")
    )
    return _found(text, table[:, :6], table[:, 6])


def _asked(found: Findings, part: str, beginning: str) -> Question:
    [question] = [q for q in textbook(found)[part] if q.asked.startswith(beginning)]
    return question


def _table(question: Question) -> dict[Cell, tuple[Cell, ...]]:
    return {row[0]: row[1:] for row in question.rows}


def test_level__two_blocks__maximum_as_printed() -> None:
    """R. V. Lenth, Journal of Statistical Software 32(7) (2009): eigenvalues and place."""
    question = _asked(_reactor(), "fill", "Where is the surface level")
    assert_close([row[1] for row in question.rows], [-0.9233027, -1.3186949], atol=6e-8)
    text = " ".join(question.said)
    assert "a top" in text and "time 87 min" in text and "heat 177 degF" in text


def test_coefficients__two_blocks__as_printed() -> None:
    """The same: intercept of the mean block, slopes, and residual degrees of freedom."""
    table = _table(_asked(_reactor(), "fill", "What does half a range"))
    # 84.09543 is that of block B1, and block B2 lies 4.457530 lower
    assert_close(table["middle"][0], 84.09543 - 4.457530 / 2, atol=1e-5)
    found = [table[name][0] for name in ("time", "heat", "time x heat", "time^2", "heat^2")]
    assert_close(found, [0.9325412, 0.5777125, 0.125, -1.3085550, -0.9334423], atol=1e-6)
    assert {row[2] for row in table.values()} == {7.0}


def test_anova__two_blocks__lack_of_fit_as_printed() -> None:
    """The same: lack of fit 0.053 on 3 degrees of freedom, pure error 0.133 on 4, p 0.685."""
    table = _table(_asked(_reactor(), "fill", "Is it more than scatter"))
    lack, pure = table["of it lack of fit"], table["of it pure error"]
    assert_close([lack[0], lack[1], pure[0], pure[1]], [0.053, 3, 0.133, 4], atol=5e-4)
    assert_close(lack[4], 0.685, atol=5e-4)


def test_half_normal__molding_shrinkage__effects_as_printed() -> None:
    """The two that stand out in Example 8.4 and their interaction; the rest is scatter."""
    question = _asked(_shrinkage(), "fill", "Which effects stand out")
    table = _table(question)
    assert len(table) == 15
    assert_close([table[name][0] for name in ("a", "b", "a x b")], [13.875, 35.625, 11.875])
    assert [row[0] for row in question.rows[:3]] == ["b", "a", "a x b"]
    assert {table[name][2] for name in ("a", "b", "a x b")} == {"both margins"}


def test_dispersion__molding_shrinkage__as_numpy_has_it() -> None:
    """What stands out is taken off first; numpy's own least squares leaves the same scatter.

    Example 8.4 takes off A, B and AB alone, and so finds in C the scatter that Lenth's margin
    gives to AD.
    """
    table = _table(_asked(_shrinkage(), "fill", "Does any setting make"))
    a, b, c, d = numbers("montgomery/table_8_10", "A", "B", "C", "D").T
    read = numbers("montgomery/table_8_10", "Shrinkage")[:, 0]
    matrix = np.column_stack([np.ones(16), a, b, a * b, a * d])
    left = read - matrix @ np.linalg.lstsq(matrix, read, rcond=None)[0]
    assert_close(table["c"][:2], [left[c == side].std(ddof=1) for side in (-1, 1)])


def test_model__two_levels__squares_left_out_with_the_reason() -> None:
    text = " ".join(_asked(_shrinkage(), "fill", "Which model").said)
    assert "two levels cannot show a bend" in text and "do not tell it from" in text


def test_contrasts__oblique_columns__equal_variance() -> None:
    rng = np.random.default_rng(4)
    matrix = np.column_stack([np.ones(9), rng.standard_normal((9, 3))])
    map_of = np.array([contrasts(matrix, row) for row in np.eye(9)]).T
    assert_close(map_of @ map_of.T, np.eye(4) * 4 / 9, atol=1e-12)


def test_variance_inflation__as_statsmodels() -> None:
    from statsmodels.stats.outliers_influence import variance_inflation_factor

    found = findings("map").readings.settings[:12] * [1.0, 0.1] + np.arange(12)[:, None]
    matrix = np.column_stack([np.ones(12), found, found[:, 0] ** 2])
    expected = [variance_inflation_factor(matrix, j) for j in (1, 2, 3)]
    assert_close(variance_inflation(fit(matrix, matrix[:, 1]))[1:], expected)


def test_shots__a_slip_among_repeats__is_named_with_its_repeats() -> None:
    rows = list(recorded("coarse"))
    full = next(i for i, row in enumerate(rows) if isinstance(row.fill[0], float))
    rows[full] = replace(rows[full], fill=(48.0,))
    found = find(study("coarse"), tuple(rows))
    text = " ".join(_asked(found, "fill", "Does any shot").said)
    assert f"Shot {rows[full].shot} disagrees with its 3 repeats: 48 % against" in text


def test_box_cox__power_at_the_end_of_what_is_tried__says_or_more() -> None:
    """Cube roots of a straight line scatter evenly on the third power or one beyond."""
    steps = np.arange(10.0)
    fill = np.cbrt(3e5 + 5e4 * steps + 2e3 * (-1.0) ** steps)
    text = '[factors.level]\nunit = "1"\nlow = 0\nhigh = 9\nstep = 1\nlimits = [-9, 99]\n'
    said = _asked(_found(text, steps[:, None], fill), "fill", "On which scale").said[0]
    assert "to 3 or more does as well" in said


def test_groups__two__cannot_tell() -> None:
    rows = [row for row in recorded("map") if row.group <= 2]
    text = " ".join(_asked(find(study("map"), tuple(rows)), "fill", "Do the slow").said)
    assert "Cannot tell with 2 groups" in text


@pytest.mark.parametrize("name", ["map", "cube", "dial", "full", "short", "graded", "avoid"])
def test_textbook__every_study__fits_the_terminal_and_has_no_holes(name: str) -> None:
    answers = textbook(findings(name))
    lines = textbook_lines(answers)
    assert max(map(len, lines)) <= 80
    assert not any(word in line.split() for line in lines for word in ("nan", "inf", "-inf"))
    assert all(question.said for part in answers.values() for question in part)


def test_textbook__graded__says_why_there_are_no_tables() -> None:
    [question] = textbook(findings("graded"))["flash"]
    assert not question.rows and "flash was graded" in question.said[0]


def test_textbook__full_or_short__says_why_there_are_no_tables() -> None:
    rows = [
        replace(row, fill=("full" if row.fill[0] == 100.0 else "short",))
        for row in recorded("dial")
    ]
    text = '[fill]\nmeasured = "full-or-short"\n'
    from invented_shots import STUDIES

    found = find(parse_study(STUDIES["dial"][0] + text), tuple(rows))
    [question] = textbook(found)["fill"]
    assert not question.rows and "only called full or short" in question.said[0]
    assert "every fill reading is clipped" in " ".join(textbook(found)["edges"][0].said)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6, 8])
def test_textbook__a_handful_of_shots__no_holes(count: int) -> None:
    rows = [row for row in recorded("avoid") if row.kind != "warm-up"][:count]
    lines = textbook_lines(textbook(find(study("avoid"), tuple(rows))))
    assert not any(word in line.split() for line in lines for word in ("nan", "inf", "-inf"))
    if count <= 2:
        assert "Too few shots for least squares" in " ".join(lines)


@pytest.mark.parametrize("name", ["map", "cube"])
@pytest.mark.parametrize("response", ["fill", "flash"])
def test_formula_in_units__as_it_is_written__gives_the_fitted_values(
    name: str, response: str
) -> None:
    found = findings(name)
    plain = found.least_squares[response]
    assert plain is not None
    [question] = [q for q in textbook(found)[response] if "formula" in q.asked]
    columns = {
        spoken(f.name): found.readings.settings[plain.rows, j]
        for j, f in enumerate(found.study.factors)
    }
    total = np.zeros(len(plain.rows))
    for term, coefficient, *_ in text_rows(question):
        product = np.full(len(plain.rows), float(coefficient))
        for part in () if term == "constant" else term.split(" x "):
            factor, _, power = part.partition("^")
            product *= columns[factor] ** int(power or 1)
        total += product
    # shots of a group share its effect, which the grouped fit leaves out
    wanted = plain.fit.matrix @ plain.grouped.coefficients
    assert total == pytest.approx(wanted, abs=1e-3 * np.ptp(plain.fit.response))


def test_clipping__counts_what_stands_on_the_sheet() -> None:
    found = findings("dial")
    fitted = [row for row in found.rows if row.is_fitted]
    full = sum(row.fill[0] == 100.0 for row in fitted)
    text = " ".join(textbook(found)["edges"][0].said)
    assert f"{full} of {len(fitted)} shots are full" in text


def test_question_lines__long_name__is_wrapped_not_cut() -> None:
    question = Question("Why?", ("So.",), ("a" * 9, "b"), (("mold temperature " * 6, 0.00001),))
    lines = question_lines(question)
    assert max(map(len, lines)) <= 80 and " ".join(lines).count("mold temperature") == 6
