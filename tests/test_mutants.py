"""The part that makes small faults in a copy, but for the tool that makes them."""

import ast
import json
from pathlib import Path

import pytest
from benchmarks import mutants
from benchmarks.mutants import MODULES, ROOT, annotations, command_of, copied, table


def test_annotations__every_one_and_nothing_else() -> None:
    text = (
        "def f(a: int | None, *, b: float = 1.0) -> str | None:\n    c: int = a | 3\n    return c\n"
    )
    lines = text.splitlines()
    found = sorted(lines[line - 1][first:last] for (line, first), (_, last) in annotations(text))
    assert found == ["float", "int", "int | None", "str | None"]


def test_table__score_and_what_survived() -> None:
    row = {"module": "models/window.py", "text": "a", "operator": "o", "line": 7, "of": 90}
    rows = [{**row, "occurrence": i, "killed": i != 2, "change": ["-a", "+b"]} for i in range(4)]
    lines = table(rows).splitlines()
    assert lines[2] == "| models/window.py | 90 | 4 | 3 | 75% |"
    assert lines[3:] == ["", "models/window.py, line 7", "    -a", "    +b"]


def test_read__a_module_that_has_changed_since__forgotten(tmp_path: Path) -> None:
    now = mutants.digest((ROOT / "doe/store.py").read_bytes())
    row = {"module": "doe/store.py", "operator": "o", "occurrence": 1, "killed": True}
    file = tmp_path / "rows.jsonl"
    file.write_text("".join(json.dumps({**row, "text": t}) + "\n" for t in (now, "older")))
    assert [kept["text"] for kept in mutants.read_kept(file).values()] == [now]
    assert mutants.read_kept(tmp_path / "none.jsonl") == {}


def test_copied__sources_and_tests_but_no_environment(tmp_path: Path) -> None:
    copy = copied(tmp_path)
    assert (copy / "models" / "window.py").exists() and (copy / "tests").is_dir()
    assert not (copy / ".venv").exists() and not (copy / ".git").exists()


@pytest.mark.parametrize("module", MODULES)
def test_modules__they_and_their_tests_are_there(module: str) -> None:
    ast.parse((ROOT / module).read_text(encoding="utf-8"))
    words = command_of(".venv/bin/python", module).split()
    assert all((ROOT / word).exists() for word in words if word.endswith(".py"))
