"""Simulated presses in the place of a real one: what `practice` records and reveals."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from shotwindow.cli.main import shotwindow
from shotwindow.cli.practice_file import Practice
from shotwindow.cli.practice_press import practice_press
from shotwindow.doe.history import render, replay
from shotwindow.doe.journal import read_journal
from shotwindow.doe.plans import make_plan
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_runs, write_plan
from shotwindow.doe.session import open_session
from shotwindow.doe.study import Study, parse_study, read_study
from shotwindow.models.scoring import true_share_good
from shotwindow.models.shooting import shoot_rows

# Invented, for these tests only; the factors are those of the press "narrow".
ONE = """
[time]
warm_up_shots = 1
[factors.pressure]
unit = "psi"
low = 50
high = 75
step = 1
limits = [0, 100]
"""
# Invented: the factors of the press "clip", ranges in other units.
CLIP = """
[mold]
cavities = 2
[factors.injection_time]
unit = "s"
low = 3
high = 9
step = 0.5
[factors.pressure]
unit = "bar"
low = 2.8
high = 5.5
step = 0.1
limits = [0, 7]
[factors.melt_temperature]
unit = "degC"
low = 190
high = 215
step = 5
soak_min = 10
"""


def planned(folder: Path, text: str = ONE, **wish: int | str) -> Study:
    folder.mkdir(exist_ok=True)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    study = read_study(folder)
    write_plan(folder, study, make_plan(study, **wish))  # type: ignore[arg-type]
    return study


def practice(*words: object) -> Result:
    return CliRunner().invoke(shotwindow, ["practice", *map(str, words)])


def told(result: Result) -> str:
    assert result.exit_code == 1
    return str(result.exception)


def seen(rows: tuple[Row, ...]) -> list[Row]:
    """Rows without what depends on the clock."""
    return [replace(row, made_at="") for row in rows]


def test_practice__every_shot_recorded_as_by_hand(tmp_path: Path) -> None:
    study = planned(tmp_path)
    result = practice(tmp_path, "--press", "narrow", "--seed", "3")
    assert result.exit_code == 0
    rows = read_runs(tmp_path, study)
    assert "Made on a simulated press narrow, seed 3" in result.stdout
    assert f"{len(rows)} of {len(rows)} shots are recorded." in result.stdout
    assert all(row.outcome in ("ok", "skipped") for row in rows)
    for row in rows:
        assert row.by == "simulated press narrow, seed 3" or row.outcome == "skipped"
        assert row.made_at or row.outcome == "skipped"
        for value in row.fill:
            assert value is None or float(value) % 2 == 0  # by eye, in steps of 2 percent
    # The journal alone gives the same run sheet.
    assert (tmp_path / "runs.csv").read_bytes() == render(replay(read_journal(tmp_path)))


def test_practice__each_shot_follows_from_those_before(tmp_path: Path) -> None:
    study = planned(tmp_path, shots=6)
    practice(tmp_path, "--press", "narrow", "--seed", "5")
    rows = read_runs(tmp_path, study)
    asked = Practice("narrow", 5, "")
    settings, groups = [row.settings for row in rows], [row.group for row in rows]
    shots = shoot_rows(practice_press(study, asked), settings, groups, seed=asked.chance)
    read = [float(row.fill[0] or 0) for row in rows if row.kind != "warm-up"]
    true = [fill for row, fill in zip(rows, shots.fill[:, 0], strict=True) if row.is_fitted]
    # By eye to 2 percent with a standard deviation of 1.5; no slip of the pen in this run.
    assert read == pytest.approx(true, abs=6)
    cold = [
        shoot_rows(practice_press(study, asked), [row.settings], [1], seed=asked.chance).fill[0, 0]
        for row in rows
        if row.is_fitted
    ]
    assert read != pytest.approx(cold, abs=6)


def test_practice__shot_by_shot__the_same_shots(tmp_path: Path) -> None:
    study = planned(tmp_path / "all", shots=6)
    planned(tmp_path / "one", shots=6)
    practice(tmp_path / "all", "--press", "narrow")
    made = 0
    while any(row.outcome == "open" for row in read_runs(tmp_path / "one", study)):
        practice(tmp_path / "one", "--press", "narrow", "--shot-by-shot")
        made += 1
    assert made == 7
    one, everything = (seen(read_runs(tmp_path / name, study)) for name in ("one", "all"))
    assert one == everything


def test_practice__teams__one_press_each_its_scatter(tmp_path: Path) -> None:
    fills = {}
    for name, words in {
        "red": ("--team", "red"),
        "again": ("--team", "red"),
        "blue": ("--team", "blue"),
        "other": ("--team", "red", "--seed", "9"),
    }.items():
        study = planned(tmp_path / name, CLIP, shots=12)
        practice(tmp_path / name, *words)
        fills[name] = [(row.fill, row.flash) for row in read_runs(tmp_path / name, study)]
    assert fills["red"] == fills["again"]
    assert fills["red"] != fills["blue"]
    assert fills["red"] != fills["other"]
    red, blue = (practice_press(study, Practice("A", 1, team)) for team in ("red", "blue"))
    assert red == blue


def test_practice__preset__study_in_other_units_and_order(tmp_path: Path) -> None:
    study = planned(tmp_path, CLIP)
    press = practice_press(study, Practice("clip", 1, ""))
    same = practice_press(parse_study(CLIP.replace("[0, 7]", "[0, 6]")), Practice("clip", 1, ""))
    psi = CLIP.replace('"bar"', '"psi"').replace("2.8", "40.6").replace("5.5", "79.7")
    psi = psi.replace("[0, 7]", "[0, 100]").replace("step = 0.1", "step = 0.1")
    in_psi = practice_press(parse_study(psi), Practice("clip", 1, ""))
    bar = np.array([[6.0, 3.7, 205.0]])
    share = true_share_good(press, study, bar)
    assert 0.0 < share[0] <= 1.0
    assert true_share_good(same, study, bar) == share
    in_other = true_share_good(in_psi, study, bar * [1.0, 14.503773773, 1.0])
    assert in_other == pytest.approx(share, abs=1e-6)


def test_practice__real_shots_there__not_mixed(tmp_path: Path) -> None:
    study = planned(tmp_path)
    with open_session(tmp_path, study) as session:
        session.accept(1, {})
    assert "shots that no simulated press made (1)" in told(practice(tmp_path))
    assert not (tmp_path / "practice.json").exists()


def test_practice__other_press_half_way__refused(tmp_path: Path) -> None:
    planned(tmp_path)
    practice(tmp_path, "--press", "narrow", "--shot-by-shot")
    refused = told(practice(tmp_path, "--press", "A", "--seed", "2"))
    assert "--press A, --seed 2" in refused
    assert "simulated press narrow, seed 1" in refused
    assert practice(tmp_path, "--seed", "1").exit_code == 0


@pytest.mark.parametrize(
    ("name", "words"), [("clip", "cavities = 2"), ("narow", "did you mean narrow?")]
)
def test_practice__press_that_does_not_fit(tmp_path: Path, name: str, words: str) -> None:
    planned(tmp_path)
    assert words in told(practice(tmp_path, "--press", name))
    assert not (tmp_path / "practice.json").exists()


def test_practice__outside_limits__press_trips(tmp_path: Path) -> None:
    study = planned(tmp_path)
    text = (tmp_path / "study.toml").read_text()
    (tmp_path / "study.toml").write_text(text.replace("[0, 100]", "[0, 75]"))
    highest = text.replace("high = 75", "high = 70").replace("[0, 100]", "[0, 70]")
    (tmp_path / "study.toml").write_text(highest)
    refused = told(practice(tmp_path, "--press", "narrow"))
    assert "the press trips" in refused and "found 75" in refused
    (tmp_path / "study.toml").write_text(text)
    assert all(row.outcome == "open" for row in read_runs(tmp_path, study))


@pytest.mark.parametrize(
    ("fill", "flash"),
    [
        ('measured = "eye"', 'measured = "grade"'),
        ('measured = "full-or-short"', 'measured = "width"'),
        ('measured = "mass"', 'measured = "width"\nunit = "in"\nstep = 0.001\ngood = 0.004'),
    ],
)
def test_practice__every_scale__readings_that_the_recorder_takes(
    tmp_path: Path, fill: str, flash: str
) -> None:
    masses = "full_mass_g = [2.15, 2.15]" if "mass" in fill else ""
    text = CLIP.replace("cavities = 2", f"cavities = 2\n{masses}")
    study = planned(tmp_path, f"{text}\n[fill]\n{fill}\n[flash]\n{flash}")
    assert practice(tmp_path, "--press", "clip").exit_code == 0
    rows = [row for row in read_runs(tmp_path, study) if row.is_fitted]
    assert rows
    for row in rows:
        assert all(value is not None for value in (*row.fill, *row.flash))


@pytest.mark.parametrize("first", ["fill (%)", "fill 1 (%)"])
def test_practice__worst_cavity_column__filled(tmp_path: Path, first: str) -> None:
    study = planned(tmp_path, CLIP, shots=11)
    runs = tmp_path / "runs.csv"
    text = runs.read_text(encoding="utf-8")
    if first == "fill (%)":  # one column for the worst cavity, made by hand
        lines = text.replace("fill 1 (%),fill 2 (%)", "fill (%)").splitlines()
        at = lines[0].split(",").index("fill (%)")
        parts = [line.split(",") for line in lines[1:]]
        rest = [",".join(part[:at] + part[at + 1 :]) for part in parts]
        runs.write_text("\n".join([lines[0], *rest]), encoding="utf-8")
    assert practice(tmp_path, "--press", "clip").exit_code == 0
    rows = [row for row in read_runs(tmp_path, study) if row.is_fitted]
    assert {len(row.fill) for row in rows} == {1 if first == "fill (%)" else 2}


def test_practice__heavy_flash__later_shots_skipped(tmp_path: Path) -> None:
    # Flash five times as wide as the limit is heavy; a ladder only goes up from there.
    flash = '[flash]\nmeasured = "width"\nstep = 0.02\ngood = 0.02'
    study = planned(tmp_path, f"{ONE}\n{flash}", kind="ladder")
    practice(tmp_path, "--press", "narrow")
    rows = read_runs(tmp_path, study)
    skipped = [row for row in rows if row.outcome == "skipped"]
    assert skipped
    for row in skipped:
        shot = int(row.note.split()[-1])  # "skipped: heavy flash at shot 10"
        worst = next(r for r in rows if r.shot == shot)
        assert max(float(value or 0) for value in worst.flash) >= 0.1
        assert not row.by


def test_reveal__only_after_the_last_shot(tmp_path: Path) -> None:
    planned(tmp_path)
    assert "practiced study" in told(practice(tmp_path, "--reveal"))
    practice(tmp_path, "--press", "narrow", "--shot-by-shot")
    assert "not made" in told(practice(tmp_path, "--reveal"))
    hidden = practice(tmp_path)
    assert "true" not in hidden.output and "truth" not in hidden.output
    shown = practice(tmp_path, "--reveal")
    assert "overlap of the two" in shown.stdout
    scored = json.loads(practice(tmp_path, "--reveal", "--json").stdout)
    assert scored["press"] == {"press": "narrow", "seed": 1, "team": ""}
    assert 0 < scored["overlap"] <= 1
    low, high = scored["true_ranges"]["pressure"]
    # Common practice, no source: good parts from about 60 to 65 psi only.
    assert 58 <= low <= 61 and 64 <= high <= 67
