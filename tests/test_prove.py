"""The run of all benchmarks: what is kept, what is gone on from, what comes into the page."""

import json
import platform
import re
from pathlib import Path

import pytest
from benchmarks import prove
from benchmarks.prove import PAGE, PARTS, ROOT, Part, kept_of, write_page

TWO = ["recovery", "made-sheets"]


def test_main__quick__kept_with_commit_machine_and_versions_and_not_run_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ["--quick", "--folder", str(tmp_path / "kept"), "--parts", *TWO]
    before = PAGE.read_bytes()
    name = prove.commit()
    assert re.fullmatch(r"[0-9a-f]{7,}( with changes)?", name)
    monkeypatch.setattr(prove, "commit", lambda: name)  # somebody may commit meanwhile
    assert prove.main(words) == 0
    assert PAGE.read_bytes() == before
    kept = kept_of(tmp_path / "kept", "recovery")
    assert kept is not None and "| overlap, mean " in kept["printed"]
    for word in (kept["commit"], "processors", f"Python {platform.python_version()}", "numpy 2."):
        assert word in kept["made"]
    assert kept["command"].startswith("python tests/benchmarks/recovery.py --shots 8")
    assert not any(word in str(kept) for word in (platform.node(), str(tmp_path), str(ROOT)))

    page = tmp_path / "BENCHMARKS.md"
    page.write_text("# Ours\n\nBy hand.\n", encoding="utf-8")
    for _ in range(2):  # the second time in the place of the first
        write_page(page, tmp_path / "kept")
    text = page.read_text(encoding="utf-8")
    assert text.startswith("# Ours\n\nBy hand.\n")
    assert text.count("| overlap, mean ") == 1 and text.count("```") == 2
    assert (tmp_path / "overlap.svg").read_text(encoding="utf-8").count("family") >= 2

    capsys.readouterr()
    monkeypatch.setattr(prove, "run", lambda *_, **__: pytest.fail("run again"))
    assert prove.main(words) == 0
    assert capsys.readouterr().out == "recovery: kept\nmade-sheets: kept\n"


def test_main__a_part_that_fails__told_and_nothing_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(PARTS, "crash", Part("-m nothing_of_this_name", "-m nothing_of_this_name"))
    assert prove.main(["--quick", "--folder", str(tmp_path), "--parts", "crash"]) == 1
    assert capsys.readouterr().out.endswith("crash: failed\n")
    assert list(tmp_path.iterdir()) == []


def test_write_page__another_result__only_its_block_changes(tmp_path: Path) -> None:
    page, kept = tmp_path / "page.md", {"command": "a", "seconds": "1", "made": "b", "printed": "c"}
    page.write_text("before\n", encoding="utf-8")
    for name, printed in (("million", "one"), ("exchange", "two"), ("million", r"\\1 three")):
        file = tmp_path / f"{name}.json"
        file.write_text(json.dumps({**kept, "printed": printed}), encoding="utf-8")
        write_page(page, tmp_path)
        page.write_text(page.read_text(encoding="utf-8") + "after\n", encoding="utf-8")
    text = page.read_text(encoding="utf-8")
    assert "one" not in text and "two" in text and r"\\1 three" in text
    assert text.startswith("before\n") and text.count("after\n") == 3


@pytest.mark.parametrize("part", PARTS.values(), ids=list(PARTS))
def test_parts__scripts_are_there(part: Part) -> None:
    for words in (part.full, part.quick or part.full):
        first = words.split()[0]
        assert first == "-m" or (PAGE.parent / first).exists()
