"""Invented studies with invented shots, for tests of what is said and drawn of them.

No press made these shots, and no test takes them for right: they only give every output something
to show. Fill and flash rise along straight lines of the coded settings, with a little scatter.
"""

from dataclasses import replace
from functools import lru_cache
from itertools import product

import numpy as np

from shotwindow.doe.cautions import CAUTIONS
from shotwindow.doe.plans import Plan, PlannedShot
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study, parse_study
from shotwindow.models.surface import Surface
from shotwindow.reports.findings import Findings, find
from shotwindow.reports.page import report_html

PRESSURE = '[factors.pressure]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.1\nlimits = [0, 7]\n'
MELT = (
    '[factors.melt_temperature]\nunit = "degC"\nlow = 205\nhigh = 235\nstep = 1\n'
    "limits = [190, 250]\nsoak_min = 15\nsoak_down_min = 25\n"
)
TIME = '[factors.injection_time]\nunit = "s"\nlow = 4\nhigh = 10\nstep = 0.5\nlimits = [1, 20]\n'
PSI = '[factors.pressure]\nunit = "psi"\nlow = 50\nhigh = 75\nstep = {}\nlimits = [0, 120]\n'

#: Coarser marks, so that there are fewer to look at.
COARSE = MELT.replace("step = 1", "step = 3") + TIME.replace("step = 0.5", "step = 1")

#: Name -> text of study.toml, what is added to fill (logarithm) and to flash (root of mm), and
#: which lines of the shots are as follows: levels of each factor, how often each is shot.
STUDIES: dict[str, tuple[str, float, float, int, int]] = {
    "map": ('title = "Invented clip"\npress.area_ratio = 12.0\n' + PRESSURE + MELT, 0, 0, 4, 1),
    "cube": ('title = "Invented box"\nmold.cavities = 2\n' + PRESSURE + COARSE, 0, 0, 3, 1),
    "dial": ('title = "Invented cap"\n' + PSI.format(1), 0, 0, 6, 2),
    "coarse": (PSI.format(5), -0.03, 0.05, 6, 4),
    "between": (PSI.format(5), -0.002, 0.092, 6, 6),
    "full": (PRESSURE, 0.5, -0.3, 5, 2),
    "short": (PRESSURE, -0.4, 0, 5, 2),
    "graded": (PRESSURE + TIME + '[flash]\nmeasured = "grade"\n', 0, 0, 4, 1),
    "strict": (
        "good_from = 0.999\n" + PRESSURE + TIME + '[flash]\nmeasured = "grade"\n',
        0,
        0,
        4,
        1,
    ),
    "sink": (PRESSURE + TIME, 0, 0, 4, 1),
    "avoid": (
        PRESSURE + TIME + '[[avoid]]\npressure = ">= 4.5"\ninjection_time = "> 8"',
        0,
        0,
        4,
        1,
    ),
}


def study(name: str) -> Study:
    """Return one of the studies above."""
    return parse_study(STUDIES[name][0])


def planned(name: str) -> Plan:
    """Return a plan of all combinations of levels; one group for each slow setting."""
    made, (_, _, _, levels, times) = study(name), STUDIES[name]
    marks = [
        f.marks[np.linspace(0, f.count - 1, min(levels, f.count)).astype(int)] for f in made.factors
    ]
    settings = [s for s in product(*reversed(marks)) for _ in range(times)]
    slow = [j for j, f in enumerate(made.factors) if f.is_slow]
    shots: list[PlannedShot] = []
    for row in settings:
        values = tuple(float(v) for v in reversed(row))
        before = shots[-1] if shots else None
        moved = before is not None and any(before.settings[j] != values[j] for j in slow)
        group = 1 if before is None else before.group + moved
        if moved or before is None:
            shots.append(PlannedShot(len(shots) + 1, "1", "L1", group, "warm-up", values))
        shots.append(PlannedShot(len(shots) + 1, "1", "L1", group, "factorial", values))
    return Plan("factorial", "first-order", 1, tuple(shots))


def recorded(name: str) -> tuple[Row, ...]:
    """Return the rows of a plan with their invented readings."""
    made, (_, more_fill, more_flash, _, _) = study(name), STUDIES[name]
    rng = np.random.default_rng(5)
    return tuple(
        _row(made, shot, (more_fill, more_flash), name == "sink", rng)
        for shot in planned(name).shots
    )


def _row(
    made: Study, shot: PlannedShot, more: tuple[float, float], sinks: bool, rng: np.random.Generator
) -> Row:
    nothing = (None,) * len(made.factors)
    if shot.kind == "warm-up":
        return Row(
            shot.shot, "1", "L1", shot.group, "warm-up", shot.settings, nothing,
            (None,) * made.cavities, (None,), status="ok",
        )  # fmt: skip
    coded = [float(f.coded(v)) for f, v in zip(made.factors, shot.settings, strict=True)]
    pull = sum(x / (1 + j) for j, x in enumerate(coded))
    level = 0.03 + 0.14 * pull + more[0] + 0.006 * rng.standard_normal()
    fill = [min(100.0, 2.0 * round(50 * np.exp(level - 0.02 * c))) for c in range(made.cavities)]
    root = max(0.0, 0.2 + 0.12 * pull + more[1] + 0.008 * rng.standard_normal())
    width = round(root**2 / 0.02) * 0.02
    flash = int(np.digitize(width, [0.02, 0.11, 0.2])) if made.flash.measured == "grade" else width
    other = "sink" if sinks and pull < -0.4 + 0.3 * rng.standard_normal() else ""
    return Row(
        shot.shot, "1", "L1", shot.group, shot.kind, shot.settings, nothing, tuple(fill),
        (flash,), other=other,
    )  # fmt: skip


@lru_cache
def findings(name: str) -> Findings:
    """Return what is found in one of the studies; the fit is made once for all tests."""
    return find(study(name), recorded(name), mark="f" * 64)


@lru_cache
def report_page(name: str) -> str:
    """Return the report of one of the studies; it is made once for all tests."""
    return report_html(findings(name), planned(name), CAUTIONS)


def flat(surface: Surface, **terms: float) -> Surface:
    """Return a surface whose draws all have these coefficients, and no offset.

    A term is named as in the surface, with "__" for " x " and "one" for the constant.
    """
    names = dict(zip(surface.terms.names, range(len(surface.terms)), strict=True))
    row = np.zeros(len(surface.terms))
    for name, value in terms.items():
        row[names[name.replace("__", " x ").replace("one", "1")]] = value
    draws = len(surface.coefficients)
    return replace(
        surface,
        coefficients=np.tile(row, (draws, 1)),
        cavity=np.zeros_like(surface.cavity),
        lot=np.zeros_like(surface.lot),
    )


@lru_cache
def mirrored(name: str) -> Findings:
    """Return what is found where the first setting was written down the wrong way round."""
    made = study(name)
    ends = made.factors[0].low + made.factors[0].high
    rows = (replace(r, settings=(ends - r.settings[0], *r.settings[1:])) for r in recorded(name))
    return find(made, tuple(rows), mark="f" * 64)
