"""The run sheet as a page: prints from any browser, loads nothing, obeys no user's markup."""

from html.parser import HTMLParser

import pytest
from invented_shots import planned, study

from shotwindow.doe.columns import standard_layout
from shotwindow.doe.plan_file import planned_sheet
from shotwindow.doe.records import rows_of
from shotwindow.reports.sheet import RunSheet, run_sheet
from shotwindow.reports.sheet_page import is_wide, sheet_html

NASTY = '<script>alert("x")</script> & \u05e9\u05dc\u05d5\u05dd \U0001f600 ' + "long " * 2000


class Seen(HTMLParser):
    """Tags with their attributes, and the text between them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data

    def of(self, tag: str, wanted: str = "") -> int:
        return sum(t == tag and wanted in (a.get("class") or "") for t, a in self.tags)


def _sheet(name: str, title: str = "Invented") -> RunSheet:
    made = study(name)
    rows = rows_of(made, planned_sheet(made, planned(name)))
    sheet = run_sheet(made, standard_layout(made), rows, ("Hot nozzle.",))
    return RunSheet(**{**vars(sheet), "title": title})


def test_sheet_html__boxes_and_labels__one_a_line_and_one_a_part() -> None:
    sheet = _sheet("cube")
    seen = Seen(sheet_html(sheet))
    assert seen.of("span", "box") == len(sheet.lines)
    made = [line for line in sheet.shots if not line.is_warm_up]
    cavities = study("cube").mold.cavities
    assert seen.of("div", "label") - 1 == cavities * len(made)
    for cavity in range(1, cavities + 1):
        assert f"{made[0].shot}-{cavity}" in seen.text
    assert f"{made[0].shot}-{cavities + 1}" not in seen.text
    assert "8mm" in sheet_html(sheet) and "Hot nozzle." in seen.text


def test_sheet_html__changed_cells__as_many_as_changes() -> None:
    sheet = _sheet("map")
    changed = sum(setting.changed for line in sheet.shots for setting in line.settings)
    seen = Seen(sheet_html(sheet))
    assert seen.of("td", "changed") == changed
    assert seen.of("td", "same") == 2 * len(sheet.shots) - changed


@pytest.mark.parametrize(("paper", "size"), [("a4", "A4"), ("letter", "letter")])
def test_sheet_html__paper__as_asked(paper: str, size: str) -> None:
    assert f"size: {size} portrait" in sheet_html(_sheet("dial"), paper)


def test_is_wide__many_columns__are_printed_across() -> None:
    assert not is_wide(_sheet("map"))
    wide = RunSheet(**{**vars(_sheet("cube")), "reading_heads": ("a", "b", "c", "d")})
    assert is_wide(wide) and "landscape" in sheet_html(wide)
    assert "repeat(4, auto 1fr)" in sheet_html(wide)  # facts side by side
    assert "repeat(2, auto 1fr)" in sheet_html(_sheet("map"))  # more would break their words


def test_sheet_html__nothing__is_loaded() -> None:
    page = sheet_html(_sheet("map"))
    assert not {"src", "href", "action"} & {k for _, attrs in Seen(page).tags for k in attrs}
    assert "@import" not in page and "url(" not in page


def test_sheet_html__markup_of_a_user__is_shown_and_intact() -> None:
    seen = Seen(sheet_html(_sheet("dial", NASTY)))
    assert seen.of("script") == 0
    assert NASTY in seen.text
