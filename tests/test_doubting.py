from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sheets import EYE, GRADES, MASS, study_in
from test_recording import call, statuses

from shotwindow.cli.doubting import contradictions, stood_question
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.columns import columns
from shotwindow.doe.headings import layout_of
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_runs
from shotwindow.doe.study import Study, parse_study


def seen(rows: tuple[Row, ...], shots: dict[int, tuple[float | str, int]]) -> list[Row]:
    """Rows with fill and flash filled in for some shots."""
    return [
        replace(row, fill=(shots[row.shot][0],), flash=(shots[row.shot][1],))
        if row.shot in shots
        else row
        for row in rows
    ]


def found(
    study: Study, rows: tuple[Row, ...], shots: dict[int, tuple[float | str, int]], asked: int
) -> list[str]:
    made = seen(rows, shots)
    layout = layout_of(study, columns(study), "runs.csv")
    return [str(p) for p in contradictions(study, layout, made, made[asked - 1])]


def test_contradictions__two_nearest_agree_against_it(tmp_path: Path) -> None:
    study = study_in(tmp_path, GRADES)
    rows = read_runs(tmp_path, study)
    # Shots 3, 4, 5 are at 3.0, 4.0, 4.5 bar, all else the same.
    short = found(study, rows, {3: (100.0, 0), 4: (100.0, 0), 5: (90.0, 0)}, 5)
    assert len(short) == 1
    assert "shots 3 and 4 at the same or lower settings" in short[0]
    full = found(study, rows, {3: (100.0, 0), 4: (90.0, 0), 5: ("short", 0)}, 3)
    assert len(full) == 1
    assert "shots 4 and 5 at the same or higher settings" in full[0]
    flashed = found(study, rows, {3: (100.0, 2), 4: (100.0, 1), 5: (100.0, 0)}, 3)
    assert len(flashed) == 1
    assert "higher settings" in flashed[0]
    clean = found(study, rows, {3: (100.0, 2), 4: (100.0, 3), 5: (100.0, 0)}, 5)
    assert len(clean) == 1
    assert "lower settings" in clean[0]


@pytest.mark.parametrize(
    "shots",
    [
        {3: (90.0, 0), 4: (100.0, 0), 5: (100.0, 2)},  # as it should be
        {4: (100.0, 0), 5: (90.0, 0)},  # one neighbor alone proves nothing
        {3: (90.0, 0), 4: (100.0, 0), 5: (90.0, 0)},  # the neighbors disagree
    ],
)
def test_contradictions__none(tmp_path: Path, shots: dict[int, tuple[float | str, int]]) -> None:
    study = study_in(tmp_path, GRADES)
    assert not found(study, read_runs(tmp_path, study), shots, 5)


def test_contradictions__factor_of_unknown_effect__has_to_be_the_same(tmp_path: Path) -> None:
    text = GRADES.replace("[factors.pressure]", "[factors.cushion]")
    shots: dict[int, tuple[float | str, int]] = {3: (100.0, 0), 4: (100.0, 0), 5: (90.0, 0)}
    study = study_in(tmp_path, text)
    assert not found(study, read_runs(tmp_path, study), shots, 5)


def test_record__contradiction__asked_before_it_is_taken(tmp_path: Path) -> None:
    study_in(tmp_path)
    typed = "\n\n100\n0\n\n100\n0\n\n90\n0\n\n"
    result = call("record", tmp_path, typed=typed + "n\n95\n0\n\nn\n")
    assert "as shots 3 and 4 at the same or lower settings" in result.stderr
    assert statuses(tmp_path)[4] == ""
    call("record", tmp_path, typed="\n\n\ny\n")
    assert statuses(tmp_path)[4] == "ok"


def test_record__actual_beyond_the_limits_refused_and_far_from_plan_asked(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    typed = "\n\n7.1\n3.4\n\n96\n0\n\ny\n"
    said = call("record", tmp_path, "--actual", typed=typed).stderr
    assert "the limits of the press, 0 to 7" in said
    assert "found 3.4 bar; expected about 3, as planned" in said
    assert read_runs(tmp_path, study)[2].actual == (3.4, 210.0)


def test_record__actual_near_the_plan__not_asked(tmp_path: Path) -> None:
    study_in(tmp_path)
    said = call("record", tmp_path, "--actual", typed="\n\n3.2\n211\n96\n0\n\n").stderr
    assert "as planned" not in said


def test_record__over_102_percent_by_mass__asked(tmp_path: Path) -> None:
    study_in(tmp_path, MASS)
    assert "wrong full mass" in call("record", tmp_path, typed="\n\n2.1\n3.9\n0\n\nn\n").stderr


def test_stood_question__longer_than_the_material_bears(tmp_path: Path) -> None:
    """Acetal: polyplastics.com, Duracon, cautions in molding, as on the shipped card."""
    text = 'material.name = "acetal"\n' + EYE
    study, card = parse_study(text), find_card("acetal")
    assert card is not None
    borne = next(minutes for degC, minutes in card.dwell if degC is None or degC >= 210)
    begun = datetime(2025, 3, 1, 9, tzinfo=UTC)
    early, late = ((begun + timedelta(minutes=borne + more)).isoformat() for more in (-0.5, 0.5))
    row = replace(read_runs(tmp_path, study_in(tmp_path))[0], made_at=begun.isoformat())
    assert "Purge it" in stood_question(study, card, [row], late)
    assert stood_question(study, card, [row], early) == ""
    assert stood_question(study, None, [row], late) == ""
    assert stood_question(study, card, [replace(row, made_at="noon")], late) == ""


def test_stood_question__clock_put_back__newest_shot_that_it_knows(tmp_path: Path) -> None:
    """Also across time zones, as in the night when summer time ends."""
    text = 'material.name = "acetal"\n' + EYE
    study, card = parse_study(text), find_card("acetal")
    first, second = read_runs(tmp_path, study_in(tmp_path))[:2]
    ahead = replace(first, made_at="2025-10-26T02:59:00+02:00")
    after = replace(second, made_at="2025-10-26T02:05:00+01:00")  # six minutes later
    asked = stood_question(study, card, [ahead, after], "2025-10-26T03:50:00+01:00")
    assert asked.startswith("The last shot was 105 min ago")
    of_the_future = replace(first, made_at="2025-10-26T09:00:00+01:00")
    asked = stood_question(study, card, [of_the_future, after], "2025-10-26T03:50:00+01:00")
    assert asked.startswith("The last shot was 105 min ago")
    assert stood_question(study, card, [of_the_future], "2025-10-26T03:50:00+01:00") == ""
