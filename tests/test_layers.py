"""The rooms stay rooms: imports flow one way, and quick commands stay light."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from sheets import study_in

ROOT = Path(__file__).parent.parent
LAYERS = ["doe", "models", "reports", "cli"]
HEAVY = {"numpy", "scipy", "matplotlib", "statsmodels", "pyDOE2", "pydantic", "openpyxl", "jinja2"}


def _imported(path: Path) -> set[str]:
    """Folders of shotwindow that a module imports, at its top or inside a function."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module] + [f"{node.module}.{a.name}" for a in node.names]
        elif isinstance(node, ast.Import):
            names = [a.name for a in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "shotwindow" and len(parts) > 1:
                found.add(parts[1])
    return found


@pytest.mark.parametrize("layer", LAYERS)
def test_imports__each_folder__only_itself_and_those_below(layer: str) -> None:
    allowed = {*LAYERS[: LAYERS.index(layer) + 1], *(["examples"] if layer == "cli" else [])}
    wrong = {
        str(path.relative_to(ROOT)): sorted(_imported(path) - allowed)
        for path in sorted((ROOT / layer).glob("*.py"))
        if _imported(path) - allowed
    }
    assert wrong == {}


def test_models__no_files_no_printing() -> None:
    for path in sorted((ROOT / "models").glob("*.py")):
        calls = {
            node.func.id
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert not calls & {"print", "open"}, path.name


def _loaded(code: str) -> set[str]:
    script = f"import sys\n{code}\nprint(*{{name.split('.')[0] for name in sys.modules}})\n"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return set(done.stdout.split("\n")[-2].split())


def test_help__loads_nothing_heavy() -> None:
    code = "from shotwindow.cli.main import run\nassert run(['--help']) == 0"
    assert not _loaded(code) & HEAVY


def _modules(code: str) -> set[str]:
    script = f"import sys\n{code}\nprint(*sys.modules)\n"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return set(done.stdout.split("\n")[-2].split())


@pytest.mark.parametrize(
    "modules",
    [
        "doe.session, shotwindow.doe.readings",
        "models.surface, shotwindow.models.window, shotwindow.models.setpoint",
    ],
    ids=["record", "window"],
)
def test_press_side_paths__leave_slow_libraries_out(modules: str) -> None:
    slow = {"scipy.stats", "scipy.optimize", "pyDOE2", "statsmodels", "matplotlib"}
    assert not _modules(f"import shotwindow.{modules}") & slow


def test_record__without_a_page__loads_nothing_that_serves_one(tmp_path: Path) -> None:
    study_in(tmp_path)
    words = ["record", str(tmp_path)]
    code = "import os, sys\nsys.stdin = open(os.devnull)\nfrom shotwindow.cli.main import run\n"
    loaded = _loaded(f"{code}assert run({words!r}) == 0")
    assert "click" in loaded
    assert not loaded & {"flask", "werkzeug", "waitress"}
