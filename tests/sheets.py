"""Invented studies, plans and run sheets that several tests share."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from itertools import count
from pathlib import Path

from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.plans import Plan
from shotwindow.doe.runs import write_plan
from shotwindow.doe.session import Session
from shotwindow.doe.study import Study, parse_study

FACTORS = """
[factors.pressure]
unit = "bar"
low = 3.0
high = 5.0
step = 0.1
limits = [0.0, 7.0]
[factors.melt_temperature]
unit = "degC"
low = 205
high = 235
step = 1
limits = [190, 250]
soak_min = 15
soak_down_min = 25
"""
EYE = '[mold]\nname = "invented lid"\n' + FACTORS
MASS = (
    '[mold]\nname = "invented tags"\ncavities = 2\nfull_mass_g = [2.0, 4.0]\n'
    + FACTORS
    + '[fill]\nmeasured = "mass"\nbalance_step_g = 0.02\nfull_from = 98\n'
)
GRADES = EYE + '[flash]\nmeasured = "grade"\n'

#: Two warm-up shots and six that are fitted, in two temperature groups.
SETTINGS = [
    (3.0, 210.0),
    (3.0, 210.0),
    (3.0, 210.0),
    (4.0, 210.0),
    (4.5, 210.0),
    (3.5, 230.0),
    (4.5, 230.0),
    (5.0, 230.0),
]


def plan(settings: Iterable[tuple[float, ...]] = SETTINGS) -> Plan:
    shots = [
        PlannedShot(
            shot=shot,
            block="1",
            lot="",
            group=1 if at[1] < 220 else 2,
            kind="warm-up" if shot <= 2 else "optimal",
            settings=at,
        )
        for shot, at in enumerate(settings, start=1)
    ]
    return Plan("optimal", "quadratic", 1, tuple(shots))


def study_in(folder: Path, text: str = EYE) -> Study:
    """Write study.toml and a plan with nothing recorded."""
    (folder / "study.toml").write_text(text, encoding="utf-8")
    study = parse_study(text)
    write_plan(folder, study, plan())
    return study


def table(rows: Iterable[Mapping[str, str]], separator: str = ",") -> bytes:
    """CSV bytes of some rows, as a spreadsheet writes them."""
    listed = list(rows)
    names = list(dict.fromkeys(name for row in listed for name in row))
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, names, restval="", delimiter=separator, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(listed)
    return text.getvalue().encode()


def read(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode(), newline="")))


def edit(folder: Path, shot: int, cells: Mapping[str, str]) -> None:
    """Change cells of runs.csv as a spreadsheet would."""
    rows = read((folder / "runs.csv").read_bytes())
    for row in rows:
        if row["shot"] == str(shot):
            row |= cells
    (folder / "runs.csv").write_bytes(table(rows))


def ticking() -> Iterator[str]:
    """Times for the journal, a minute apart."""
    return (f"2025-03-01T{9 + n // 60:02d}:{n % 60:02d}:00+00:00" for n in count())


def record(session: Session, shots: Iterable[int], fill: str = "96", flash: str = "0") -> None:
    """Accept shots of a study by eye, warm-up shots as such."""
    for shot in shots:
        values = {} if shot <= 2 else {"fill (%)": fill, "flash (mm)": flash}
        session.accept(shot, values)
