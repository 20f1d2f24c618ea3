"""A blind list -> a page to print and a spreadsheet to fill in, without any first reading."""

from dataclasses import dataclass
from io import BytesIO

from shotwindow.doe.blind_lists import BlindList
from shotwindow.doe.columns import Layout
from shotwindow.doe.second_reader import PART, reading_heading
from shotwindow.doe.study import Study
from shotwindow.reports.sheet import reading_rules
from shotwindow.reports.sheet_page import PAPERS
from shotwindow.reports.templates import filled
from shotwindow.reports.workbook import ABOUT, add_check, cell_rules, put, timeless, write_lines

LIST = "blind list"


@dataclass(frozen=True)
class BlindSheet:
    """What a second person gets to see: `labels` are those of the parts, in their order."""

    title: str
    response: str
    heading: str
    labels: tuple[str, ...]
    how: tuple[str, ...]


def blind_sheet(study: Study, listed: BlindList) -> BlindSheet:
    """Return the sheet of a list."""
    own = next(rule for rule in reading_rules(study) if rule.lower().startswith(listed.response))
    together = listed.parts[0].label.endswith("-all")
    label = (
        "7-all is all parts of shot 7: read the worst" if together else "7-2 is shot 7, cavity 2"
    )
    return BlindSheet(
        title=study.title or study.mold.name or "Study without a title",
        response=listed.response,
        heading=reading_heading(study, listed.response),
        labels=tuple(part.label for part in listed.parts),
        how=(
            own,
            "Read each part on its own, in this order, without looking at the run sheet or asking "
            "who read it before. Do not go back.",
            f"{label}. A part that is not there any more stays empty.",
            "Whoever hands over the parts folds their labels so that no setting is seen: a setting "
            "gives away what to expect.",
            "Parts can be sharp at flash and gate: wear gloves, and let them be cold.",
        ),
    )


def blind_html(sheet: BlindSheet, paper: str = "a4") -> str:
    """Return the page for "a4" or "letter" paper."""
    return filled("blind.html", sheet=sheet, paper=PAPERS[paper])


def blind_workbook(study: Study, layout: Layout, listed: BlindList, sheet: BlindSheet) -> bytes:
    """Return the .xlsx file; the same list gives the same bytes."""
    from openpyxl import Workbook
    from openpyxl.styles import Font, Protection

    book = Workbook()
    table = book.active
    table.title = LIST
    for column, heading in enumerate(("no.", PART, sheet.heading, "note"), start=1):
        head = table.cell(1, column, heading)
        head.font = Font(bold=True)
        table.column_dimensions[head.column_letter].width = 30 if heading == "note" else 16
    for place, label in enumerate(sheet.labels, start=1):
        table.cell(place + 1, 1, place)
        put(table.cell(place + 1, 2), label)
        table.cell(place + 1, 2).number_format = "@"  # or 7-2 would turn into a date
        for column in (3, 4):
            table.cell(place + 1, column).protection = Protection(locked=False)
    rule = cell_rules(study, layout).get(listed.parts[0].heading)
    if rule is not None:
        add_check(table, 3, len(sheet.labels), rule)
    table.freeze_panes, table.protection.sheet = "A2", True
    write_lines(book.create_sheet(ABOUT), ((f"Blind list for {sheet.response}", sheet.how),))
    file = BytesIO()
    book.save(file)
    return timeless(file.getvalue())
