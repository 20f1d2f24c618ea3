"""The handout of a plan: plan, empty plot and questions, no result, and the answers apart."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from invented_shots import STUDIES, planned, study
from markupsafe import escape
from test_set_up_files import _pages
from test_sheet_pdf import contents

from shotwindow.cli.main import run
from shotwindow.doe.cautions import CAUTIONS
from shotwindow.doe.judging import judge
from shotwindow.doe.restrictions import cost
from shotwindow.doe.runs import write_plan
from shotwindow.reports.handout import empty_plot, handout
from shotwindow.reports.lesson import Lesson, answers_html, lesson_html
from shotwindow.reports.lesson_pdf import lesson_pdf
from shotwindow.reports.naming import axis_label, plural, spoken
from shotwindow.reports.planned import clock
from shotwindow.reports.sheet import reading_rules
from shotwindow.reports.slices import map_axes
from shotwindow.reports.theme import picture


def _lesson(name: str) -> Lesson:
    return handout(study(name), planned(name), ("Hot nozzle.",))


@pytest.mark.parametrize("name", ["map", "cube", "dial"])
def test_handout__plan_and_cautions__a_row_a_shot_with_room_to_write(name: str) -> None:
    lesson, plan = _lesson(name), planned(name)
    table = next(part.table for part in lesson.parts if part.table)
    assert [row[0] for row in table.rows] == [str(shot.shot) for shot in plan.shots]
    for row, shot in zip(table.rows, plan.shots, strict=True):
        fill, flash, good = row[-3:]
        assert (fill, flash, good) == ("warm-up" if shot.kind == "warm-up" else "", "", "")
    page = lesson_html(lesson)
    assert "Hot nozzle." in page
    spent = cost(study(name), plan)
    assert f"{spent.shots} shots" in page and f"{spent.groups} temperature group" in page
    assert f"and {plural(spent.warm_up_shots, 'warm-up shot')} in" in page
    assert f"{clock(spent.minutes)} by the clock" in page
    assert [row[1] for row in table.rows] == [str(shot.group) for shot in plan.shots]
    assert all(escape(rule) in page for rule in reading_rules(study(name)))
    assert ("Write injection time of the shot beside it" in page) == (name == "cube")


@pytest.mark.parametrize("name", ["map", "cube", "dial"])
def test_empty_plot__axes_of_the_map_with_every_mark_and_nothing_in_it(name: str) -> None:
    made = study(name)
    axes = empty_plot(made).axes[0]
    across = made.factors[map_axes(made.factors)[0]]
    ticks = [*axes.get_xticks(), *axes.get_xticks(minor=True)]
    assert sorted(ticks) == pytest.approx(across.marks.tolist())
    assert axes.get_xlim() == (across.low, across.high)
    assert across.unit in axes.get_xlabel()
    assert not axes.lines and not axes.collections and not axes.patches
    assert all(line.get_visible() for line in axes.xaxis.get_gridlines())
    upward = [*axes.get_yticks(), *axes.get_yticks(minor=True)]
    if name == "dial":
        assert upward == []
        return
    up = made.factors[map_axes(made.factors)[1]]
    assert sorted(upward) == pytest.approx(up.marks.tolist())
    assert axes.get_ylim() == (up.low, up.high) and axes.get_ylabel() == axis_label(up)


def test_handout__answers__only_in_their_own_page() -> None:
    lesson = _lesson("map")
    page, answers = lesson_html(lesson), answers_html(lesson, "letter")
    for question in lesson.questions:
        assert escape(question.asked) in page and escape(question.asked) in answers
        assert escape(question.answer) in answers and escape(question.answer) not in page


def test_handout__repeats_and_slow_settings__counted_from_the_plan() -> None:
    plain, again = _lesson("map").questions, _lesson("dial").questions
    assert plain[1].answer == (
        "None: each of the 16 shots has settings of its own. So this plan alone cannot tell how "
        "much shots differ when nothing was changed."
    )
    assert again[1].answer.startswith(
        "6 settings: pressure 50 psi gauge (2 times); pressure 55 psi gauge (2 times); "
    )
    assert again[1].answer.count(" times)") == 6 and again[1].answer.count("Only such shots") == 1
    assert "change of melt temperature costs a soak" in plain[0].answer
    assert again[0].answer.startswith("No setting is slow")


def test_handout__many_repeats__are_counted() -> None:
    plan = planned("map")
    shots = (*plan.shots, *plan.shots)
    told = handout(study("map"), replace(plan, shots=shots), ()).questions[1].answer
    assert told.startswith("16 settings. Only such shots")


def test_handout__aliases_and_good_from__as_the_plan_and_the_study_say() -> None:
    plan = planned("map")
    few = replace(plan, shots=plan.shots[:6])
    strict = replace(study("map"), good_from=0.95)
    aliases = judge(strict, few).aliases
    asked = handout(strict, few, ()).questions
    assert aliases and asked[2].answer == f"Aliases: {'; '.join(map(spoken, aliases))}"
    assert asked[5].asked.startswith("In the window 95 % or more of all shots are good.")


@pytest.mark.parametrize(("paper", "width"), [("a4", 595.28), ("letter", 612)])
def test_lesson_pdf__paper__as_asked_same_bytes_and_answers_apart(paper: str, width: float) -> None:
    lesson, plot = _lesson("map"), picture(empty_plot(study("map")), "png")
    pdf = lesson_pdf(lesson, paper, plot=plot)
    assert lesson_pdf(lesson, paper, plot=plot) == pdf
    box = re.search(rb"/MediaBox \[ 0 0 ([0-9.]+)", pdf)
    assert box is not None and float(box[1]) == pytest.approx(width, abs=0.01)
    answers = lesson_pdf(lesson, paper, answers=True)
    assert b"/Subtype /Image" in pdf and b"/Subtype /Image" not in answers
    assert _pages(answers) == 1 < _pages(pdf)


def test_lesson_pdf__any_length__no_heading_ends_a_page() -> None:
    lesson = _lesson("cube")
    at = next(i for i, part in enumerate(lesson.parts) if part.table is not None)
    plan = lesson.parts[at]
    assert plan.table is not None
    for count in range(1, len(plan.table.rows)):
        table = replace(plan.table, rows=plan.table.rows[:count])
        parts = (*lesson.parts[:at], replace(plan, table=table), *lesson.parts[at + 1 :])
        pdf = lesson_pdf(replace(lesson, parts=parts), "letter")
        for page in contents(pdf):
            assert re.findall(rb"/F\S+ ([0-9.]+) Tf", page)[-1] != b"11", count


def test_sheet__handout_and_answers__written_apart(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "study.toml").write_text(STUDIES["map"][0])
    write_plan(tmp_path, study("map"), planned("map"))
    assert run(["sheet", str(tmp_path), "--handout", "--paper", "letter"]) == 0
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"handout.html", "handout.pdf"}
    page = (tmp_path / "out" / "handout.html").read_text()
    assert "size: letter" in page and all(escape(said) in page for said in CAUTIONS)
    assert b"/MediaBox [ 0 0 612 " in (tmp_path / "out" / "handout.pdf").read_bytes()
    assert run(["sheet", str(tmp_path), "--answers"]) == 0
    assert len(list((tmp_path / "out").iterdir())) == 4
    told = (tmp_path / "out" / "handout-answers.html").read_text()
    answer = _lesson("map").questions[1].answer
    assert answer in told and answer not in page
    assert _pages((tmp_path / "out" / "handout-answers.pdf").read_bytes()) == 1
    assert "handout-answers.html" in capsys.readouterr().out


def test_lesson_html__warm_up__is_not_broken_in_its_narrow_cell() -> None:
    page = lesson_html(_lesson("map"))
    assert page.count('<td class="whole">warm-up</td>') == page.count(">warm-up</td>") > 0
