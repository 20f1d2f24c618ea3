"""Tables headed by questions: what a plan would miss, how it predicts, what it cannot lose."""

from dataclasses import replace

import pytest
from invented_shots import planned, study

from shotwindow.doe.judging import judge
from shotwindow.doe.plans import make_plan
from shotwindow.doe.power import power
from shotwindow.doe.restrictions import cost
from shotwindow.doe.study import parse_study
from shotwindow.reports.plan_comparison import more_words
from shotwindow.reports.plan_judging import judging_document, judging_lines
from shotwindow.reports.planned import plan_lines, tell

QUESTIONS = (
    "Which effects would it miss?",
    "How well does it predict? (standard error in shot scatters)",
    "Which single void shot would cost a term?",
    "How long does it take?",
)


def test_plan_lines__judged__every_question_after_an_empty_line() -> None:
    told = tell(study("map"), planned("map"))
    plain, judged = plan_lines(told), plan_lines(told, judged=True)
    for question in QUESTIONS:
        assert question not in plain and judged[judged.index(question) - 1] == ""
    for head in ("Keep in mind", "Safety"):
        assert plain[plain.index(head) - 1] == ""
    assert all(len(line) <= 80 for line in judged if "http" not in line)


def test_judging__slow_setting__judged_against_groups() -> None:
    judgement = judge(study("map"), planned("map"))
    effects = {e["name"]: e for e in judging_document(judgement)["effects"]}
    assert effects["melt_temperature"]["against"] == "group"
    assert effects["pressure"]["against"] == "shot"
    assert effects["pressure"]["freedom"] == judgement.shot_df > 0


def test_judging__factorial__smallest_effect_has_power_0_8() -> None:
    made = parse_study(
        "\n".join(f'[factors.{n}]\nunit = "u"\nlow = 0\nhigh = 4\nstep = 1' for n in "abc")
    )
    judgement = judge(made, make_plan(made, kind="factorial", shots=16))
    one = judging_document(judgement)["effects"][0]
    assert one["smallest"] is not None
    assert power((one["smallest"] / one["error"]) ** 2, one["freedom"]) == pytest.approx(
        0.8, abs=1e-4
    )


def test_judging_lines__nothing_to_spare__names_shots_and_says_unknown() -> None:
    made = parse_study(
        "\n".join(f'[factors.{n}]\nunit = "u"\nlow = 0\nhigh = 4\nstep = 1' for n in "abc")
    )
    plan = make_plan(made, kind="fraction", shots=4)
    text = " ".join(" ".join(judging_lines(judge(made, plan), cost(made, plan))).split())
    assert "any one of the shots 3, 4, 5 or 6: make it again if it fails" in text
    assert "unknown" in text and "Unknown: no degree of freedom is left" in text
    sure = judge(study("map"), planned("map"))
    assert not sure.costly_shots
    spent = cost(study("map"), planned("map"))
    assert "  none: any one shot can be lost" in judging_lines(sure, spent)
    one = judging_lines(replace(sure, costly_shots=(3,)), spent)
    assert "  shot 3: make it again if it fails" in one


def test_more_words__no_gain__says_so() -> None:
    from shotwindow.doe.comparing import MoreTime, candidate

    now = candidate(study("map"), "120 min", planned("map"))
    words = more_words(MoreTime(now, replace(now, name="150 min"), ()))
    assert words == "Half an hour more (150 min in place of 120 min) would not predict better."
