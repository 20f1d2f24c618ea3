"""Plans and what each found on practice presses -> what `rehearse` prints, and JSON."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shotwindow.doe.comparing import usual_plans
from shotwindow.doe.errors import StudyError
from shotwindow.doe.plans import Plan, make_plan
from shotwindow.doe.restrictions import Cost, cost
from shotwindow.doe.study import Study
from shotwindow.models.confirmation import wilson_limits
from shotwindow.models.rehearsals import Gain, Rehearsal, Summary, gain, summarize
from shotwindow.reports.documents import Document
from shotwindow.reports.naming import plural
from shotwindow.reports.planned import clock
from shotwindow.reports.words import columns, paragraph

#: Numbers of shots that are set beside a plan.
SIZES = (12, 16, 20, 28)
#: A shorter plan does as well when it is clear that it loses no more overlap than this.
LITTLE = 0.05
#: Minutes that a shorter plan has to save to be named.
WORTH_SAVING = 10.0


_GAIN = (
    "gain: of overlap over this plan, on average press by press; after +- stands one standard error"
)


@dataclass(frozen=True)
class Rehearsed:
    """One plan, its cost, and what it found; the gain is over the study's own plan."""

    name: str
    plan: Plan
    cost: Cost
    summary: Summary
    gain: Gain


def plans_beside(study: Study, own: Plan) -> dict[str, Plan]:
    """Return other numbers of shots and textbook plans, as far as they suit the study, by name.

    Raises
    ------
    StudyError
        If the study can have no plan at all.
    """
    plans: dict[str, Plan] = {}
    for shots in SIZES:
        try:
            plans[f"optimal, {shots} shots"] = make_plan(study, shots=shots, seed=own.seed)
        except StudyError:  # too few for the factors, or too many for the minutes
            continue
    for kind, plan in usual_plans(study, own.seed).items():
        plans[f"{kind}, {plural(len(plan.fitted()), 'shot')}"] = plan
    mine = sorted(shot.settings for shot in own.fitted())
    return {
        name: plan
        for name, plan in plans.items()
        if sorted(shot.settings for shot in plan.fitted()) != mine
    }


def rehearsed(
    study: Study, plans: Mapping[str, Plan], found: Mapping[str, Sequence[Rehearsal]]
) -> tuple[Rehearsed, ...]:
    """Return each plan with what it found; the first one is the study's own.

    Parameters
    ----------
    study : Study
    plans : mapping
        Name -> plan.
    found : mapping
        Name -> rehearsals, on the same presses in the same order for every plan.
    """
    own = found[next(iter(plans))]
    return tuple(
        Rehearsed(
            name=name,
            plan=plan,
            cost=cost(study, plan),
            summary=summarize(found[name], study.good_from),
            gain=gain(own, found[name]),
        )
        for name, plan in plans.items()
    )


def advice(study: Study, told: Sequence[Rehearsed]) -> str:
    """Return the most useful change to the first of the plans, in one sentence.

    It is the largest clear gain in overlap within the study's minutes; else the largest one beyond
    them; else the shortest plan that does as well.
    """
    own, *others = told
    better = [other for other in others if other.gain.is_clear]
    budget = study.time.budget_min
    fitting = [other for other in better if other.cost.minutes <= budget]
    if better:
        best = max(fitting or better, key=lambda other: other.gain.mean)
        beyond = (
            "" if fitting else f", {clock(best.cost.minutes - budget)} beyond the time there is"
        )
        return f"Most useful change: {_in_place(best, own)}{beyond}."
    saved = own.cost.minutes - WORTH_SAVING
    as_good = [o for o in others if o.cost.minutes <= saved and o.gain.is_no_loss(LITTLE)]
    if as_good:
        shortest = min(as_good, key=lambda other: other.cost.minutes)
        return f"Most useful change: {_in_place(shortest, own)}; the window is found as well."
    return (
        "No other plan tried here is clearly better on these presses; more rehearsals (--times) "
        "would tell smaller differences."
    )


def _in_place(other: Rehearsed, own: Rehearsed) -> str:
    more = other.cost.minutes - own.cost.minutes
    time = (
        f"{clock(abs(more))} {'more' if more > 0 else 'less'}" if round(more) else "the same time"
    )
    return (
        f"{other.name} in place of {own.name}, for a median overlap of {_median(other.summary)} in "
        f"place of {_median(own.summary)} and a setpoint that works on "
        f"{other.summary.works} in place of {own.summary.works} of {own.summary.presses} presses, "
        f"in {time}"
    )


