"""Each kind of plan on its whole way, as it is typed: planned, shot, fitted, grown, fitted again.

The shots come from a simulated press, whose numbers are invented and checked for nothing here but
that they arrive: no row is lost or changed, every shot is fitted, and pressure fills and flashes.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from shotwindow.cli.main import run
from shotwindow.doe.plans import PLANS

# Eight steps from low to high: few marks, so that windows of five factors are quick to look for.
FACTORS = {
    "pressure": 'unit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.25\nlimits = [1.0, 7.0]',
    "melt_temperature": 'unit = "degC"\nlow = 204\nhigh = 236\nstep = 4\nlimits = [180, 260]\n'
    "soak_min = 15\nsoak_down_min = 25",
    "injection_time": 'unit = "s"\nlow = 4.0\nhigh = 8.0\nstep = 0.5\nlimits = [2.0, 20.0]',
    "cooling_time": 'unit = "s"\nlow = 10\nhigh = 26\nstep = 2\nlimits = [1, 60]',
    "screw_speed": 'unit = "rpm"\nlow = 50\nhigh = 90\nstep = 5\nlimits = [10, 150]',
}
#: Kind -> factors, shots asked for, model of the plan, ways it is grown in, one upon the other.
WAYS: dict[str, tuple[int, int, str, tuple[str, ...]]] = {
    "ladder": (2, 8, "first-order", ("optimal",)),
    "factorial": (2, 6, "interactions", ("axial-orthogonal", "center")),
    "fraction": (3, 6, "first-order", ("fold", "axial")),
    "composite": (2, 10, "quadratic", ("replicate",)),
    "composite-inscribed": (2, 10, "quadratic", ("center",)),
    "composite-rotatable": (2, 10, "quadratic", ("center",)),
    "box-behnken": (3, 14, "quadratic", ("optimal",)),
    "screening": (5, 14, "first-order", ("optimal",)),
    "plackett-burman": (5, 8, "first-order", ("fold",)),
    "definitive": (5, 14, "first-order", ("optimal",)),
    "optimal": (2, 9, "quadratic", ("replicate", "optimal")),
    "d-optimal": (2, 8, "quadratic", ("center",)),
}


def test_kinds__every_one__has_its_way() -> None:
    assert set(WAYS) == set(PLANS)


@pytest.mark.parametrize("kind", WAYS)
def test_kind__planned_recorded_fitted_and_grown__no_shot_lost(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    count, shots, model, grown = WAYS[kind]
    (tmp_path / "study.toml").write_text(_study(count))
    planned = _json(capsys, "plan", tmp_path, "--kind", kind, "--shots", str(shots))
    assert (planned["kind"], planned["shots"]) == (kind, shots)
    assert planned["model"] == model
    _shot_and_fitted(capsys, tmp_path, planned)
    for block, way in enumerate(grown, start=2):
        before = (tmp_path / "runs.csv").read_text(encoding="utf-8").splitlines()
        longer = _json(capsys, "plan", tmp_path, "--grow", way)
        added = [one for one in longer["runs"] if one["block"] == str(block)]
        assert added and [one["shot"] for one in added] == longer["added"]
        rows = (tmp_path / "runs.csv").read_text(encoding="utf-8").splitlines()
        assert rows[: len(before)] == before and len(rows) == len(before) + len(added)
        _shot_and_fitted(capsys, tmp_path, longer)


def _study(count: int) -> str:
    """Return a study of so many factors, one of them slow, with one warm-up shot a group."""
    tables = [f"[factors.{name}]\n{keys}" for name, keys in list(FACTORS.items())[:count]]
    return "\n".join(["[time]\nwarm_up_shots = 1\nbudget_min = 900", *tables])


def _shot_and_fitted(capsys: pytest.CaptureFixture[str], folder: Path, planned: Any) -> None:
    """Shoot what is planned, and fit all of it."""
    shots = _json(capsys, "practice", folder)["shots"]
    blocks = {one["block"] for one in planned["runs"]}
    warm_up = {one["shot"] for one in planned["runs"] if one["kind"] == "warm-up"}
    assert len(shots["ok"]) == len(planned["runs"])
    fitted = _json(capsys, "surfaces", folder)
    for edge in ("fill", "flash"):
        found = fitted["surfaces"][edge]
        plain = found["least_squares"]
        used = len(plain["coefficients"]) + plain["freedom"] + len(blocks) - 1
        assert used == len(planned["runs"]) - len(warm_up)
        assert found["effects"][0]["factor"] == "pressure" and found["effects"][0]["median"] > 0


def _json(capsys: pytest.CaptureFixture[str], command: str, folder: Path, *words: str) -> Any:
    capsys.readouterr()
    assert run([command, str(folder), *words, "--json"]) == 0, capsys.readouterr().err
    return json.loads(capsys.readouterr().out)
