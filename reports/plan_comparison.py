"""Candidate plans for one press -> one table, what each tells apart and which to take; JSON."""

from collections.abc import Mapping

from shotwindow.doe.comparing import Candidate, Comparison, MoreTime
from shotwindow.doe.study import Study
from shotwindow.models.rehearsals import Summary
from shotwindow.reports.documents import Document
from shotwindow.reports.naming import listed, plural, spoken
from shotwindow.reports.words import columns, paragraph

#: Name of a candidate -> what it found on practice presses; empty where nothing was rehearsed.
Rehearsed = Mapping[str, Summary]


def comparison_lines(
    study: Study, comparison: Comparison, found: Rehearsed | None = None
) -> list[str]:
    """Return the candidates side by side and why one of them is recommended."""
    heads = ["plan", "shots", "groups", "minutes", "terms", "error"]
    title = study.title or study.mold.name or "Study without a title"
    rows = [[*_row(one), *_overlap(one.name, found)] for one in comparison.candidates]
    return [
        *paragraph(f"{title}: plans for the same press, {study.time.budget_min:.10g} min"),
        *columns([heads + (["overlap"] if found else []), *rows]),
        *paragraph(
            "Terms: told apart of all up to squares. Error: expected error of prediction, in shot "
            "scatters (one is how much shots at one setting differ, their standard deviation)."
            f"{_presses(found)}",
            2,
        ),
        "",
        "What can each tell apart?",
        *(
            line
            for one in comparison.candidates
            for line in paragraph(f"{one.name}: {told_apart(study, one)}", 2, "- ")
        ),
        "",
        *paragraph(comparison.why),
    ]


def _row(one: Candidate) -> list[str]:
    _, rank, terms = one.judgement.ranks[-1]
    return [
        one.name,
        str(one.cost.shots),
        str(one.cost.groups),
        f"{one.cost.minutes:.0f}",
        f"{rank} of {terms}",
        f"{one.error:.2f}",
    ]


def _overlap(name: str, found: Rehearsed | None) -> list[str]:
    if not found:
        return []
    overlap = found[name].overlap
    return ["unknown" if overlap is None else f"{overlap[1]:.2f}"]


def _presses(found: Rehearsed | None) -> str:
    if not found:
        return ""
    presses = plural(next(iter(found.values())).presses, "practice press", "practice presses")
    return (
        f" Overlap: of the window found with the true one, median of {presses}, the same for all "
        "plans; few presses tell large differences only."
    )


def told_apart(study: Study, one: Candidate) -> str:
    """Return in words which effects a plan tells apart, and which scatter it measures.

    Examples
    --------
    >>> from shotwindow.doe.comparing import candidate
    >>> from shotwindow.doe.plans import make_plan
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.reports.plan_comparison import told_apart
    >>> table = "[factors.{}]{n}unit = '{}'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> names = (("pressure", "bar"), ("melt_temperature", "degC"), ("injection_time", "s"))
    >>> study = parse_study("".join(table.format(*name, n=chr(10)) for name in names))
    >>> told_apart(study, candidate(study, "fraction", make_plan(study, kind="fraction", shots=6)))
    'main effects, which hide behind interactions of two; scatter of shots (2 to spare)'
    """
    judgement = one.judgement
    spare = []
    if judgement.group_df:
        spare.append(f"groups ({judgement.group_df} to spare)")
    if judgement.shot_df:
        spare.append(f"shots ({judgement.shot_df} to spare)")
    scatter = f"scatter of {' and '.join(spare)}" if spare else "no scatter"
    return f"{_effects(study, one)}; {scatter}"


def _effects(study: Study, one: Candidate) -> str:
    full = {name: rank == terms for name, rank, terms in one.judgement.ranks}
    if full["quadratic"]:
        return "all effects, interactions of two and curves"
    if full["interactions"]:
        return "all effects and interactions of two; not which setting curves"
    if full["first-order"]:
        resolution = one.judgement.resolution
        if resolution is not None and resolution < 4:
            return "main effects, which hide behind interactions of two"
        if resolution is not None and one.plan.model == "first-order":
            return "main effects; interactions of two hide behind each other"
        return "main effects; not all interactions of two and curves"
    seen = {effect.name for effect in one.judgement.effects}
    alone = listed([spoken(name) for name in study.names if name in seen], "and")
    return f"effects of {alone} alone" if seen else "no effect"


def comparison_document(
    study: Study, comparison: Comparison, found: Rehearsed | None = None
) -> Document:
    """Return what `plan --compare --json` prints."""
    return {
        "title": study.title,
        "recommended": comparison.best,
        "why": comparison.why,
        "candidates": [_candidate(study, one, found) for one in comparison.candidates],
    }


def _candidate(study: Study, one: Candidate, found: Rehearsed | None) -> Document:
    _, rank, terms = one.judgement.ranks[-1]
    summary = found[one.name] if found else None
    return {
        "kind": one.name,
        "model": one.plan.model,
        "shots": one.cost.shots,
        "warm_up_shots": one.cost.warm_up_shots,
        "groups": one.cost.groups,
        "repeated_groups": one.repeats,
        "minutes": one.cost.minutes,
        "terms": terms,
        "rank": rank,
        "tells_apart": told_apart(study, one),
        "group_freedom": one.judgement.group_df,
        "shot_freedom": one.judgement.shot_df,
        "expected_error": one.error,
        "overlap_median": summary.overlap[1] if summary and summary.overlap else None,
        "practice_presses": summary.presses if summary else None,
    }


def more_words(more: MoreTime) -> str:
    """Return in one sentence what half an hour more would buy."""
    extra = f"Half an hour more ({more.later.name} in place of {more.now.name})"
    if not more.gains:
        return f"{extra} would not predict better."
    return f"{extra} would buy {'; '.join(more.gains)}."
