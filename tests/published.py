"""Published data sets in reference/ that several tests read, and coding of their settings."""

import csv
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
REFERENCE = Path(__file__).parent / "reference"


def assert_close(found: Any, expected: Any, *, rtol: float = 1e-7, atol: float = 0.0) -> None:
    """Compare numbers that may be absent, which never equals a number."""
    np.testing.assert_allclose(found, expected, rtol=rtol, atol=atol)


def words(name: str) -> dict[str, list[str]]:
    """Columns of the table reference/<name>.csv as text."""
    with (REFERENCE / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {column: [row[column] for row in rows] for column in rows[0]}


def numbers(name: str, *columns: str) -> Array:
    """Columns of the table as numbers, (n, columns); signs alone stand for ones."""
    table = words(name)
    signs = {"+": 1.0, "-": -1.0}
    return np.array(
        [[float(signs.get(cell, cell)) for cell in table[column]] for column in columns]
    ).T


def numbered(cells: list[str]) -> NDArray[np.int_]:
    """Number the words of a column in the order in which they first appear."""
    known = list(dict.fromkeys(cells))
    return np.array([known.index(cell) for cell in cells])


def sum_coded(cells: list[str]) -> Array:
    """Columns, one fewer than words, that add up to zero over the words."""
    place = numbered(cells)
    levels = np.vstack([np.eye(place.max()), -np.ones(place.max())])
    coded: Array = levels[place]
    return coded


def crossed(one: Array, other: Array) -> Array:
    """All products of a column of one with a column of the other."""
    products: Array = np.einsum("ni,nj->nij", one, other).reshape(len(one), -1)
    return products


def montgomery_yield(alpha: float) -> Array:
    """Coded time and temperature of Montgomery's central composite, Table 11.6, (13, 2)."""
    settings = (numbers("montgomery/table_11_6", "Time", "Temperature") - [85.0, 175.0]) / 5.0
    return np.where(np.abs(settings) > 1.2, np.sign(settings) * alpha, settings)
