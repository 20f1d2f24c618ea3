"""The run of all benchmarks: what is kept, what is gone on from, what comes into the page."""

import json
import os
import platform
import re
import subprocess
from datetime import date
from importlib.metadata import version
from pathlib import Path

import pytest
from benchmarks import prove
from benchmarks.prove import LIBRARIES, PAGE, PARTS, ROOT, Part, kept_of, rows_of, write_page

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
    assert text.index("\n## Million\n\n<!--") < text.index("\n## Exchange\n\n<!--")
    assert "`a`, 1 s. Commit b.\n\n```\ntwo\n```\n<!--" in text
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
    for name in ("BENCHMARKS.md", "overlap.svg", "kinds.py"):
        (scripts / name).write_text("before")
    who = ["-c", "user.name=a", "-c", "user.email=a@example.org"]
    for words in (["init", "-q"], ["add", "."], [*who, "commit", "-q", "-m", "all"]):
        subprocess.run(["git", "-C", str(tmp_path), *words], check=True)
    name = prove.commit()
    for written in ("BENCHMARKS.md", "overlap.svg"):
        (scripts / written).write_text("after")
        assert prove.commit() == name
    (scripts / "kinds.py").write_text("after")
    assert prove.commit() == f"{name} with changes"
    assert rows_of(tmp_path, "kinds", prove.commit()).name == f"kinds-{name}-with-changes.jsonl"


@pytest.mark.parametrize("room", ["doe", "models", "reports", "cli"])
def test_commit__source_changed__another_state(
    room: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prove, "ROOT", tmp_path)
    (tmp_path / room).mkdir()
    (tmp_path / room / "a.py").write_text("before")
    who = ["-c", "user.name=a", "-c", "user.email=a@example.org"]
    for words in (["init", "-q"], ["add", "."], [*who, "commit", "-q", "-m", "all"]):
        subprocess.run(["git", "-C", str(tmp_path), *words], check=True)
    assert not prove.commit().endswith("with changes")
    (tmp_path / room / "a.py").write_text("after")
    assert prove.commit().endswith("with changes")


def test_write_page__a_table__set_as_it_is(tmp_path: Path) -> None:
    page, kept = (
        tmp_path / "page.md",
        {"command": "a", "seconds": "1", "made": "b", "printed": "| c |"},
    )
    (tmp_path / "made-sheets.json").write_text(json.dumps(kept), encoding="utf-8")
    (tmp_path / "growth.json").write_text(json.dumps(kept), encoding="utf-8")
    page.write_text("Ours\n", encoding="utf-8")
    write_page(page, tmp_path)
    text = page.read_text(encoding="utf-8")
    assert text.count("```") == 2 and "\n## Made sheets\n" in text
    assert "Commit b.\n\n| c |\n<!-- end of growth -->" in text


# One word each, which is what a part may consist of: no blanks.
SEEN = "print(__import__('os').environ.get('KILLS'),__import__('os').environ['OMP_NUM_THREADS'])"
CALLED = "print(__import__('sys').argv[1:],__import__('os').getcwd())"


def test_main__some_were_kept__those_of_another_commit_and_no_others_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    page = tmp_path / "page.md"
    page.write_text("Ours\n", encoding="utf-8")
    monkeypatch.setattr(prove, "PAGE", page)
    monkeypatch.setattr(prove, "PARTS", {"a": Part("-c print(7.5)"), "b": Part(f"-c {SEEN}")})
    words = ["--folder", str(tmp_path / "kept")]
    for name, said in (("one", r"a: \d s"), ("one", "a: kept"), ("two", r"a: \d s")):
        monkeypatch.setattr(prove, "commit", lambda name=name: name)
        assert prove.main([*words, "--parts", "a"]) == 0
        assert re.fullmatch(said, capsys.readouterr().out.strip())
        assert f"Commit {name}, " in page.read_text(encoding="utf-8")


