"""Least-squares fit -> its analysis of variance, and how well it follows and foretells readings."""

from shotwindow.models.anova import Line
from shotwindow.reports.plain_fit import PlainFit
from shotwindow.reports.questions import Cell, Question, number

CLEAR = 0.05


def anova_question(plain: PlainFit) -> Question:
    """Set the sum of squares of each kind of term against what is left over."""
    table = plain.anova
    lines = [*table.lines, table.residual]
    lines += [line for line in (table.lack_of_fit, table.pure_error) if line is not None]
    rows = tuple(_row(line) for line in (*lines, table.total))
    heads = ("source", "sum of squares", "df", "mean square", "F", "p")
    said = [_terms_words(plain), _lack_words(plain)]
    return Question(
        "Is it more than scatter, and does the model miss something?",
        tuple(said),
        heads,
        rows,
    )


def _row(line: Line) -> tuple[Cell, ...]:
    part = line.source in ("lack of fit", "pure error")
    return (
        f"of it {line.source}" if part else line.source,
        number(line.ss),
        line.df,
        number(line.ms),
        number(line.f),
        number(line.p),
    )


def _terms_words(plain: PlainFit) -> str:
    f, p = plain.quality.f, plain.quality.p
    if f is None or p is None:
        return "The model meets every reading exactly: nothing is left over to test it against."
    p_text = "below 0.001" if p < 0.001 else f"{p:.2g}"
    verdict = "more than scatter" if p < CLEAR else "no more than scatter would show"
    return f"All terms together: F {f:.3g}, p {p_text}: {verdict}."


def _lack_words(plain: PlainFit) -> str:
    lack = plain.anova.lack_of_fit
    if lack is None:
        return "Lack of fit cannot be told: no shot was repeated within its group and block."
    if lack.df < 1:
        return "Lack of fit cannot be told: the model has as many terms as there were settings."
    if lack.p is None:
        return "Lack of fit cannot be told: repeated shots read exactly alike."
    missed = "the model misses something" if lack.p < CLEAR else "the model misses nothing seen"
    return f"Lack of fit: F {lack.f:.3g}, p {lack.p:.2g}: {missed}."


def quality_question(plain: PlainFit) -> Question:
    """Give R2 in its three forms, each with what it says."""
    quality = plain.quality
    rows: tuple[tuple[Cell, ...], ...] = (
        ("residual standard deviation", number(quality.sd)),
        ("R2", number(quality.r_squared)),
        ("adjusted R2", number(quality.adjusted)),
        ("predicted R2", number(quality.predicted)),
        ("PRESS", number(quality.press)),
    )
    return Question(
        "How well does it follow the readings, and foretell one left out?",
        (_quality_words(plain),),
        ("", "value"),
        rows,
    )


def _quality_words(plain: PlainFit) -> str:
    quality = plain.quality
    if quality.press is None:
        return (
            "Predicted R2 cannot be had: some shot alone decides a coefficient, and nothing "
            "foretells that shot."
        )
    assert quality.r_squared is not None and quality.predicted is not None  # with PRESS
    gap = quality.r_squared - quality.predicted
    words = f"R2 {quality.r_squared:.2f} with all shots, {quality.predicted:.2f} for one left out"
    if quality.predicted < 0:
        return f"{words}: the mean alone foretells better than this model."
    if gap > 0.2:  # common practice, no source
        return f"{words}: far apart, so the model follows scatter or hangs on single shots."
    return f"{words}: close, so the model does not hang on single shots."
