"""A seed -> a filled-in sheet or a study, with the values or the refusals that must come of it.

All of it is invented. What is expected comes from what the generator meant to write, never from
the code that reads it; a spreadsheet's rows and letters are counted here on their own.
"""

import csv
import io
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from sheets import EYE, GRADES, MASS

NBSP, NARROW = "\u00a0", "\u202f"
FILLS = {
    EYE: ("fill (%)",),
    MASS: ("mass 1 (g)", "mass 2 (g)"),
    GRADES: ("fill (%)",),
}
PRESSURE = "pressure (bar)"
PLANNED = {3: 3.0, 4: 4.0, 5: 4.5, 6: 3.5, 7: 4.5, 8: 5.0}  # pressure of sheets.SETTINGS
NOTES = (
    "",
    "cold",
    "=1+2",
    "+3",
    "-slow",
    "@gate",
    "<b>für</b>",
    'said "go"',
    "a;b,c\td",
    "two\nrows",
)
ANYWHERE = ("none", "ambiguous", "words", "no reading", "below", "planned", "twice", "unknown shot")
ONLY_XLSX = ("formula", "date", "error")


@dataclass
class MadeSheet:
    """One file, and what must come of it.

    Attributes
    ----------
    trouble : str
        "none", or what is wrong in it.
    study, file : str
    data : bytes
    values : dict
        By shot and heading the number or the text of every row that is right.
    refused : set of str
        The end of the place of each refusal, for instance ``row 4, "flash (mm)" (C4)``.
    """

    trouble: str
    study: str
    file: str
    data: bytes = b""
    values: dict[int, dict[str, float | str]] = field(default_factory=dict)
    refused: set[str] = field(default_factory=set)


@dataclass(frozen=True)
class MadeStudy:
    """A study.toml, and its values or the place of its one mistake."""

    trouble: str
    text: str
    low: float
    high: float
    cavities: int
    refused: str


Written = dict[str, Any]


def made_sheet(seed: int) -> MadeSheet:
    """Return one sheet: some are .xlsx files, and half of all hold something wrong."""
    chance = random.Random(f"sheet {seed}")
    study = chance.choice((EYE, MASS, GRADES))
    xlsx = chance.random() < 0.12
    kinds = ANYWHERE[1:] + (ONLY_XLSX if xlsx else ())
    trouble = "none" if chance.random() < 0.5 else chance.choice(kinds)
    made = MadeSheet(trouble, study, "mine.xlsx" if xlsx else "mine.csv")
    flash = "flash (grade)" if study == GRADES else "flash (mm)"
    heads = ["shot", *FILLS[study], flash, "note"]
    heads += [h for h in (PRESSURE, "photo", f"actual {PRESSURE}") if chance.random() < 0.5]
    if trouble == "planned" and PRESSURE not in heads:
        heads.append(PRESSURE)
    hand = _hand(chance, xlsx)
    rows: list[Written] = []
    for shot, pressure in PLANNED.items():
        value = {name: _value(chance, study, name, shot) for name in heads[1:] if name != PRESSURE}
        rows.append({name: hand(name, v) for name, v in value.items()})
        rows[-1] |= {"shot": shot, PRESSURE: hand(PRESSURE, pressure)}
        made.values[shot] = {name: v for name, v in value.items() if v != ""}
    chance.shuffle(heads)
    chance.shuffle(rows)
    wrong = _spoil(chance, made, rows, flash)
    lines, numbers = _lines(chance, heads, rows)
    for at, name in wrong:
        letter = get_column_letter(heads.index(name) + 1)
        made.refused.add(f'row {numbers[at]}, "{name}" ({letter}{numbers[at]})')
    made.data = _xlsx(lines, chance) if xlsx else _csv(lines, chance)
    return made


def _lines(
    chance: random.Random, heads: list[str], rows: list[Written]
) -> tuple[list[list[Any]], list[int]]:
    """Return all lines of the file, and the number of each row as a spreadsheet shows it."""
    lead = chance.choice((0, 0, 0, 1, 2))
    lines: list[list[Any]] = [["Invented lid"], []][:lead] + [list(heads)]
    numbers = []
    for row in rows:
        if chance.random() < 0.2:
            lines.append([""] * len(heads))
        lines.append([row.get(name, "") for name in heads])
        numbers.append(len(lines))
    return lines, numbers


def _value(chance: random.Random, study: str, name: str, shot: int) -> float | str:
    """Return what was seen of a shot in one column."""
    if name == "flash (grade)":
        return chance.randrange(4)
    if name == "flash (mm)":
        return round(chance.randrange(1, 15) * 0.02, 2)
    if name == f"actual {PRESSURE}":
        return round(PLANNED[shot] + chance.randrange(-2, 3) * 0.05, 2)
    if name == "note":
        return chance.choice(NOTES)
    return f"{shot}.jpg" if name == "photo" else _fill(chance, study, name)


def _fill(chance: random.Random, study: str, name: str) -> float:
    if study == MASS:
        return round(chance.randrange(70, 101) / 100 * (2.0 if "1" in name else 4.0), 3)
    return chance.randrange(120, 201) / 2


