import json
from pathlib import Path

from sheets import EYE, MASS, study_in
from test_recording import call, statuses

from shotwindow.cli.later import labels, newest_put_by, waiting_shots
from shotwindow.doe.runs import read_runs
from shotwindow.doe.session import open_session

GRADED = MASS + '[flash]\nmeasured = "grade"\n'


def test_weigh_later__not_recorded_until_the_masses_come(tmp_path: Path) -> None:
    study = study_in(tmp_path, GRADED)
    first = call("record", tmp_path, "--by", "Ada", "--json", typed="\n\nw\n1\nsink\nq\n")
    assert "3-1   3-2" in first.stderr
    summary = json.loads(first.stdout)
    assert (summary["to_weigh"], summary["next"]) == ([3], 4)
    assert statuses(tmp_path)[2] == ""
    with open_session(tmp_path, study) as session:
        made = session.typed(3)["made_at"]
    second = call("record", tmp_path, "--weigh", "--by", "Bo", typed="1.9\n3.9\n")
    assert "3 of 8 shots are recorded." in second.stdout
    row = read_runs(tmp_path, study)[2]
    assert (row.fill, row.flash, row.other) == ((1.9, 3.9), (1,), "sink")
    assert (row.made_at, row.by) == (made, "Ada")


def test_weigh_later__offered_at_the_next_start_and_put_off(tmp_path: Path) -> None:
    study_in(tmp_path, GRADED)
    call("record", tmp_path, typed="\n\n1.9\nw\n0\n\nq\n")
    put_off = call("record", tmp_path, typed="\nq\n").stderr
    assert "shot 3 wait for the balance. Weigh now?" in put_off
    assert "Shot 4 of 8" in put_off
    taken = call("record", tmp_path, typed="y\n\n3.9\nq\n")
    assert "Cavity 1, mass in g [1.9]" in taken.stderr  # weighed before w was typed
    assert statuses(tmp_path)[2] == "ok"


def test_weigh_later__questionable_mass__asked_again(tmp_path: Path) -> None:
    study = study_in(tmp_path, GRADED)
    call("record", tmp_path, typed="\n\nw\n0\n\nq\n")
    said = call("record", tmp_path, "--weigh", typed="2.1\n3.9\nn\n2.0\n\n").stderr
    assert "flash, or a wrong full mass" in said
    assert read_runs(tmp_path, study)[2].fill == (2.0, 3.9)


def test_weigh_later__undone__asked_for_again(tmp_path: Path) -> None:
    study = study_in(tmp_path, GRADED)
    said = call("record", tmp_path, typed="\n\nw\n0\n\nu\n1.9\n3.9\n\n\nq\n").stderr
    assert "Shot 3 does not wait for the balance any more." in said
    assert read_runs(tmp_path, study)[2].fill == (1.9, 3.9)


def test_weigh_later__lost_part__void(tmp_path: Path) -> None:
    study = study_in(tmp_path, GRADED)
    call("record", tmp_path, typed="\n\nw\n0\n\nq\n")
    call("record", tmp_path, "--weigh", typed="v\npart lost\n\n")
    row = read_runs(tmp_path, study)[2]
    assert (row.outcome, row.note) == ("void", "part lost")


def test_weigh_later__heavy_flash__skips_at_once_but_never_a_shot_that_is_made(
    tmp_path: Path,
) -> None:
    study = study_in(tmp_path, GRADED)
    # Shot 5 is weighed later, then 3 (brought back, and lower in all settings) flashes heavily.
    typed = "\n\n1.9\n3.9\n0\n\n1.9\n3.9\n0\n\nw\n0\n\nb 3\n2\n4\n3\n\n\nq\n"
    call("record", tmp_path, typed=typed)
    assert statuses(tmp_path) == ["ok"] * 4 + [""] + ["skipped"] * 3
    with open_session(tmp_path, study) as session:
        assert waiting_shots(session) == (5,)
    call("record", tmp_path, "--weigh", typed="1.9\n3.9\n")
    assert read_runs(tmp_path, study)[4].fill == (1.9, 3.9)


def test_weigh_later__heavy_flash_of_the_shot_itself(tmp_path: Path) -> None:
    study_in(tmp_path, GRADED)
    call("record", tmp_path, typed="\n\n1.9\n3.9\n0\n\nw\n3\n\n\nq\n")
    assert statuses(tmp_path) == ["ok"] * 3 + ["", "skipped", "", "skipped", "skipped"]


def test_w__where_nothing_is_weighed__said(tmp_path: Path) -> None:
    study_in(tmp_path, EYE)
    assert "No such shot waits" in call("record", tmp_path, typed="\n\nw\nq\n").stderr


def test_newest_put_by__older_than_what_can_be_undone__none(tmp_path: Path) -> None:
    study = study_in(tmp_path, GRADED)
    call("record", tmp_path, typed="\n\nw\n0\n\n1.9\n3.9\n0\n\nq\n")
    with open_session(tmp_path, study) as session:
        assert newest_put_by(session) is None
        session.undo()
        waits = newest_put_by(session)
    assert waits is not None
    assert waits.shot == 3


def test_labels__shot_and_cavity(tmp_path: Path) -> None:
    assert labels(study_in(tmp_path, GRADED), 12) == "12-1   12-2"
