"""Readings that leave a question open: `surfaces` and `window` say which, and never break down."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from invented_shots import STUDIES, planned, recorded, study

from shotwindow.cli.main import run
from shotwindow.doe.columns import standard_layout
from shotwindow.doe.rows import Row, row_cells
from shotwindow.doe.runs import write_plan
from shotwindow.doe.session import open_session

Change = Callable[[list[Row]], list[Row]]


def _folder(folder: Path, name: str, change: Change) -> str:
    """Return a folder with an invented study whose shots were changed, recorded."""
    made, layout = study(name), standard_layout(study(name))
    (folder / "study.toml").write_text(STUDIES[name][0])
    write_plan(folder, made, planned(name))
    shots = iter(change([row for row in recorded(name) if row.kind != "warm-up"]))
    lines = [",".join(layout.names)]
    for row in recorded(name):
        cells = row_cells(made, layout, row if row.kind == "warm-up" else next(shots))
        lines.append(",".join(f'"{cells[heading]}"' for heading in layout.names))
    with open_session(folder, made) as session:
        session.take_table("results.csv", "\n".join(lines).encode(), keep_hot=True)
    return str(folder)


def _each(change: Callable[[Row], Row]) -> Change:
    return lambda rows: [change(row) for row in rows]


def _first(count: int) -> Change:
    """Make only the first shots, and skip all others."""
    return lambda rows: [
        row if i < count else replace(row, fill=(None,), flash=(None,), status="skipped")
        for i, row in enumerate(rows)
    ]


def _one(place: int, fill: float, flash: float | None = None) -> Change:
    return lambda rows: [
        replace(row, fill=(fill,), flash=row.flash if flash is None else (flash,))
        if i == place
        else row
        for i, row in enumerate(rows)
    ]


def _short(row: Row) -> Row:
    fill = row.fill[0]
    assert isinstance(fill, float)
    return replace(row, fill=(0.85 * fill // 2 * 2,), flash=(0.0,))


def _never_good(row: Row) -> Row:
    fill, flash = row.fill[0], row.flash[0]
    assert isinstance(fill, float) and isinstance(flash, float)
    return replace(row, fill=(min(fill, 96.0),), flash=(round(flash + 0.12, 2),))


# name: study, change, exit code of `window`, what `window` says, what `surfaces` says
CASES: dict[str, tuple[str, Change, int, str, str]] = {
    "all good": (
        "avoid", _each(lambda row: replace(row, fill=(100.0,), flash=(0.0,))), 0,
        "no edge was seen", "every shot reads 100%",
    ),
    "none good": (
        "avoid", _each(_never_good), 3, "None of the 16 shots was good",
        "no reading of flash is clipped",
    ),
    "only shorts": (
        "avoid", _each(_short), 3, "What fails there is short", "every shot reads 0 mm",
    ),
    "only flash": (
        "avoid", _each(lambda row: replace(row, fill=(100.0,), flash=(0.3,))), 3,
        "What fails there is flash", "every shot reads 0.3 mm",
    ),
    "all fill 100": (
        "avoid", _each(lambda row: replace(row, fill=(100.0,))), 0, "No shot was short",
        "16 of 16 shots are full",
    ),
    "grade skipped": (
        "graded",
        _each(lambda row: replace(row, flash=(3 if row.flash[0] == 1 else row.flash[0],))), 3,
        "What fails there is flash", "flash was graded",
    ),
    "one cavity": ("dial", list, 0, "Run at pressure", "Nothing was left out"),
    "one group": (
        "map", _first(4), 3, "Group scatter assumed, not measured",
        "melt temperature was never changed",
    ),
    "a reading disagrees wildly": (
        "avoid", _one(9, 10.0), 0, "shot 11, fill too low (chance of a slip over 0.99)",
        "Shot 11 disagrees with all others: 10 % where they foretell 97",
    ),
    "short and flashed": (
        "avoid", _one(14, 60.0, 0.5), 0, "shot 16, fill too low (chance of a slip over 0.99)",
        "Shot 16 disagrees",
    ),
    "two shots": (
        "avoid", _first(2), 3, "No setting reaches 0.9", "Too few shots for least squares",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_surfaces_and_window__degenerate_data__answered_in_words(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name, change, code, in_window, in_surfaces = CASES[case]
    folder = _folder(tmp_path, name, change)
    assert run(["surfaces", folder, "--textbook"]) == 0
    tables = capsys.readouterr().out
    assert run(["window", folder, "--no-pictures"]) == code
    told = capsys.readouterr().out
    for text, words in ((tables, in_surfaces), (told, in_window)):
        lines = text.splitlines()
        assert max(map(len, lines)) <= 80
        assert not {"nan", "inf", "-inf"} & set(text.split())
        assert words in " ".join(text.split())