def _hand(chance: random.Random, xlsx: bool) -> Callable[[str, float | str], Any]:
    """Return how one person writes numbers: decimal mark, spaces, percent sign, unit."""
    comma, typed = chance.random() < 0.5, xlsx and chance.random() < 0.7
    percent = chance.choice(("", "%", " %", NBSP + "%", NARROW + "%"))
    around = chance.choice(("", "", " ", NBSP))
    unit = chance.random() < 0.2

    def write(name: str, value: float | str) -> Any:
        if isinstance(value, str):
            return value
        if typed:
            # A cell with a percent format holds a share; `_xlsx` formats pairs so.
            return (value / 100, "0.0%") if percent and name == "fill (%)" else value
        text = f"{value:.10g}"
        if comma and "," not in text:
            text = text.replace(".", ",")
        if name.startswith("mass"):
            # Three decimals after a comma are ambiguous only behind 1 to 9: write the last zero.
            text = text if "," not in text or len(text.split(",")[1]) != 3 else text + "0"
            text += " g" if unit else ""
        return around + text + (percent if name == "fill (%)" else "") + around

    return write


def _spoil(
    chance: random.Random, made: MadeSheet, rows: list[Written], flash: str
) -> list[tuple[int, str]]:
    """Make one or two rows wrong; return where, as index and heading."""
    if made.trouble == "none":
        return []
    wrong: list[tuple[int, str]] = []
    for at in chance.sample(range(len(rows)), chance.randrange(1, 3)):
        shot, fill = rows[at]["shot"], FILLS[made.study][0]
        name, cell = {
            "ambiguous": (chance.choice((fill, flash)), "1,250"),
            "words": (fill, "much"),
            "no reading": (flash, ""),
            "below": (flash, "-1"),
            "planned": (PRESSURE, "6.6"),
            "twice": ("shot", shot),
            "unknown shot": ("shot", 99 + at),
            "formula": (fill, "=A1*1"),
            "date": (flash, date(2025, 2, 1)),
            "error": (fill, "#DIV/0!"),
        }[made.trouble]
        if made.trouble == "twice":
            rows.append(dict(rows[at]))
            wrong.append((len(rows) - 1, "shot"))
            continue
        rows[at][name] = cell
        wrong.append((at, name))
        del made.values[shot]
    return wrong


def _csv(lines: list[list[Any]], chance: random.Random) -> bytes:
    separator = chance.choice(";,\t")
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=separator, lineterminator=chance.choice(("\r\n", "\n"))).writerows(
        lines
    )
    told = f"sep={separator}\r\n" if chance.random() < 0.2 else ""
    whole = told + text.getvalue()
    codes = ["utf-8", "utf-8-sig", "utf-16"] + ["cp1252"] * (NARROW not in whole)
    return whole.encode(chance.choice(codes))


def _xlsx(lines: list[list[Any]], chance: random.Random) -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for number, line in enumerate(lines, start=1):
        for column, value in enumerate(line, start=1):
            cell: Any = sheet.cell(number, column)
            if isinstance(value, tuple):
                value, cell.number_format = value
            cell.value = value if value != "" else None
            if isinstance(value, str) and value.startswith("=") and value != "=A1*1":
                cell.data_type = "s"
            if value == "#DIV/0!":
                cell.data_type = "e"
    for empty in range(chance.randrange(5)):
        sheet.cell(len(lines) + 1 + empty, 1).number_format = "0.00"
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


STUDY_TROUBLES: dict[str, tuple[str, str, str]] = {
    "low above high": ("low = {low}", "low = {above}", "[factors.pressure] low"),
    "low is high": ("low = {low}", "low = {high}", "[factors.pressure] low"),
    "unknown unit": ('"bar"', '"barr"', "[factors.pressure] unit"),
    "limits inside": ("limits = [0.0, 99.0]", "limits = [0.0, {low}]", "[factors.pressure] limits"),
    "no cavity": ("cavities = {cavities}", "cavities = 0", "[mold] cavities"),
    "unknown key": ("cavities", "cavites", "[mold] cavites"),
    "negative step": ("step = 0.1", "step = -0.1", "[factors.pressure] step"),
    "step that does not fit": ("step = 0.1", "step = 0.17", "[factors.pressure] step"),
    "share over one": ("good_from = 0.9", "good_from = 1.9", "good_from"),
    "unknown word": ('"grade"', '"grades"', "[flash] measured"),
    "number as text": ("low = {low}", 'low = "{low}"', "[factors.pressure] low"),
    "nothing": ("high = {high}\n", "", "[factors.pressure] high"),
    "not a number": ("high = {high}", "high = nan", "[factors.pressure] high"),
    "open bracket": ("[flash]", "[flash", "line 11"),
    "decimal comma": ("low = {low}", "low = 3,0", "line 7"),
}


def made_study(seed: int) -> MadeStudy:
    """Return one study, every second with one mistake in it."""
    chance = random.Random(f"study {seed}")
    low = chance.randrange(10, 60) / 10
    high = round(low + chance.randrange(5, 30) / 10, 1)
    cavities = chance.randrange(1, 9)
    words: dict[str, object] = {"low": low, "high": high, "cavities": cavities}
    words["above"] = round(high + 1, 1)
    text = (
        f'good_from = 0.9\n[mold]\nname = "invented"\ncavities = {cavities}\n[factors.pressure]\n'
        f'unit = "bar"\nlow = {low}\nhigh = {high}\nstep = 0.1\nlimits = [0.0, 99.0]\n[flash]\n'
        'measured = "grade"\n'
    )
    if chance.random() < 0.5:
        return MadeStudy("none", text, low, high, cavities, "")
    trouble = chance.choice(tuple(STUDY_TROUBLES))
    old, new, place = STUDY_TROUBLES[trouble]
    if trouble == "step that does not fit":
        new = f"step = {round((high - low) / 2.5, 4)}"
    spoiled = text.replace(old.format(**words), new.format(**words), 1)
    return MadeStudy(trouble, spoiled, low, high, cavities, place)
