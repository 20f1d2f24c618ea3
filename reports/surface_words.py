"""Surfaces of a study -> what `surfaces` prints: a sentence for each thing that a setting does."""

from collections.abc import Sequence

from shotwindow.models.surface import Surface
from shotwindow.reports.changes import (
    Change,
    Crossing,
    Interval,
    Joint,
    changes,
    crossing,
    joints,
)
from shotwindow.reports.findings import Findings
from shotwindow.reports.grading_words import grading_lines
from shotwindow.reports.naming import (
    chance,
    listed,
    no_alias_words,
    plural,
    spoken,
    unit_of,
    with_unit,
)
from shotwindow.reports.notes import notes
from shotwindow.reports.plain_fit import (
    PlainFit,
    plain_crossing,
    plain_effect,
    plain_fit,
    why_no_fit,
)
from shotwindow.reports.plan_aliases import alias_lines
from shotwindow.reports.slices import map_axes
from shotwindow.reports.textbook_shots import outlier_words
from shotwindow.reports.words import columns, paragraph

AGAINST = 0.5  # chance of the unexpected sign from which the shots speak against what was expected


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
    lines += ["", *fit_lines(found), "", "Keep in mind"]
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
        "fill": "Fill, turned up in the middle of the study (9 of 10 chance)",
        "flash": "Flash, counted from the limit of a good part (9 of 10 chance)",
        "other": f"Other rejects: {listed(found.readings.reasons)}",
    }[surface.response]
    lines = [head]
    for change in changes(found, surface):
        lines += paragraph(change_words(change), 2, "- ")
    for joint in joints(found, surface):
        lines += paragraph(joint_words(joint), 2, "- ")
    if surface.response != "other":
        lines += _plain_lines(found, surface)
    return lines


def change_words(change: Change) -> str:
    """Return what turning up one setting does, in a sentence."""
    factor = change.factor
    turned = f"{spoken(factor.name)} +{factor.text(change.delta)} {factor.unit}"
    words = f"{turned} {effect_words(change.response, change.unit, change.effect)}."
    if change.expected_up and change.downward > AGAINST:
        words += f" The shots speak against the usual direction ({chance(change.downward)})."
    return words


def effect_words(response: str, unit: str, effect: Interval) -> str:
    """Return an effect with its interval.

    Examples
    --------
    >>> from shotwindow.reports.changes import Interval
    >>> from shotwindow.reports.surface_words import effect_words
    >>> effect_words("fill", "percent", Interval(5.5, 4.0, 7.0))
    'adds 4 to 7 percent fill'
    >>> effect_words("flash", "mm", Interval(0.01, -0.01, 0.03))
    'may take or add: -0.01 to +0.03 mm flash'
    """
    low, high = effect.low, effect.high
    if unit == "share":
        over = "over the flash limit" if response == "flash" else "rejected"
        return (
            f"brings the share of shots {over} from 50 to {100 * effect.middle:.0f} % "
            f"({100 * low:.0f} to {100 * high:.0f})"
        )
    if low > 0:
        return f"adds {low:.2g} to {high:.2g} {unit} {response}"
    if high < 0:
        return f"takes {-high:.2g} to {-low:.2g} {unit} {response}"
    return f"may take or add: {low:+.2g} to {high:+.2g} {unit} {response}"


def joint_words(joint: Joint) -> str:
    """Return how the effect of one setting hangs on another, in a sentence."""
    factor, other = joint.factor, joint.other
    turned = f"{spoken(factor.name)} +{factor.text(joint.delta)} {factor.unit}"
    at_low = effect_words(joint.response, joint.unit, joint.at_low)
    at_high = effect_words(joint.response, joint.unit, joint.at_high)
    where = "near" if factor == other else f"at {spoken(other.name)}"
    return (
        f"{turned} {at_low} {where} {with_unit(other, other.low)}, and {at_high} {where} "
        f"{with_unit(other, other.high)}."
    )


def _plain_lines(found: Findings, surface: Surface) -> list[str]:
    """Return least squares beside ours, as a table, with what it says of itself."""
    plain = plain_fit(found, surface.response)
    if plain is None:
        return paragraph(why_no_fit(found, surface.response), 2)
    ours = changes(found, surface)
    unit = {"percent": "%", "share": "grades"}.get(ours[0].unit, ours[0].unit)
    heads = ("turned up by", "ours", f"least squares ({unit})")
    rows = [heads] + [
        (
            f"{spoken(c.factor.name)} +{c.factor.text(c.delta)} {c.factor.unit}",
            _range(c.effect) if c.unit != "share" else "see above",
            _range(plain_effect(found, plain, j)),
        )
        for j, c in enumerate(ours)
    ]
    doubtful = [line for words in outlier_words(found, plain) for line in paragraph(words, 4)]
    return [
        "  Beside least squares on the bare readings (all its tables: --textbook):",
        *columns(rows, 4),
        *_quality(plain),
        *doubtful,
    ]


def _range(interval: Interval | None) -> str:
    if interval is None:
        return "cannot be told"
    return f"{interval.low:+.2g} to {interval.high:+.2g}"


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
    """Return where both edges lie along the first factor of the map."""
    j = map_axes(found.study.factors)[0]
    factor = found.study.factors[j]
    rows = [("", "9 of 10 chance", "most likely", "least squares")]
    for surface in found.surfaces.each:
        plain = None if surface.response == "other" else plain_fit(found, surface.response)
        passed = None if plain is None else plain_crossing(found, plain, j)
        place = crossing(found, surface, j)
        name = {"fill": "full from", "flash": "flash over the limit from"}.get(
            surface.response, "rejects from"
        )
        least = "beyond" if passed is None else factor.text(_tenth(factor.step, passed))
        rows.append((name, _place_band(place), _place(place.middle, place), least))
    head = f"Edges along {spoken(factor.name)} ({unit_of(factor)}), all else in the middle"
    return [
        *paragraph(head),
        *columns(rows),
        *paragraph(
            "(where half of the shots pass; least squares takes 100 % as a reading like any "
            "other, so it sees fill stop there and mostly puts that edge too high)",
            2,
        ),
    ]


def _place_band(place: Crossing) -> str:
    if place.low is None and place.high is None and place.middle is None:
        return "beyond"
    return f"{_place(place.low, place)} to {_place(place.high, place)}"


def _place(value: float | None, place: Crossing) -> str:
    return "beyond" if value is None else place.factor.text(_tenth(place.factor.step, value))


def _tenth(step: float, value: float) -> float:
    return round(value / step, 1) * step


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
    if found.signs and guided:
        lines.append(
            f"More {listed(guided)} tends to fill and to flash more (one typical effect each, "
            "softly: about 5 % of the belief lies on the wrong side), and what fills more flashes "
            "more in about the same proportion. --any-direction turns both off."
        )
    elif not found.signs:
        lines.append("No direction is expected of any setting (--any-direction).")
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
