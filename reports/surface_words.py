"""Surfaces of a study -> what `surfaces` prints: a sentence for each thing that a setting does."""

from collections.abc import Sequence
from math import ceil

from shotwindow.models.surface import Surface
from shotwindow.models.together import find_together
from shotwindow.reports.beside import beside_rows, told_unit
from shotwindow.reports.edge_words import edge_sentences, never_seen
from shotwindow.reports.effect_words import response_sentences
from shotwindow.reports.findings import Findings
from shotwindow.reports.grading_words import grading_lines
from shotwindow.reports.naming import listed, no_alias_words, plural, spoken
from shotwindow.reports.notes import notes
from shotwindow.reports.plain_fit import PlainFit, why_no_fit
from shotwindow.reports.plan_aliases import alias_lines
from shotwindow.reports.priors import WEAK
from shotwindow.reports.textbook_shots import outlier_words
from shotwindow.reports.words import columns, paragraph


def surface_lines(found: Findings, aliases: Sequence[str]) -> list[str]:
    """Return everything that `surfaces` prints.

    Parameters
    ----------
    found : Findings
    aliases : sequence of str
        Of the plan, as `judge` gives them.
    """
    title = found.study.title or found.study.mold.name or "Study without a title"
    lines = paragraph(f"{title}: what each setting does, from {_shots(found)}")
    for surface in found.surfaces.each:
        lines += ["", *_response_lines(found, surface)]
    lines += ["", *_edge_lines(found), "", *_alias_lines(found, aliases), "", *prior_lines(found)]
    if found.gradings:
        lines += ["", *grading_lines(found.study, found.gradings)]
    lines += ["", *fit_lines(found), "", *paragraph(together_words(found)), "", "Keep in mind"]
    for note in notes(found):
        lines += paragraph(note, 2, "- ")
    return lines


def _shots(found: Findings) -> str:
    count = plural(len(found.readings.shot), "shot")
    if not any(factor.is_slow for factor in found.study.factors):
        return count
    return f"{count} in {plural(found.surfaces.groups, 'temperature group')}"


def _response_lines(found: Findings, surface: Surface) -> list[str]:
    head = {
        "fill": "Fill, as it changes in a part that is just short, all else in the middle",
        "flash": "Flash, counted from the limit of a good part, all else in the middle",
        "other": f"Other rejects: {listed(found.readings.reasons)}",
    }[surface.response]
    lines = paragraph(f"{head} (9 of 10 chance)")
    for sentence in response_sentences(found, surface):
        lines += paragraph(sentence, 2, "- ")
    if surface.response != "other":
        lines += _beside_lines(found, surface)
    return lines


def _beside_lines(found: Findings, surface: Surface) -> list[str]:
    """Return each effect by either prior and by least squares, with what that says of itself."""
    plain = found.least_squares[surface.response]
    lines = [
        *paragraph(
            f"In the middle of the study ({told_unit(found, surface)}), with either prior, and by "
            "least squares, which is the bare readings alone (all its tables: --textbook):",
            2,
        ),
        *columns(beside_rows(found, surface, plain)),
    ]
    if plain is None:
        return lines + paragraph(why_no_fit(found, surface.response), 4)
    doubtful = [line for words in outlier_words(found, plain) for line in paragraph(words, 4)]
    return [*lines, *_quality(plain), *doubtful]


def _quality(plain: PlainFit) -> list[str]:
    told = [f"{plain.model} model, {plural(plain.fit.df, 'degree')} of freedom left"]
    quality = plain.quality
    if quality.r_squared is not None and quality.predicted is not None:
        told.append(f"R2 {quality.r_squared:.2f}, predicted R2 {quality.predicted:.2f}")
    lack = plain.anova.lack_of_fit
    if lack is None or lack.p is None:
        told.append("lack of fit cannot be told: no shot was repeated within its group")
    else:
        verdict = "the model misses something" if lack.p < 0.05 else "none seen"
        told.append(f"lack of fit F {lack.f:.3g}, p {lack.p:.2g} ({verdict})")
    return paragraph("; ".join(told) + ".", 4)


def _edge_lines(found: Findings) -> list[str]:
    """Return where the edges lie along each setting, and which was never seen."""
    lines = ["Edges along each setting, all else in the middle (9 of 10 chance in brackets)"]
    for sentence in [*never_seen(found), *edge_sentences(found)]:
        lines += paragraph(sentence, 2, "- ")
    return lines + paragraph(
        "(where half of the shots pass; least squares takes 100 % as a reading like any other, so "
        "it sees fill stop there and mostly puts that edge too high)",
        2,
    )


def _alias_lines(found: Findings, aliases: Sequence[str]) -> list[str]:
    if not aliases:
        said = no_alias_words(found.study.factors, found.readings.settings.tolist())
        return paragraph(f"Aliases of the plan: none; {said}")
    head = "Aliases of the plan: each effect carries, with their signs, those behind it"
    return alias_lines(head, aliases, whole="--json")


def prior_lines(found: Findings) -> list[str]:
    """Return what was believed before any shot."""
    prior = found.surfaces.fill.prior
    guided = [spoken(f.name) for f in found.study.factors if f.role is not None]
    lines = [
        f"Over half its range a setting changes fill by about {100 * prior.effect:.0f} percent, "
        "give or take a factor of two; interactions and curves by about a sixth of that.",
    ]
    if found.prior == WEAK:
        lines.append("The weak prior: no direction is expected of any setting (--prior weak).")
    elif guided:
        lines.append(
            f"The molding prior: more {listed(guided)} tends to fill and to flash more (one "
            "typical effect each, softly: about 5 % of the belief lies on the wrong side), and "
            "what fills more flashes more in about the same proportion. --prior weak turns both "
            "off."
        )
    said = ["Believed before any shot, and outweighed by shots:"]
    for line in lines:
        said += paragraph(line, 2, "- ")
    return said


def fit_lines(found: Findings) -> list[str]:
    """Return how far the draws behind all this can be trusted."""
    rows = [("", "independent draws", "tail of weights", "")]
    for surface in found.surfaces.each:
        told = surface.diagnostics
        verdict = "converged" if told.converged else "NOT CONVERGED: do not use"
        rows.append((surface.response, f"{told.effective:.0f}", f"{told.pareto_k:.2f}", verdict))
    rows.append(("needed", "100 or more", "below 0.70", "or no single one above 1 %"))
    return [f"Convergence (seed {found.seed})", *columns(rows)]


def together_words(found: Findings) -> str:
    """Return what could change if fill and flash of one shot hang together."""
    several = listed(["fill", "flash", *(["other rejects"] if found.surfaces.other else [])])
    said = f"{several.capitalize()} of one shot are taken to scatter apart from each other"
    if found.window is None or found.best is None:
        return f"{said}."
    told = find_together(found.readings, found.goodness, found.window, found.best)
    count = f"{told.shots or 'none'} of {len(found.readings.shot)} shots"
    low, stated, high = (
        "over 99.9 %" if share > 0.9995 else f"{100 * share:.1f} %"
        for share in (told.low, told.stated, told.high)
    )
    place = "setpoint" if found.setpoint is not None else "best mark"
    span = "stays at that" if low == high else f"is {low} to {high}"
    return (
        f"{said} at given settings ({count} could tell: those with a part that is measurably short "
        f"and with flash). So {stated} of all shots are good at the {place}; however they hang "
        f"together, it {span}, and nowhere tried does it change by more than "
        f"{ceil(1000 * told.anywhere) / 10:.1f} %."
    )
