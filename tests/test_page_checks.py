"""The judges of pages find what is wrong, and their absence never passes unseen under CI."""

from pathlib import Path

import page_checks
import pytest
from browser import PHONE, open_window
from page_checks import access_faults, markup_faults

FAULTY = """<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Faults</title></head>
<body><main><h1>Faults</h1><p style="color:#bbb;background:#fff">pale words</p>
<img src="data:,"><p id="one">one</p><p id="one">two</p></main></body></html>"""


def test_access_faults__pale_words_and_a_picture_without_words__told(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text(FAULTY, encoding="utf-8")
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(page.as_uri())
        rules = {fault.split(":")[0] for fault in access_faults(window)}
    assert {"color-contrast", "image-alt"} <= rules


def test_markup_faults__an_id_twice_and_a_picture_without_words__told(tmp_path: Path) -> None:
    good, bad = tmp_path / "good.html", tmp_path / "bad.html"
    bad.write_text(FAULTY, encoding="utf-8")
    head, _, tail = FAULTY.partition("<img")
    # a section without a heading is a warning and no error
    some = "<section><p>words</p></section></main></body></html>"
    good.write_text(head + some, encoding="utf-8")
    told = markup_faults([good, bad])
    assert tail and {fault.split(":")[0] for fault in told} == {"bad.html"}
    assert any("Duplicate ID" in fault for fault in told) and any("alt" in fault for fault in told)


def test_access_faults__judge_that_breaks__told_and_not_taken_for_no_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    axe = tmp_path / "node_modules" / page_checks.AXE
    axe.parent.mkdir(parents=True)
    axe.write_text("window.axe = { run: () => Promise.reject('broken') }", encoding="utf-8")
    monkeypatch.setenv("PAGE_CHECKS", str(tmp_path))
    page = tmp_path / "page.html"
    page.write_text(FAULTY, encoding="utf-8")
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(page.as_uri())
        assert [fault.split(":")[0] for fault in access_faults(window)] == ["broken"]


def test_judges__no_java__failed_under_ci(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    checker = tmp_path / "node_modules" / page_checks.NU
    checker.parent.mkdir(parents=True)
    checker.touch()
    monkeypatch.setenv("PAGE_CHECKS", str(tmp_path))
    monkeypatch.setenv("CI", "true")
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(pytest.fail.Exception, match="java"):
        markup_faults([])


def test_judges__not_installed__skipped_but_failed_under_ci(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PAGE_CHECKS", str(tmp_path))
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="vnu"):
        markup_faults([])
    monkeypatch.delenv("CI")
    with pytest.raises(pytest.skip.Exception, match="vnu"):
        markup_faults([])
