"""Candidate plans for one press -> one table, the one to take, and JSON of both."""

from shotwindow.doe.comparing import Candidate, Comparison, MoreTime
from shotwindow.doe.study import Study
from shotwindow.reports.documents import Document
from shotwindow.reports.words import columns, paragraph


def comparison_lines(study: Study, comparison: Comparison) -> list[str]:
    """Return the candidates side by side and why one of them is recommended."""
    heads = ("plan", "shots", "groups", "set twice", "minutes", "terms", "freedom", "error")
    title = study.title or study.mold.name or "Study without a title"
    return [
        *paragraph(f"{title}: plans for the same press, {study.time.budget_min:.10g} min"),
        *columns([heads, *(_row(one) for one in comparison.candidates)]),
        *paragraph(
            "Terms: told apart of all up to squares. Freedom: degrees of freedom of groups "
            "+ shots. Error: expected error of prediction, in shot scatters.",
            2,
        ),
        "",
        *paragraph(comparison.why),
    ]


def _row(one: Candidate) -> tuple[str, ...]:
    _, rank, terms = one.judgement.ranks[-1]
    return (
        one.name,
        str(one.cost.shots),
        str(one.cost.groups),
        str(one.repeats),
        f"{one.cost.minutes:.0f}",
        f"{rank} of {terms}",
        f"{one.judgement.group_df} + {one.judgement.shot_df}",
        f"{one.error:.2f}",
    )


def comparison_document(study: Study, comparison: Comparison) -> Document:
    """Return what `plan --compare --json` prints."""
    return {
        "title": study.title,
        "recommended": comparison.best,
        "why": comparison.why,
        "candidates": [_candidate(one) for one in comparison.candidates],
    }


def _candidate(one: Candidate) -> Document:
    _, rank, terms = one.judgement.ranks[-1]
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
        "group_freedom": one.judgement.group_df,
        "shot_freedom": one.judgement.shot_df,
        "expected_error": one.error,
    }


def more_words(more: MoreTime) -> str:
    """Return in one sentence what half an hour more would buy."""
    extra = f"Half an hour more ({more.later.name} in place of {more.now.name})"
    if not more.gains:
        return f"{extra} would not predict better."
    return f"{extra} would buy {'; '.join(more.gains)}."
