"""The notebooks of the examples run from top to bottom, and say again what is stored in them."""

import re
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

EXAMPLES = Path(__file__).parent.parent / "examples"
NOTEBOOKS = sorted(EXAMPLES.glob("*/*.ipynb"))


def _words(book: Any) -> list[str]:
    """Return the plain text of every output in order, however it is broken into lines."""
    outputs = [o for cell in book.cells if cell.cell_type == "code" for o in cell.outputs]
    texts = [o.text if o.output_type == "stream" else o.data["text/plain"] for o in outputs]
    return [re.sub(r"\s+", " ", text).strip() for text in texts]


def test_notebooks__one_at_least() -> None:
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.parent.name)
def test_notebook__run_again__says_what_is_stored(path: Path) -> None:
    stored = nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]
    assert "invented" in stored.cells[0].source
    fresh = nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]
    NotebookClient(fresh, timeout=120, resources={"metadata": {"path": str(path.parent)}}).execute()
    assert len(_words(stored)) >= 5 and _words(fresh) == _words(stored)
    assert str(EXAMPLES.parent) not in path.read_text(encoding="utf-8")
