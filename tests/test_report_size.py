"""A page of a large study: 60 shots of 8 factors, every picture of it in 3 MB."""

from pathlib import Path

import pytest
from benchmarks.report_speed import large
from browser import open_window

from shotwindow.doe.readings import Readings, readings
from shotwindow.models.surface import Surfaces, fit_surfaces
from shotwindow.reports.findings import find
from shotwindow.reports.page import report_html

#: Of each exhibit whether it is kept together, of each printed cell how much room it has beside.
PRINTED = """
    const style = (e) => getComputedStyle(e);
    return [
      [...document.querySelectorAll("figure:not(.map)")]
        .filter((e) => e.parentElement.querySelector(":scope > h3:first-child + p + figure"))
        .map((e) => style(e.parentElement).breakInside),
      Math.min(...[...document.querySelectorAll(".readings :is(th, td)")]
        .map((e) => Math.min(parseFloat(style(e).paddingLeft), parseFloat(style(e).paddingRight)))),
    ];"""
PAPER = (703, 1000)  # A4 less the margins, in pixels of 1/96 inch
FEW = 12  # shots to fit the surfaces to, to be quick; their draws take as much room as any


def test_report_html__sixty_shots_of_eight_factors__all_shown_in_3_mb(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    study, rows, plan = large(3, 1)

    def fit_few(_: Readings, *, seed: int, signs: bool) -> Surfaces:
        return fit_surfaces(readings(study, rows[:FEW]), seed=seed, signs=signs, simulated=True)

    monkeypatch.setattr("shotwindow.reports.fitted.fit_surfaces", fit_few)
    found = find(study, rows)
    assert len(found.surfaces.fill.terms) == 45 and found.window is not None
    page = report_html(found, plan, ())
    assert len(page.encode()) < 3_000_000
    assert page.count("<svg") == 22 and page.count('tabindex="0" aria-label="Ruler of') == 8
    table = page.split("Every shot in running order</caption>")[1].split("</table>")[0]
    assert table.count("<tr>") == 1 + 60
    path = tmp_path / "report.html"
    path.write_text(page, encoding="utf-8")
    with open_window(tmp_path / "profile", PAPER) as window:
        window.open(path.as_uri())
        window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        assert window.width_of_content() <= PAPER[0]  # or all of it would be printed smaller
        together, beside = window.driver.execute_script(PRINTED)
    # a figure that finds no room takes its own head along, and not all that stands before
    assert len(together) > 6 and set(together) == {"avoid"}
    assert beside >= 2.5