def _median(summary: Summary) -> str:
    return "unknown" if summary.overlap is None else f"{summary.overlap[1]:.2f}"


def rehearsal_lines(study: Study, told: Sequence[Rehearsed]) -> list[str]:
    """Return what `rehearse` prints, for one plan or for several."""
    own = told[0]
    shots = plural(own.cost.shots, "shot")
    title = study.title or study.mold.name or "Study without a title"
    presses = plural(own.summary.presses, "practice press", "practice presses")
    lines = [*paragraph(f"{title}: {own.plan.kind} plan, {shots}, rehearsed on {presses}"), ""]
    lines += [*columns(_own_rows(own.summary)), ""]
    if len(told) > 1:
        lines += [*columns(_beside_rows(told)), *paragraph(_GAIN, 2), ""]
        lines += [*paragraph(advice(study, told)), ""]
    return lines + [line for note in _notes(own.summary) for line in paragraph(note, 2, "- ")]


def _own_rows(summary: Summary) -> list[tuple[str, str]]:
    counts = (
        ("presses with a setpoint that works", summary.works),
        ("an edge stays open", summary.open_edge),
        ("no setpoint though there is a window", summary.missed),
    )
    return [
        ("overlap with the true window, median", _median(summary)),
        ("  half of the presses lie between", _quartiles(summary)),
        *((name, _counted(count, summary.presses)) for name, count in counts),
    ]


def _counted(count: int, presses: int) -> str:
    low, high = wilson_limits(count, presses, confidence=0.90)
    return f"{count} of {presses} (chance {low:.2f} to {high:.2f})"


def _quartiles(summary: Summary) -> str:
    if summary.overlap is None:
        return "unknown"
    return f"{summary.overlap[0]:.2f} and {summary.overlap[2]:.2f}"


def _beside_rows(told: Sequence[Rehearsed]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [
        ("plan", "time", "overlap", "gain", "works", "open edge", "missed")
    ]
    for one in told:
        counts = (one.summary.works, one.summary.open_edge, one.summary.missed)
        gain = round(one.gain.mean, 2) + 0.0  # a small loss is not shown as -0.00
        change = "" if one is told[0] else f"{gain:+.2f} +- {one.gain.error:.2f}"
        name, time = one.name, f"{one.cost.minutes:.0f} min"
        rows.append((name, time, _median(one.summary), change, *map(str, counts)))
    return rows


def _notes(summary: Summary) -> list[str]:
    notes = [
        "Overlap: settings in both the window found and the true one, as a share of those in "
        "either.",
        "A setpoint works when its true share of good shots is the wanted one or more. Chances are "
        "90 % intervals.",
        "Practice presses are drawn so that both edges lie within the ranges as far as that can "
        "be: a rehearsal tells nothing about ranges that miss the window of your own mold.",
    ]
    if summary.with_window < summary.presses:
        none = summary.presses - summary.with_window
        notes.append(f"On {none} of the presses no setting looked at is good enough.")
    if summary.unanswered:
        notes.append(f"On {summary.unanswered} of the presses the fit gave no answer.")
    return notes


def rehearsal_document(
    study: Study, told: Sequence[Rehearsed], *, seed: int, prior: str
) -> Document:
    """Return the same as a document; `advice` is None where nothing was set beside the plan."""
    return {
        "title": study.title,
        "good_from": study.good_from,
        "seed": seed,
        "prior": prior,
        "plans": [_plan(one) for one in told],
        "advice": advice(study, told) if len(told) > 1 else None,
    }


def _plan(one: Rehearsed) -> Document:
    summary = one.summary
    low, median, high = summary.overlap or (None, None, None)
    return {
        "plan": one.name,
        "kind": one.plan.kind,
        "shots": one.cost.shots,
        "warm_up_shots": one.cost.warm_up_shots,
        "minutes": one.cost.minutes,
        "presses": summary.presses,
        "presses_with_window": summary.with_window,
        "overlap_lower_quartile": low,
        "overlap_median": median,
        "overlap_upper_quartile": high,
        "overlap_gain": one.gain.mean,
        "overlap_gain_error": one.gain.error,
        "setpoint_works": summary.works,
        "edge_open": summary.open_edge,
        "window_missed": summary.missed,
        "fit_failed": summary.unanswered,
    }
