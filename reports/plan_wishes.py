"""Options of `plan` -> what somebody wishes for, or all that cannot be in it, at once."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from functools import partial
from math import inf

from shotwindow.doe.errors import Problem, StudyError, guess
from shotwindow.doe.growth import WAYS
from shotwindow.doe.plans import PLANS, check_model, check_request
from shotwindow.doe.study import Study
from shotwindow.reports.naming import listed

#: What goes with each way to plan, besides the seed and the scatter of groups.
ALONE = {
    "days": ("kind", "shots", "model", "grow", "factor"),
    "grow": ("shots", "factor", "days"),
    "left": (),
    "compare": ("minutes", "rehearse"),
}


@dataclass(frozen=True)
class Wishes:
    """Options of `plan`; None or empty where not given.

    Attributes
    ----------
    seed : int
    kind : str or None
    shots : int or None
    minutes : float or None
    model : str or None
        What an optimal plan is to tell apart.
    group_scatter : float or None
        In place of the study's.
    days : tuple of str
        Such as "Monday=LOT-A".
    grow : str or None
        A way to grow the plan that is there.
    factor : str or None
        The one factor to fold.
    left : float or None
        Minutes that are left for the plan that is there.
    compare : bool
        Whether kinds are only to be set beside each other.
    rehearse : int or None
        On how many practice presses they are to be rehearsed.
    """

    seed: int = 1
    kind: str | None = None
    shots: int | None = None
    minutes: float | None = None
    model: str | None = None
    group_scatter: float | None = None
    days: tuple[str, ...] = ()
    grow: str | None = None
    factor: str | None = None
    left: float | None = None
    compare: bool = False
    rehearse: int | None = None


def named_days(days: Sequence[str]) -> list[tuple[str, str]]:
    """Return block and lot of each day.

    Raises
    ------
    StudyError
        If one has no name or lot, or two have the same name.

    Examples
    --------
    >>> from shotwindow.reports.plan_wishes import named_days
    >>> named_days(["Monday=LOT-A", "Tuesday=LOT-B"])
    [('Monday', 'LOT-A'), ('Tuesday', 'LOT-B')]
    """
    parted = [tuple(part.strip() for part in day.split("=", 1)) for day in days]
    problems = [
        Problem("plan --day", day, "a name and a lot, such as Monday=LOT-A")
        for day, parts in zip(days, parted, strict=True)
        if len(parts) < 2 or not all(parts)
    ]
    names = [parts[0] for parts in parted]
    if len(set(names)) < len(names):
        problems.append(Problem("plan --day", ", ".join(names), "days of different names"))
    if problems:
        raise StudyError(problems)
    return [(parts[0], parts[1]) for parts in parted]


def check_wishes(study: Study, wishes: Wishes) -> None:
    """Raise with all that cannot be in what is asked for.

    Raises
    ------
    StudyError
        With every such mistake.
    """
    kind = wishes.kind or "optimal"
    problems = [*_of_pairs(wishes), *_of_numbers(wishes), *_of_days(wishes)]
    for check in (
        partial(check_request, kind, wishes.shots, wishes.minutes),
        partial(check_model, study, kind if kind in PLANS else "optimal", wishes.model),
        partial(named_days, wishes.days),
    ):
        try:
            check()
        except StudyError as error:
            problems += error.problems
    if wishes.grow is not None and wishes.grow not in WAYS:
        meant = guess(wishes.grow, WAYS)
        do = f"did you mean {meant}?" if meant else ""
        problems.append(Problem("plan --grow", wishes.grow, f"one of {', '.join(WAYS)}", do))
    if problems:
        raise StudyError(problems)


def _of_pairs(wishes: Wishes) -> Iterator[Problem]:
    """Give a problem for each option that does not go with the way to plan that is asked for."""
    given = [
        field.name
        for field in fields(wishes)
        if field.name not in ("seed", "group_scatter")
        # 0 is given, too, though equal to False
        and not any(getattr(wishes, field.name) is nothing for nothing in (None, (), False))
    ]
    told: set[str] = set()
    for way, beside in ALONE.items():
        others = [name for name in given if name != way and name not in beside]
        if way not in given or told.issuperset(others):
            continue
        told |= {way, *others}
        takes = f"nothing beside it but {listed([_option(n) for n in beside], 'and')}"
        found = listed([_option(name) for name in others], "and")
        yield Problem(f"plan {_option(way)}", found, takes if beside else "nothing beside it")
    if wishes.rehearse is not None and not wishes.compare:
        yield Problem("plan --rehearse", f"{wishes.rehearse}", "it beside --compare alone")
    if wishes.factor is not None and wishes.grow != "fold":
        yield Problem("plan --factor", wishes.factor, "it beside --grow fold alone")


def _of_numbers(wishes: Wishes) -> Iterator[Problem]:
    if wishes.left is not None and not 0 < wishes.left < inf:
        yield Problem("plan --left", f"{wishes.left:.10g}", "more than 0")
    if wishes.group_scatter is not None and not 0 <= wishes.group_scatter <= 100:
        yield Problem("plan --group-scatter", f"{wishes.group_scatter:.10g}", "0 to 100")


def _of_days(wishes: Wishes) -> Iterator[Problem]:
    count = len(wishes.days)
    if wishes.grow is not None and count > 1:
        yield Problem("plan --grow", f"{count} days", "one, whose block it adds")
    if wishes.grow is None and count == 1:
        yield Problem("plan --day", wishes.days[0], "two or more days")


def _option(name: str) -> str:
    return "--day" if name == "days" else f"--{name.replace('_', '-')}"
