"""What cannot be planned, as it is typed: one clear sentence for each mistake, nothing written."""

from pathlib import Path

import pytest

from shotwindow.cli.main import run

FACTOR = '[factors.{}]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = {}\n'
TIME = "[time]\nwarm_up_shots = 0\n"
TWO = TIME + FACTOR.format("pressure", 0.1) + FACTOR.format("speed", 0.5)
SLOW = "soak_min = 15\n"
NINE = TIME + "".join(FACTOR.format(f"valve_{n}", 0.5) for n in "abcdefghi")

#: Name -> study.toml, what is typed after `plan FOLDER`, and what each message must hold, in order.
REFUSALS: dict[str, tuple[str, list[str], list[str]]] = {
    "fewer shots than terms": (
        TWO,
        ["--shots", "2"],
        ["plan --shots: found 2; expected 3 or more for the 3 terms of the first-order model"],
    ),
    "fewer shots than terms of the model": (
        TWO,
        ["--shots", "5", "--model", "quadratic"],
        ["expected 6 or more for the 6 terms of the quadratic model; so few suffice for the inter"],
    ),
    "nothing left after the rules": (
        TWO + '[[avoid]]\npressure = ">= 4"\n[[avoid]]\npressure = "< 4"\n',
        [],
        ["study.toml [[avoid]]: found rules that no setting escapes"],
    ),
    "marks too coarse for three levels": (
        TIME + FACTOR.format("pressure", 2.0) + FACTOR.format("speed", 2.0),
        [],
        ["[factors.pressure] step: found 2 marks from 3 to 5", "[factors.speed] step: found 2"],
    ),
    "marks too coarse for a composite": (
        TIME + FACTOR.format("pressure", 2.0) + FACTOR.format("speed", 0.5),
        ["--kind", "composite"],
        ["[factors.pressure] step: found 2 marks from 3 to 5; expected three or more"],
    ),
    "minutes below one group": (
        TWO + SLOW,
        ["--minutes", "30"],
        ["plan --minutes: found 30; expected 65 or more for 5 shots in 2 temperature groups"],
    ),
    "budget below one group": (
        TWO.replace(TIME, TIME + "budget_min = 30\n"),
        [],
        ["[time] budget_min: found 30; expected 50 or more for 5 shots in one group"],
    ),
    "minutes too few for a textbook plan": (
        TWO,
        ["--minutes", "40", "--kind", "factorial"],
        ["plan --minutes: found 40; expected 59 or more for the 8 shots of this plan; give more"],
    ),
    "nine factors": (NINE, [], ["study.toml [factors]: found 9 factors; expected one to 8"]),
    "kind for other numbers of factors": (
        TWO,
        ["--kind", "box-behnken"],
        ["factors for box-behnken: found 2; expected 3 to 5; take the kind optimal"],
    ),
    "kind that leaves the limits": (
        TWO,
        ["--kind", "composite-rotatable"],
        ["plan composite-rotatable: found 4 of 12 shots outside the limits"],
    ),
    "unknown kind": (TWO, ["--kind", "factoral"], ["did you mean factorial?"]),
    "unknown way to grow": (TWO, ["--grow", "folt"], ["did you mean fold?"]),
    "unknown model": (TWO, ["--model", "cubic"], ["no model is called cubic"]),
    "unknown factor in a model": (
        TWO,
        ["--model", "first-order + presure^2"],
        ["such as 'first-order + pressure^2'; no factor is called presure; did you mean pressure?"],
    ),
    "model of third order": (
        TWO,
        ["--model", "quadratic + speed^2 x pressure"],
        ["speed^2 x pressure is not a product of two factors or a square"],
    ),
    "model of a textbook plan": (
        TWO,
        ["--model", "quadratic", "--kind", "factorial"],
        ["plan --model: found quadratic; expected it beside the kinds optimal and d-optimal alone"],
    ),
    "nothing to grow": (TWO, ["--grow", "center"], ["plan.json: found no plan; expected a plan"]),
    "nothing to shorten": (TWO, ["--left", "30"], ["plan.json: found no plan; expected a plan"]),
    "one day": (TWO, ["--day", "Monday=A"], ["found Monday=A; expected two or more days"]),
    "days of one name": (TWO, ["--day", "Mo=A", "--day", "Mo=B"], ["days of different names"]),
    "a ladder over two days": (
        TWO,
        ["--day", "Mo=A", "--day", "Tu=B", "--kind", "ladder"],
        ["plan --day: found a ladder; expected another kind: a ladder is climbed in one go"],
    ),
    "days without a reference shot": (
        TWO,
        ["--day", "Mo=A", "--day", "Tu=B", "--kind", "factorial", "--shots", "5"],
        ["found 5, 1 of them at the center; expected 6 or more, with one at the center for each"],
    ),
    "days with too few shots": (
        TWO,
        ["--day", "Mo=A", "--day", "Tu=B", "--shots", "5"],
        ["plan --shots: found 5; expected 6 or more in 2 blocks"],
    ),
    "ways that do not go together": (
        TWO,
        ["--compare", "--shots", "9"],
        ["plan --compare: found --shots; expected nothing beside it but --minutes and --rehearse"],
    ),
    "a scatter that cannot be": (
        TWO + "[press]\ngroup_scatter = -1\n",
        [],
        ["study.toml [press] group_scatter: found -1; expected 0 or more"],
    ),
    "many mistakes at once": (
        TWO,
        [
            *["--kind", "factoral", "--shots", "0", "--minutes", "-5", "--model", "cubic"],
            *["--group-scatter", "-1", "--left", "0", "--factor", "speed", "--rehearse", "3"],
        ],
        [
            "plan --left: found --kind, --shots, --minutes, --model, --factor and --rehearse; "
            "expected nothing beside it",
            "plan --rehearse: found 3; expected it beside --compare alone",
            "plan --factor: found speed; expected it beside --grow fold alone",
            "plan --left: found 0; expected more than 0",
            "plan --group-scatter: found -1; expected 0 to 100",
            "plan --kind: found factoral; expected one of",
            "plan --shots: found 0; expected 1 or more",
            "plan --minutes: found -5; expected more than 0",
            "plan --model: found cubic; expected one of",
        ],
    ),
}


@pytest.mark.parametrize("name", REFUSALS)
def test_plan__that_cannot_be__each_mistake_in_one_sentence_and_nothing_written(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, words, said = REFUSALS[name]
    (tmp_path / "study.toml").write_text(text)
    assert run(["plan", str(tmp_path), *words]) == 1
    out, err = capsys.readouterr()
    messages = err.splitlines()
    assert not out and len(messages) == len(said), err
    for message, wanted in zip(messages, said, strict=True):
        assert message.startswith("Error: ") and wanted in message
    assert [path.name for path in tmp_path.iterdir()] == ["study.toml"]
