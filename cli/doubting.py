"""A shot's answers, beside its plan and the shots around it -> what should be asked before."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from shotwindow.doe.answers import full_masses, is_full, is_over_limit
from shotwindow.doe.cards import Card
from shotwindow.doe.columns import Layout
from shotwindow.doe.errors import Problem
from shotwindow.doe.guards import allowed_min
from shotwindow.doe.rows import Row, place_of
from shotwindow.doe.settings import column_in
from shotwindow.doe.study import Study

# A setting that is off by more marks, or by more than the gauge holds this many times, is rather
# another setting or a slip of typing. Common practice, no source.
_FAR = 3.0
_NEIGHBORS = 2


def actual_problems(
    study: Study, layout: Layout, row: Row
) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    """Return what is beyond the limits of the press, and what is far from the plan."""
    beyond, far = [], []
    planned_and_read = zip(study.factors, layout.actual, row.settings, row.actual, strict=True)
    for factor, heading, planned, read in planned_and_read:
        if read is None:
            continue
        place, found = place_of(row.shot, heading), f"{factor.text(read)} {factor.unit}"
        low, high = factor.limits
        if not low <= read <= high:
            expected = f"the limits of the press, {factor.text(low)} to {factor.text(high)}"
            do = "set it back; if the shot was made there, make it void (v)"
            beyond.append(Problem(place, found, expected, do))
        elif abs(read - planned) > _FAR * max(factor.holds, factor.step):
            expected = f"about {factor.text(planned)}, as planned"
            far.append(Problem(place, found, expected, "another setting, or a slip of typing?"))
    return tuple(beyond), tuple(far)


def contradictions(
    study: Study, layout: Layout, rows: Sequence[Row], row: Row
) -> tuple[Problem, ...]:
    """Return where a shot says the opposite of the two shots next to it that should agree.

    More pressure, heat or time fills and flashes more, as a rule: a short shot is odd where the
    two nearest shots at the same or lower settings were full.

    Parameters
    ----------
    study : Study
    layout : Layout
    rows : sequence of Row
        All shots.
    row : Row
        The shot in question, read.
    """
    others = [r for r in rows if r.is_fitted and r.shot != row.shot]
    lower, higher = _nearest(study, others, row, -1), _nearest(study, others, row, +1)
    found = []
    full, flashed = _is_full(study, layout, row), _is_flashed(study, row)
    if full is not None:
        around = lower if not full else higher
        seen = [_is_full(study, layout, r) for r in around]
        words = ("full", "short") if full else ("short", "full")
        found += _odd(row, around, seen, full, words, layout.fill[0])
    if flashed is not None:
        around = higher if flashed else lower
        seen = [_is_flashed(study, r) for r in around]
        words = ("flash over the limit", "none over it")
        found += _odd(
            row, around, seen, flashed, words if flashed else words[::-1], layout.flash[0]
        )
    return tuple(found)


def stood_question(study: Study, card: Card | None, rows: Sequence[Row], time: str) -> str:
    """Return what to do if the melt stood in the barrel longer than it bears; "" if not.

    Parameters
    ----------
    study : Study
    card : Card or None
    rows : sequence of Row
    time : str
        Now, as ISO 8601.
    """
    waits = [(_minutes(row.made_at, time), row) for row in rows if row.made_at]
    # A clock that was put back leaves shots in its future: those say nothing of the wait.
    past = [(minutes, row) for minutes, row in waits if minutes is not None and minutes >= 0]
    if card is None or not card.dwell or not past:
        return ""
    minutes, last = min(past, key=lambda wait: wait[0])
    melt = column_in(study, "melt_temperature", np.array([last.settings]), "degC")
    borne = allowed_min(card, -np.inf if melt is None else float(melt[0]))
    if minutes <= borne:
        return ""
    return (
        f"The last shot was {minutes:.0f} min ago, and {card.name} bears {borne:g} min in the"
        " barrel. Purge it before this shot"
    )


def _minutes(earlier: str, later: str) -> float | None:
    """Return the minutes between two times as text; None where somebody typed another text."""
    try:
        passed = datetime.fromisoformat(later) - datetime.fromisoformat(earlier)
    except (ValueError, TypeError):
        return None
    return passed.total_seconds() / 60


def _nearest(study: Study, others: Sequence[Row], row: Row, side: int) -> list[Row]:
    """Return the nearest shots that are nowhere on the other side, the same settings included."""
    if not others:
        return []
    away = np.array([other.settings for other in others]) - np.array(row.settings)
    known = np.array([factor.role is not None for factor in study.factors])
    # nobody knows which way a factor without a role acts, so it has to be the same
    fits = np.where(known, side * away >= 0, away == 0).all(axis=1)
    spans = np.array([factor.high - factor.low for factor in study.factors])
    distance = np.abs(away / spans).sum(axis=1)
    order = np.argsort(distance, kind="stable")
    return [others[i] for i in order if fits[i]][:_NEIGHBORS]


def _odd(
    row: Row,
    around: Sequence[Row],
    seen: Sequence[bool | None],
    value: bool,
    words: tuple[str, str],
    heading: str,
) -> list[Problem]:
    if len(seen) < _NEIGHBORS or any(other is None or other == value for other in seen):
        return []
    named = " and ".join(str(other.shot) for other in sorted(around, key=lambda r: r.shot))
    how = "lower" if (value is False) else "higher"
    expected = f"{words[1]}, as shots {named} at the same or {how} settings"
    do = "the right shot, and the settings as planned?"
    return [Problem(place_of(row.shot, heading), words[0], expected, do)]


def _is_full(study: Study, layout: Layout, row: Row) -> bool | None:
    """Return whether every cavity is full; None where that is not known."""
    if row.outcome == "no part":
        return False
    masses = full_masses(study, layout)
    full = [is_full(study, value, mass) for value, mass in zip(row.fill, masses, strict=True)]
    return None if None in full else all(full)


def _is_flashed(study: Study, row: Row) -> bool | None:
    if not any(value is not None for value in row.flash):
        return None
    return any(is_over_limit(study, value) for value in row.flash)
