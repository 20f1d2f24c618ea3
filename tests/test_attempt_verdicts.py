"""Verdicts of attempts: which shots count, what may be asked again, which attempts are refused."""

from dataclasses import replace
from pathlib import Path
from shutil import copytree

import numpy as np
import pytest
from invented_folders import shoot_open, write_study
from sheets import EYE, MASS

from shotwindow.cli.main import run
from shotwindow.doe.attempts import read_attempts, write_attempts
from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.rows import Row
from shotwindow.doe.session import open_session
from shotwindow.doe.study import parse_study, read_study
from shotwindow.models.challenge import Demand
from shotwindow.models.judgement import CANNOT_TELL, CONFIRMED, NOT_CONFIRMED
from shotwindow.models.weighed import weigh
from shotwindow.reports import attempt_verdicts
from shotwindow.reports.attempt_verdicts import (
    cannot_tell,
    check_unchanged,
    judge_attempt,
    last_judged,
    wanted_demand,
)
from shotwindow.reports.confirming import Planned, plan_attempt, write_attempt

EASY = Demand(0.7, 0.8)  # 5 shots


def _planned(folder: Path, demand: Demand = EASY) -> Planned:
    made = plan_attempt(folder, demand)
    write_attempt(folder, made)
    return made


@pytest.fixture
def dial(tmp_path: Path) -> Path:
    return write_study(tmp_path / "dial", "dial")


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a study with an attempt that is not shot; to be read only."""
    folder = write_study(tmp_path_factory.mktemp("planned") / "dial", "dial")
    _planned(folder)
    return folder


def test_last_judged__never_planned__none(dial: Path) -> None:
    assert last_judged(dial) is None


def test_last_judged__more_than_one_attempt__the_last(planned: Path, tmp_path: Path) -> None:
    folder = tmp_path / "twice"
    copytree(planned, folder)
    (first,) = read_attempts(folder)
    write_attempts(folder, [first, replace(first, number=2, reliability=0.6)])
    judged = last_judged(folder)
    assert judged is not None and (judged.attempt.number, judged.attempt.reliability) == (2, 0.6)


def test_judge_attempt__not_shot__all_missing_and_nothing_told(planned: Path) -> None:
    judged = last_judged(planned)
    assert judged is not None and judged.judgement.answer == CANNOT_TELL
    assert judged.judgement.missing == len(judged.attempt.shots)
    assert judged.judgement.shots == judged.judgement.corners == 0
    assert judged.after is None and not cannot_tell(judged)  # it will be told once it is shot


def test_judge_attempt__shot_well__setpoint_and_corners_are_counted_apart(dial: Path) -> None:
    made = _planned(dial)
    shoot_open(dial)
    judged = last_judged(dial)
    assert judged is not None and judged.judgement.answer in (CONFIRMED, CANNOT_TELL)
    assert judged.judgement.shots == EASY.shots and judged.judgement.missing == 0
    assert judged.judgement.corners == int(made.challenge.corner.sum()) > 0
    assert cannot_tell(judged) == (judged.judgement.answer == CANNOT_TELL)
    assert judged.weighed == () and judged.after is None


def test_judge_attempt__its_own_and_later_shots__do_not_predict_it(dial: Path) -> None:
    made = _planned(dial)
    shoot_open(dial, bad=3)
    first = last_judged(dial)
    assert first is not None and first.judgement.answer == NOT_CONFIRMED
    assert first.after is not None  # its shots go into the next fit
    assert set(made.attempt.shots) <= set(first.after.readings.shot.tolist())
    assert run(["next", str(dial), "--shots", "2"]) == 0
    shoot_open(dial)
    again = judge_attempt(dial, read_attempts(dial)[0])
    for judged in (first, again):
        assert not set(judged.before.readings.shot.tolist()) & set(made.attempt.shots)
        assert np.array_equal(
            judged.before.surfaces.fill.coefficients, made.found.surfaces.fill.coefficients
        )
    assert again.judgement == first.judgement


def test_judge_attempt__fit_without_a_window__says_so(
    planned: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    judged = last_judged(planned)
    assert judged is not None
    failed = replace(judged.before, window=None)
    monkeypatch.setattr(attempt_verdicts, "find", lambda *_, **__: failed)
    with pytest.raises(Unanswerable):
        judge_attempt(planned, judged.attempt)


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("prior", "molten", 'prior: found "molten"; expected "molding" or "weak"'),
        ("setpoint", (60.0, 220.0), "setpoint: found 2 settings; expected 1, one for each of"),
        ("corners", ((60.0,), ()), "corners: found 0 settings; expected 1, one for each of"),
        ("shots", (1, 900), "shots: found 1, 900; expected confirmation shots of runs.csv"),
    ],
)
def test_judge_attempt__damaged__named_with_what_belongs_there(
    field: str, value: object, told: str, planned: Path
) -> None:
    attempt = replace(read_attempts(planned)[0], **{field: value})  # type: ignore[arg-type]
    with pytest.raises(StudyError) as caught:
        judge_attempt(planned, attempt)
    (problem,) = caught.value.problems
    assert f"confirm.json attempt 1 {told}" in str(problem)
    assert problem.do.startswith("put back a copy of it")


def test_weighed__masses_at_the_setpoint__a_cavity_each_and_only_what_was_weighed(
    planned: Path,
) -> None:
    attempt = replace(read_attempts(planned)[0], reliability=0.9, confidence=0.95)
    read: list[tuple[float | str, ...]] = [
        (2.01, 4.02), (1.99, "full"), (2.02, 3.98), (2.00,), ("short", 4.00)
    ]  # fmt: skip
    rows = [
        Row(n, "1", "", 1, "confirm", (4.0, 220.0), (None, None), fill, (0.04,))
        for n, fill in enumerate(read, 1)
    ]
    first, second = attempt_verdicts._weighed(parse_study(MASS), rows, attempt)
    # a part is full from 98 % of 2 and 4 g; a row of one mass names no cavity
    assert first == weigh(1, np.array([2.01, 1.99, 2.02]), 1.96, 0.9, 0.95)
    assert second == weigh(2, np.array([4.02, 3.98, 4.00]), 3.92, 0.9, 0.95)
    assert attempt_verdicts._weighed(parse_study(EYE), rows, attempt) == ()
    assert attempt_verdicts._weighed(parse_study(MASS), rows[:1], attempt) == ()  # no scatter


def test_judge_attempt__parts_shot_at_corners__are_not_weighed_with_those_at_the_setpoint(
    dial: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = _planned(dial)
    shoot_open(dial)
    monkeypatch.setattr(attempt_verdicts, "_weighed", lambda study, rows, attempt: tuple(rows))
    judged = last_judged(dial)
    assert judged is not None
    at = [row.settings for row in judged.weighed]  # type: ignore[attr-defined] # rows, as patched
    assert at == [made.attempt.setpoint] * EASY.shots


def test_commands__damaged_attempt__message_and_no_traceback(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = _planned(dial)
    write_attempts(dial, [replace(made.attempt, prior="molten", setpoint=(60.0, 1.0))])
    for words in (["confirm"], ["confirm", "--again"], ["report", "--setup"]):
        capsys.readouterr()
        assert run([words[0], str(dial), *words[1:]]) == 1
        said = capsys.readouterr().err
        assert "molten" in said and "2 settings" in said and "Traceback" not in said


def test_wanted_demand__first_attempt__share_of_the_study_unless_told(dial: Path) -> None:
    assert wanted_demand(dial, {}) == Demand(read_study(dial).good_from, 0.9)
    asked = {"reliability": 0.8, "confidence": None, "failures": 1, "groups": None}
    assert wanted_demand(dial, asked) == Demand(0.8, 0.9, 1)


def test_wanted_demand__shots_still_to_be_made__refused(planned: Path) -> None:
    count = len(read_attempts(planned)[0].shots)
    with pytest.raises(StudyError, match=f"attempt 1 with {count} shots still to be made"):
        wanted_demand(planned, {})


def test_wanted_demand__after_a_failed_attempt__the_same_even_with_open_shots(dial: Path) -> None:
    _planned(dial)
    with open_session(dial, read_study(dial)) as session:
        fill, flash = session.layout.fill[0], session.layout.flash[0]
        for row in [row for row in session.rows if row.outcome == "open"][:3]:
            cells = {} if row.kind == "warm-up" else {fill: "90", flash: "0.04"}
            session.accept(row.shot, cells, sure=True)
    judged = last_judged(dial)
    assert judged is not None and judged.judgement.answer == NOT_CONFIRMED
    assert judged.judgement.missing > 0  # they need not be made any more
    assert wanted_demand(dial, {}) == Demand(0.7, 0.8, 0, 1)
    assert wanted_demand(dial, {"confidence": 0.9}) == Demand(0.7, 0.9, 0, 1)


def test_check_unchanged__same_or_nothing_asked__passes_and_another_is_refused(
    planned: Path,
) -> None:
    check_unchanged(planned, {"reliability": 0.7, "confidence": None, "failures": 0})
    with pytest.raises(StudyError) as caught:
        check_unchanged(planned, {"reliability": 0.7, "confidence": 0.95})
    assert str(caught.value.problems[0]) == (
        "confirm --confidence: found 0.95; expected 0.8, fixed before the shots of attempt 1; "
        "add --again for a further attempt with fresh shots"
    )
