"""JSON of next, confirm and compare: exactly the fields of the schemas that are kept."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from invented_folders import shoot_open, write_study

from shotwindow.cli.main import run

SCHEMAS = Path(__file__).parent / "reference" / "schemas"


@pytest.fixture
def dial(tmp_path: Path) -> Path:
    return write_study(tmp_path / "dial", "dial")


def _checked(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    """Run a command, hold what it prints against the schema of its name, and return it."""
    capsys.readouterr()
    assert run([*words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    schema = json.loads((SCHEMAS / f"{words[0]}.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(found, schema)
    return found


def test_next__fits_its_schema_and_a_missing_field_does_not(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = _checked(capsys, "next", str(dial), "--shots", "2", "--dry-run")
    schema = json.loads((SCHEMAS / "next.json").read_text("utf-8"))
    del found["shots"][0]["reason"]
    with pytest.raises(jsonschema.ValidationError, match="reason"):
        jsonschema.validate(found, schema)


def test_confirm__qualification__three_groups_planned_shot_and_told(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("confirm", str(dial), "--reliability", "0.7", "--qualify")
    planned = _checked(capsys, *words)
    assert planned["groups"] == 3 and planned["written"]
    assert any("what a qualification asks for" in s for s in planned["sentences"])
    shoot_open(dial)
    judged = _checked(capsys, "confirm", str(dial))
    assert judged["at_setpoint"]["groups"] == 3
    assert judged["at_setpoint"]["failed_by_group"] == [0, 0, 0]
    assert judged["qualifies"] == (judged["verdict"] == "confirmed")
    assert judged["next"] == []


def test_confirm__one_group__confirms_but_does_not_qualify(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _checked(capsys, "confirm", str(dial), "--reliability", "0.7")
    shoot_open(dial)
    judged = _checked(capsys, "confirm", str(dial))
    assert judged["at_setpoint"]["groups"] == 1 and not judged["qualifies"]
    assert any("a qualification asks for 3 groups" in s for s in judged["sentences"])


def test_confirm__failed__says_what_to_shoot_next(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _checked(capsys, "confirm", str(dial), "--reliability", "0.7")
    shoot_open(dial, bad=3)
    judged = _checked(capsys, "confirm", str(dial))
    assert judged["verdict"] == "not confirmed"
    assert judged["next"] and all(shot["reason"].endswith(".") for shot in judged["next"])
    assert any("now in the fit" in sentence for sentence in judged["sentences"])
    assert run(["confirm", str(dial)]) == 0
    assert judged["next"][0]["settings"] in " ".join(capsys.readouterr().out.split())


def test_compare__fits_its_schema(dial: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = _checked(capsys, "compare", str(dial), str(dial))
    assert {edge["factor"] for edge in found["edges"]} == {"pressure"}
