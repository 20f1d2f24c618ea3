"""A shot with heavy flash -> the planned shots that must not be made unless someone decides so.

Flash that blows the mold open has sharp edges and widens the gap with every shot. More pressure,
heat or time can only add to it, so shots at least as high in every factor wait for a decision.
"""

from collections.abc import Collection, Sequence

from shotwindow.doe.answers import is_heavy
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study


def has_heavy_flash(study: Study, row: Row) -> bool:
    """Return whether any reading of a shot is heavy flash: grade 3, or five times the limit."""
    return any(is_heavy(study, value) for value in row.flash)


def shots_to_skip(study: Study, rows: Sequence[Row], flashed: Collection[int]) -> dict[int, int]:
    """Return the open shots that come after a heavily flashed one and are nowhere lower than it.

    Parameters
    ----------
    study : Study
    rows : sequence of Row
        In running order.
    flashed : collection of int
        Shots to look at; those without heavy flash are passed over.

    Returns
    -------
    dict of int to int
        By shot to be skipped, the shot with heavy flash.
    """
    hot = [row for row in rows if row.shot in flashed and has_heavy_flash(study, row)]
    found: dict[int, int] = {}
    for row in rows:
        for worst in hot:
            later = row.shot > worst.shot and row.outcome == "open"
            pairs = zip(row.settings, worst.settings, strict=True)
            if later and all(planned >= seen for planned, seen in pairs):
                found.setdefault(row.shot, worst.shot)
    return found
