"""How the cavities of a mold lie: rows of their numbers, from the top as seen from the nozzle."""

from collections.abc import Sequence

MOST_IN_ROW = 8  # cavities side by side where nobody told how they lie


def side_by_side(cavities: int) -> tuple[tuple[int, ...], ...]:
    """Return the rows in which cavities are shown where nobody told how they lie.

    Examples
    --------
    >>> from shotwindow.doe.arrangement import side_by_side
    >>> side_by_side(10)
    ((1, 2, 3, 4, 5, 6, 7, 8), (9, 10))
    """
    numbers = tuple(range(1, cavities + 1))
    return tuple(numbers[k : k + MOST_IN_ROW] for k in range(0, cavities, MOST_IN_ROW))


def numbers_told(rows: Sequence[Sequence[int]]) -> list[int]:
    """Return the cavities that rows hold, in order; 0 is where none lies.

    Examples
    --------
    >>> from shotwindow.doe.arrangement import numbers_told
    >>> numbers_told([[3, 0], [1, 2]])
    [1, 2, 3]
    """
    return sorted(number for row in rows for number in row if number != 0)


def what_is_right(cavities: int) -> str:
    """Return what rows should hold, to be told where they do not."""
    return f"each of the numbers 1 to {cavities} once, in rows, and 0 where no cavity is"
