"""What README says works: its commands run as they stand, and nothing is left out of it."""

import io
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

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
    # bat, bash, zsh and fish cannot be run everywhere; whatever can be is sh, and is run above.
    assert {kind for kind, _ in BLOCKS} == {"sh", "bat", "bash", "zsh", "fish"}


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
    line = next(text for shell, text in BLOCKS if shell == kind)
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