def test_main__cut__what_was_done_is_on_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, run = tmp_path / "page.md", prove.run
    page.write_text("Ours\n", encoding="utf-8")
    monkeypatch.setattr(prove, "PAGE", page)
    monkeypatch.setattr(prove, "PARTS", {"a": Part("-c print(7.5)"), "b": Part("-c print(8.5)")})

    def cut(name: str, folder: Path, *, quick: bool, peer: str | None) -> dict[str, str] | None:
        if name == "b":
            raise KeyboardInterrupt
        return run(name, folder, quick=quick, peer=peer)

    monkeypatch.setattr(prove, "run", cut)
    with pytest.raises(KeyboardInterrupt):
        prove.main(["--folder", str(tmp_path)])
    text = page.read_text(encoding="utf-8")
    assert "7.5" in text and "8.5" not in text


def test_main__quick__parts_without_it_left_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prove, "PARTS", {"a": Part("-c print(1)")})
    assert prove.main(["--quick", "--folder", str(tmp_path)]) == 0
    assert capsys.readouterr().out == "" and list((tmp_path / "quick").iterdir()) == []


def test_run__in_full__with_its_setting_and_one_thread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    part = Part(f"-c {SEEN}", f"-c {SEEN}", setting={"KILLS": "200"})
    monkeypatch.setattr(prove, "PARTS", {"crash": part})
    monkeypatch.setenv("OMP_NUM_THREADS", "8")
    monkeypatch.chdir(tmp_path)
    for quick, printed, command in (
        (False, "200 1", f"KILLS=200 python -c {SEEN}"),
        (True, "None 1", f"python -c {SEEN}"),
    ):
        kept = prove.run("crash", tmp_path, quick=quick, peer=None)
        assert kept is not None and kept == kept_of(tmp_path, "crash")
        assert (kept["printed"], kept["command"]) == (printed, command)
        assert f", {date.today()}; " in kept["made"]  # fails once at midnight


def test_run__peer__for_sampling_in_full_and_not_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    part = Part(f"-c {CALLED}", f"-c {CALLED}")
    monkeypatch.setattr(prove, "PARTS", {"sampling": part, "growth": part})
    monkeypatch.chdir(tmp_path)
    for name, quick, called in (
        ("sampling", False, ["--peer", str(tmp_path / "peer/python")]),
        ("sampling", True, []),
        ("growth", False, []),
    ):
        kept = prove.run(name, tmp_path, quick=quick, peer="peer/python")
        assert kept is not None and kept["printed"] == f"{called} {ROOT}"
        assert kept["command"] == f"python -c {CALLED}{' --peer PYTHON' if called else ''}"


def test_run__failed__what_it_printed_is_shown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prove, "PARTS", {"a": Part("-c print('why');exit(3)")})
    assert prove.run("a", tmp_path, quick=False, peer=None) is None
    assert capsys.readouterr().out == "why\n\n" and kept_of(tmp_path, "a") is None


def test_machine__processors_memory_load_and_no_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "getloadavg", lambda: (7.26, 1.0, 1.0))
    monkeypatch.setattr(os, "cpu_count", lambda: 48)
    monkeypatch.setattr(os, "sysconf", {"SC_PAGE_SIZE": 4096, "SC_PHYS_PAGES": 3 * 2**20}.get)
    said = prove.machine()
    assert re.fullmatch(r"48 processors \(.+\), 12 GB, load 7\.3", said)
    assert platform.node() not in said
    info = Path("/proc/cpuinfo")
    if info.exists() and "model name" in info.read_text():
        assert said.partition("(")[2].partition("), 12 GB")[0] in info.read_text()


def test_versions__of_every_library_that_counts() -> None:
    assert prove.versions().split(", ")[1:] == [f"{name} {version(name)}" for name in LIBRARIES]


def test_parser__nothing_said__all_parts_kept_where_git_does_not_look() -> None:
    asked = prove._parser().parse_args([])
    assert asked.parts == list(PARTS) and not (asked.quick or asked.again or asked.peer)
    ignored = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    assert asked.folder.parent == ROOT and any(asked.folder.name in word for word in ignored)
