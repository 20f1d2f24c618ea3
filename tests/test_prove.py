"""The run of all benchmarks: what is kept, what is gone on from, what comes into the page."""

import json
import platform
import re
import subprocess
from pathlib import Path

import pytest
from benchmarks import prove
from benchmarks.prove import PAGE, PARTS, ROOT, Part, kept_of, rows_of, write_page

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
    quick = tmp_path / "kept" / "quick"
    kept = kept_of(quick, "recovery")
    assert kept is not None and "| overlap, mean " in kept["printed"]
    for word in (kept["commit"], "processors", f"Python {platform.python_version()}", "numpy 2."):
        assert word in kept["made"]
    assert kept["command"].startswith("python tests/benchmarks/recovery.py --shots 8")
    assert not any(word in str(kept) for word in (platform.node(), str(tmp_path), str(ROOT)))

    page = tmp_path / "BENCHMARKS.md"
    page.write_text("# Ours\n\nBy hand.\n", encoding="utf-8")
    for _ in range(2):  # the second time in the place of the first
        write_page(page, quick)
    text = page.read_text(encoding="utf-8")
    assert text.startswith("# Ours\n\nBy hand.\n")
    assert text.count("| overlap, mean ") == 1 and text.count("```") == 2
    assert (tmp_path / "overlap.svg").read_text(encoding="utf-8").count("family") >= 2

    capsys.readouterr()
    monkeypatch.setattr(prove, "run", lambda *_, **__: pytest.fail("run again"))
    assert prove.main(words) == 0
    assert capsys.readouterr().out == "recovery: kept\nmade-sheets: kept\n"
    with pytest.raises(pytest.fail.Exception, match="run again"):  # in full it was not run yet
        prove.main(words[1:])


def test_main__a_part_that_fails__told_and_nothing_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(PARTS, "crash", Part("-m nothing_of_this_name", "-m nothing_of_this_name"))
    assert prove.main(["--quick", "--folder", str(tmp_path), "--parts", "crash"]) == 1
    assert capsys.readouterr().out.endswith("crash: failed\n")
    assert list((tmp_path / "quick").iterdir()) == []


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


def test_main__full__page_written_by_rows_of_this_commit_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, kept, made = tmp_path / "page.md", tmp_path / "kept", iter(["aaaaaaa", "bbbbbbb"])
    page.write_text("# Ours\n", encoding="utf-8")
    kept.mkdir()
    poor = rows_of(kept, "kinds", "aaaaaaa")
    poor.write_text("no row\n", encoding="utf-8")
    words = "kinds.py --presses 1 --shots 12 --kinds box-behnken --workers 1 --json ROWS"
    monkeypatch.setattr(prove, "PAGE", page)
    monkeypatch.setattr(prove, "commit", lambda: next(made))
    monkeypatch.setattr(prove, "PARTS", {"kinds": Part(words, table=True)})
    asked = ["--folder", str(kept), "--parts", "kinds", "--again"]
    assert prove.main(asked) == 1  # the rows of this commit are read
    assert page.read_text(encoding="utf-8") == "# Ours\n"
    assert prove.main(asked) == 0  # those of another one are not
    text = page.read_text(encoding="utf-8")
    assert "| box-behnken | - |" in text and "Commit bbbbbbb, " in text
    assert poor.read_text(encoding="utf-8") == "no row\n"
    assert len(rows_of(kept, "kinds", "bbbbbbb").read_text(encoding="utf-8").splitlines()) == 2


def test_commit__page_written__what_is_measured_is_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prove, "ROOT", tmp_path)
    scripts = tmp_path / "tests" / "benchmarks"
    scripts.mkdir(parents=True)
    for name in ("BENCHMARKS.md", "kinds.py"):
        (scripts / name).write_text("before")
    who = ["-c", "user.name=a", "-c", "user.email=a@example.org"]
    for words in (["init", "-q"], ["add", "."], [*who, "commit", "-q", "-m", "all"]):
        subprocess.run(["git", "-C", str(tmp_path), *words], check=True)
    name = prove.commit()
    (scripts / "BENCHMARKS.md").write_text("after")
    assert prove.commit() == name
    (scripts / "kinds.py").write_text("after")
    assert prove.commit() == f"{name} with changes"
