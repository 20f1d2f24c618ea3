"""What somebody asks of `plan` -> the plan, new or grown, with everything that is told of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from shotwindow.doe.blocks import plan_blocks
from shotwindow.doe.comparing import Comparison, compare, more_time, usual_plans
from shotwindow.doe.errors import StudyError, guess
from shotwindow.doe.growth import WAYS, grow, without
from shotwindow.doe.judging import judge
from shotwindow.doe.ladders import Bracket
from shotwindow.doe.plan_file import PLAN_FILE
from shotwindow.doe.plans import Plan, check_request, make_plan
from shotwindow.doe.rows import WARM_UP
from shotwindow.doe.runs import read_plan, read_runs
from shotwindow.doe.study import Study
from shotwindow.reports.plan_ladder import ladder_bracket
from shotwindow.reports.planned import Told, tell

#: What goes with each way to plan, besides the seed.
ALONE = {"days": ("shots",), "grow": ("shots", "factor"), "compare": ("minutes", "rehearse")}


@dataclass(frozen=True)
class Wishes:
    """Options of `plan`; None or empty where not given.

    Attributes
    ----------
    seed : int
    kind : str or None
    shots : int or None
    minutes : float or None
    days : tuple of str
        Such as "Monday=LOT-A".
    grow : str or None
        A way to grow the plan that is there.
    factor : str or None
        The one factor to fold.
    compare : bool
        Whether kinds are only to be set beside each other.
    rehearse : int or None
        On how many practice presses they are to be rehearsed.
    """

    seed: int = 1
    kind: str | None = None
    shots: int | None = None
    minutes: float | None = None
    days: tuple[str, ...] = ()
    grow: str | None = None
    factor: str | None = None
    compare: bool = False
    rehearse: int | None = None


def planned_as_wished(folder: Path, study: Study, wishes: Wishes) -> Told:
    """Return the plan that is wished for; nothing is written.

    Raises
    ------
    StudyError
        If wishes do not go together, or there is no such plan.
    """
    _check_together(wishes)
    if wishes.grow is not None:
        return _grown(folder, study, wishes)
    more = None
    if wishes.minutes is not None and wishes.shots is None and wishes.kind in (None, "optimal"):
        check_request("optimal", None, wishes.minutes)
        more = more_time(study, wishes.minutes, seed=wishes.seed)
        plan = more.now.plan
    else:
        plan = _new(study, wishes)
    told = tell(in_minutes(study, wishes.minutes), plan, folder)
    return replace(told, more=more, ladder=_ladder(folder, study))


def compared_as_wished(study: Study, wishes: Wishes) -> Comparison:
    """Return kinds of plans side by side, in the minutes wished for or the study's own.

    Raises
    ------
    StudyError
        If wishes do not go together, or the study can have no plan at all.
    """
    _check_together(wishes)
    return compare(study, usual_plans(study, wishes.seed, wishes.minutes))


def in_minutes(study: Study, minutes: float | None) -> Study:
    """Return a study with another budget, for comparing what fits into it."""
    if minutes is None:
        return study
    check_request("optimal", None, minutes)
    return replace(study, time=replace(study.time, budget_min=minutes))


def named_days(days: Sequence[str]) -> list[tuple[str, str]]:
    """Return block and lot of each day.

    Raises
    ------
    StudyError
        If there is but one, one has no name or lot, or two have the same name.

    Examples
    --------
    >>> from shotwindow.reports.plan_wishes import named_days
    >>> named_days(["Monday=LOT-A", "Tuesday=LOT-B"])
    [('Monday', 'LOT-A'), ('Tuesday', 'LOT-B')]
    """
    parted = [tuple(part.strip() for part in day.split("=", 1)) for day in days]
    for day, parts in zip(days, parted, strict=True):
        if len(parts) < 2 or not all(parts):
            raise StudyError.one("plan --day", day, "a name and a lot, such as Monday=LOT-A")
    names = [parts[0] for parts in parted]
    if len(names) < 2 or len(set(names)) < len(names):
        raise StudyError.one("plan --day", ", ".join(names), "two or more days of different names")
    return [(parts[0], parts[1]) for parts in parted]


def _check_together(wishes: Wishes) -> None:
    """Raise where one way to plan is asked for together with what another one takes."""
    options = ("kind", "shots", "minutes", "days", "grow", "factor", "compare", "rehearse")
    given = [name for name in options if getattr(wishes, name) not in (None, (), False)]
    for way, beside in ALONE.items():
        if way not in given:
            continue
        for other in given:
            if other != way and other not in beside:
                takes = " and ".join(f"--{name}" for name in beside)
                raise StudyError.one(
                    f"plan {_option(way)}", _option(other), f"nothing beside it but {takes}"
                )
    if wishes.rehearse is not None and not wishes.compare:
        raise StudyError.one("plan --rehearse", f"{wishes.rehearse}", "it beside --compare alone")
    if wishes.factor is not None and wishes.grow != "fold":
        raise StudyError.one("plan --factor", wishes.factor, "it beside --grow fold alone")


def _option(name: str) -> str:
    return "--day" if name == "days" else f"--{name}"


def _new(study: Study, wishes: Wishes) -> Plan:
    if wishes.days:
        check_request("optimal", wishes.shots, None)
        return plan_blocks(study, named_days(wishes.days), shots=wishes.shots, seed=wishes.seed)
    return make_plan(
        study,
        kind=wishes.kind or "optimal",
        shots=wishes.shots,
        minutes=wishes.minutes,
        seed=wishes.seed,
    )


def _grown(folder: Path, study: Study, wishes: Wishes) -> Told:
    """Return the plan that is there with a block more; void and skipped shots count as not made."""
    if wishes.grow not in WAYS:
        meant = guess(str(wishes.grow), WAYS)
        do = f"did you mean {meant}?" if meant else ""
        raise StudyError.one("plan --grow", str(wishes.grow), f"one of {', '.join(WAYS)}", do)
    before = read_plan(folder)
    check_request("optimal", wishes.shots, None)
    lost = [
        row.shot
        for row in read_runs(folder, study)
        if row.kind != WARM_UP and row.outcome != "open" and not row.is_fitted
    ]
    plan = grow(study, before, wishes.grow, shots=wishes.shots, factor=wishes.factor, lost=lost)
    told = tell(study, plan, folder)
    return replace(told, before=before, judgement=judge(study, without(plan, lost)))


def _ladder(folder: Path, study: Study) -> Bracket | None:
    """Return what a ladder recorded in the folder brackets."""
    if not (folder / PLAN_FILE).exists():
        return None
    try:
        return ladder_bracket(study, read_runs(folder, study))
    except StudyError:  # rows of another study.toml, or in disorder: said when the plan is written
        return None
