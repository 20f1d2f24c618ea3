"""The examples in the docstrings of the benchmarks run; the tests leave that folder out."""

import doctest
import importlib
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent / "benchmarks"
SHOWN = [p.stem for p in sorted(FOLDER.glob("*.py")) if ">>> " in p.read_text(encoding="utf-8")]


@pytest.mark.parametrize("name", SHOWN)
def test_benchmarks__examples_run(name: str) -> None:
    done = doctest.testmod(importlib.import_module(f"benchmarks.{name}"))
    assert done.attempted > 0 and done.failed == 0
