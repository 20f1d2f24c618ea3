"""The browser of the tests sees what it should: console errors, requests, sizes, visible text."""

from pathlib import Path

import pytest
from browser import PHONE, TABLET, open_window

PAGE = """<!DOCTYPE html><meta charset="utf-8"><link rel="icon" href="data:,">
<p id="seen">here</p><p hidden>unseen words</p>
<button onclick="document.getElementById('seen').textContent = 'tapped'">Tap me</button>
<script>
  console.error("something is wrong");
  document.body.style.background = matchMedia("(prefers-color-scheme: dark)").matches ? "#111" : "";
</script>
<img src="other.png" alt="">"""


def test_window__a_page_with_faults__told(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text(PAGE, encoding="utf-8")
    with open_window(tmp_path / "profile", PHONE, dark=True) as window:
        window.open(page.as_uri())
        window.tap("Tap me")
        window.wait_for("#seen", "tapped")
        assert "unseen words" not in window.text()
        assert window.width_of_content() == PHONE[0]
        assert any("something is wrong" in error for error in window.errors())
        assert window.requests() == [page.as_uri(), page.with_name("other.png").as_uri()]
        style = "return document.body.style.background"
        assert window.driver.execute_script(style) == "rgb(17, 17, 17)"
        window.resize(TABLET)
        assert window.width_of_content() == TABLET[0]


def test_window__no_browser__skipped_but_failed_under_ci(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="chromium"), open_window(tmp_path):
        pass
    monkeypatch.delenv("CI")
    with pytest.raises(pytest.skip.Exception, match="chromium"), open_window(tmp_path):
        pass
