"""What README says works: its commands run as they stand, and nothing is left out of it."""

import importlib
import inspect
import io
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest

from shotwindow.cli.main import COMMANDS, run

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w*)\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def sections() -> dict[str, list[str]]:
    """Commands of the sh blocks under each heading, in order."""
    found: dict[str, list[str]] = {}
    for part in re.split(r"^## ", README, flags=re.MULTILINE)[1:]:
        blocks = re.findall(r"^```sh\n(.*?)^```$", part, re.MULTILINE | re.DOTALL)
        joined = (block.replace("\\\n", " ") for block in blocks)
        lines = [line for block in joined for line in block.splitlines() if line.strip()]
        if lines:
            found[part.splitlines()[0]] = lines
    return found


@pytest.mark.parametrize("title", sections())
def test_readme__commands_of_a_section__run_in_order(
    title: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdin", io.StringIO())  # nobody answers
    for line in sections()[title]:
        program, *args = shlex.split(line)
        assert program == "shotwindow", line
        code = run(args)
        assert code == 0, f"{line}: exit {code}\n{capsys.readouterr().err}"


def test_readme__every_block__of_a_known_kind() -> None:
    # bat, bash, zsh and fish cannot be run everywhere; whatever can be is sh, and is run above,
    # or python, and is run below.
    assert {kind for kind, _ in BLOCKS} == {"sh", "python", "bat", "bash", "zsh", "fish"}


def test_readme__python__runs_and_prints_what_window_says(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    (block,) = (text for kind, text in BLOCKS if kind == "python")
    exec(block, {})
    first, *edges, good, shape = capsys.readouterr().out.splitlines()
    assert run(["window", "examples/plant-label", "--json"]) == 0
    setpoint = json.loads(capsys.readouterr().out)["setpoint"]
    shown = dict(re.findall(r"'(\w+)': ([\d.]+)", first))
    assert shown and all(float(value) == setpoint[name] for name, value in shown.items())
    assert float(good.strip("[]")) == pytest.approx(setpoint["probability_good"], abs=0.005)
    assert len(edges) == 2 * len(shown) and re.fullmatch(r"\(\d+, \d+\)", shape)


def test_readme__steps__as_their_docstrings_say() -> None:
    steps = re.findall(r"^\| `(shotwindow\.[\w.]+)\.(\w+)` \| (.*) \|$", README, re.MULTILINE)
    assert len(steps) >= 10
    for module, name, said in steps:
        text = inspect.getdoc(getattr(importlib.import_module(module), name)) or ""
        assert said == text.partition("\n")[0].rstrip("."), name


def test_readme__steps__say_what_they_take_and_return_as_promised() -> None:
    """What is described at the class of a value need not be told again."""
    assert "docstring what it takes and returns, in which units and shapes" in README
    for module, name in re.findall(r"^\| `(shotwindow\.[\w.]+)\.(\w+)` \|", README, re.MULTILINE):
        step = getattr(importlib.import_module(module), name)
        text, hints = inspect.getdoc(step) or "", get_type_hints(step)
        back = hints.pop("return")
        assert "\nParameters\n---" in text or all(_described(kind) for kind in hints.values()), name
        assert "\nReturns\n---" in text or _described(back), name


def _described(kind: Any) -> bool:
    """Whether classes of a value, or their methods, say what they hold."""
    kinds = [one for one in get_args(kind) if one not in (Ellipsis, type(None))] or [kind]
    return all(
        one.__module__.startswith("shotwindow.")
        and any(
            re.search(r"\n\s*(Parameters|Attributes)\n\s*---", getattr(part, "__doc__", None) or "")
            for part in (one, *vars(one).values())
        )
        for one in kinds
    )


def test_readme__every_command__in_the_table_and_shown() -> None:
    table = re.findall(r"^\| `shotwindow (\w+)", README, re.MULTILINE)
    assert table == list(COMMANDS)
    shown = {line.split()[1] for lines in sections().values() for line in lines}
    assert shown >= set(COMMANDS) - {"demo"}  # which `make demo` and the wheel's check run
    assert "shotwindow demo" in README


def test_readme__make_commands_first_and_there() -> None:
    targets = re.findall(r"^(\w+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE)
    named = re.findall(r"`make (\w+)`", README)
    assert named[:2] == ["demo", "test"]
    assert set(named) <= set(targets)
    assert README.index("`make demo`") < README.index("pip install")


def test_readme__cautions_before_the_first_command() -> None:
    first = README[: README.index("```")]
    for word in ("manual", "local codes", "supervision", "burn", "clamp", "pressure", "fumes"):
        assert word in first


def test_readme__links_lead_somewhere() -> None:
    links = re.findall(r"\]\((?!http)([^)#]+)\)", README)
    assert links
    for link in links:
        assert (ROOT / link).exists(), link


@pytest.mark.parametrize("kind", ["bash", "zsh", "fish"])
def test_readme__completion__as_click_makes_it(kind: str) -> None:
    line = next(t for shell, t in BLOCKS if shell == kind and "COMPLETE" in t)
    assert f"_SHOTWINDOW_COMPLETE={kind}_source shotwindow" in line
    if kind == "bash" and not shutil.which("bash"):
        pytest.skip("click asks bash for its version")
    tool = Path(sys.executable).with_name("shotwindow")
    environment = os.environ | {"_SHOTWINDOW_COMPLETE": f"{kind}_source"}
    done = subprocess.run([tool], env=environment, capture_output=True, text=True, check=True)
    assert "_shotwindow_completion" in done.stdout


def test_readme__lines_fit() -> None:
    prose = re.sub(r"^```.*?^```$", "", README, flags=re.MULTILINE | re.DOTALL)
    long = [line for line in prose.splitlines() if len(line) > 104 and not line.startswith("|")]
    assert long == []


def test_citation__same_version_and_license_as_the_package() -> None:
    citation = (ROOT / "CITATION.cff").read_text(encoding="utf-8")
    told = dict(re.findall(r"^([a-z-]+): (.+)$", citation, re.MULTILINE))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert (told["version"], told["license"]) == (project["version"], project["license"])
    assert re.findall(r"^  - (?!name)(.+)$", citation, re.MULTILINE) == project["keywords"]
