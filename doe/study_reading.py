"""The text of a study.toml turned into a Study, or into one error with every mistake in it."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from shotwindow.doe.clamping import clamp_rules
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.factor_table import FactorTable
from shotwindow.doe.factors import Factor
from shotwindow.doe.study import FillScale, FlashScale, Held, Material, Mold, Press, Study, Time
from shotwindow.doe.study_checks import (
    avoid_rules,
    name_problems,
    preference_problems,
    standard_name_problem,
    twin_pressures,
)
from shotwindow.doe.study_problems import problems_of, shown
from shotwindow.doe.study_tables import (
    BALANCE_STEP_G,
    EYE_STEP_PERCENT,
    FLASH_GOOD_MM,
    FLASH_STEP_MM,
    MASS_FULL_FROM,
    FillTable,
    FlashTable,
    HeldTable,
    MaterialTable,
    MoldTable,
    PressTable,
    StudyTable,
    Table,
    TimeTable,
)

_T = TypeVar("_T", bound=Table)


def read_study_file(path: Path) -> Study:
    """Return the study in a file; every message names the file by its last part.

    Raises
    ------
    StudyError
        If the file is missing, cannot be read, is not UTF-8, or holds mistakes.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise StudyError.one(
            path.name,
            f"no such file in {path.parent}",
            "a study folder with a study.toml",
            "`shotwindow start` writes one",
        ) from None
    except OSError as error:
        found = error.strerror or str(error)
        raise StudyError.one(path.name, found, "a file that can be read") from error
    try:
        return study_from_text(data.decode("utf-8-sig"), path.name)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise StudyError.one(
            f"{path.name} line {line}",
            f"a byte (0x{data[error.start]:02x}) that is not UTF-8",
            "UTF-8 text",
            "save the file again with the encoding UTF-8",
        ) from None


def study_from_text(text: str, place: str) -> Study:
    """Return the study in a text; see `shotwindow.doe.study.parse_study`."""
    problems: list[Problem] = []
    top = _table(StudyTable, _parsed(text, place), place, problems) or StudyTable()
    mold = _table(MoldTable, top.mold, f"{place} [mold]", problems) or MoldTable()
    press = _table(PressTable, top.press, f"{place} [press]", problems) or PressTable()
    material = _table(MaterialTable, top.material, f"{place} [material]", problems)
    time = _table(TimeTable, top.time, f"{place} [time]", problems)
    fill = _table(FillTable, top.fill, f"{place} [fill]", problems) or FillTable()
    flash = _table(FlashTable, top.flash, f"{place} [flash]", problems)
    factors = _factors(top.factors, place, problems)
    held = _held(top.held, place, problems)
    problems += name_problems(top.factors, top.held, place)
    problems += twin_pressures(factors.values(), press.area_ratio, place)
    problems += preference_problems(factors.values(), top.prefer, f"{place} prefer")
    avoid, wrong_rules = avoid_rules(top.avoid, top.factors, factors, place)
    problems += wrong_rules
    if fill.measured == "mass" and "full_mass_g" not in top.mold:
        do = "weigh five or more full parts without flash for each cavity"
        where = f"{place} [mold] full_mass_g"
        problems.append(Problem(where, "nothing", "a mass for each cavity, to judge fill by", do))
    if problems:
        raise StudyError(problems)
    study = Study(
        title=top.title or mold.name or "Untitled study",
        good_from=top.good_from,
        mold=_mold(mold),
        press=Press(**press.model_dump()),
        material=_material(material or MaterialTable()),
        time=Time(**(time or TimeTable()).model_dump()),
        factors=tuple(factors.values()),
        held=held,
        fill=_fill(fill),
        flash=_flash(flash or FlashTable()),
        avoid=avoid,
        schema=top.schema_number,
        prefer=top.prefer,
    )
    # what pushes the clamp open is left out of every plan and every answer, like a rule
    return replace(study, avoid=avoid + clamp_rules(study))


def _parsed(text: str, place: str) -> dict[str, Any]:
    text = text.removeprefix("\ufeff")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        # Python gained attributes for the position only in 3.14; the words have it since 3.11.
        told = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", str(error))
        reason, line, column = told.groups() if told else (str(error), None, None)
        row = int(line or text.count("\n") + 1)
        at = f"line {row}, column {column}" if column else f"line {row} (the end)"
        raise StudyError.one(f"{place} {at}", reason, "TOML", _toml_hint(text, row)) from None


def _toml_hint(text: str, row: int) -> str:
    line = (text.splitlines() or [""])[min(row, text.count("\n") + 1) - 1]
    value = line.partition("=")[2].strip()
    if re.match(r"[+-]?\d+,\d", value):
        return f"write decimals with a point: {value.replace(',', '.')}"
    if re.match(r"[^\W\d]", value):
        return "put text in quotation marks"
    return "write every line as key = value, text in quotation marks"


def _table(
    model: type[_T], raw: dict[str, Any], place: str, problems: list[Problem], name: str = ""
) -> _T | None:
    """Return a table without its wrong keys, or None where the others do not make one."""
    try:
        return model.model_validate(raw, context={"name": name})
    except ValidationError as error:
        problems += problems_of(error, model, place)
        wrong = {detail["loc"][0] for detail in error.errors(include_url=False)}
    # The rest goes on, so that what it does not fit elsewhere is told in the same message.
    rest = {key: value for key, value in raw.items() if key not in wrong}
    return _table(model, rest, place, [], name) if len(rest) < len(raw) else None


def _factors(raw: dict[str, Any], place: str, problems: list[Problem]) -> dict[str, Factor]:
    factors = {}
    for name, keys in raw.items():
        where = f"{place} [factors.{name}]"
        if not isinstance(keys, dict):
            problems.append(Problem(where, shown(keys), "a table with unit, low, high and step"))
            continue
        table = _table(FactorTable, keys, where, problems, name)
        odd = standard_name_problem(name, keys.get("acts_as"), place)
        problems += [odd] if odd else []
        if table is not None:
            factors[name] = _factor(name, table)
    return factors


def _factor(name: str, table: FactorTable) -> Factor:
    low, high = table.limits or (table.low, table.high)
    down = table.soak_min if table.soak_down_min is None else table.soak_down_min
    return Factor(
        name=name,
        unit=table.unit,
        low=table.low,
        high=table.high,
        step=table.step,
        limits=(low, high),
        holds=table.step / 2 if table.holds is None else table.holds,
        reads=table.reads,
        soak_min=table.soak_min,
        soak_down_min=down,
        acts_as=table.acts_as,
    )


def _held(raw: dict[str, Any], place: str, problems: list[Problem]) -> tuple[Held, ...]:
    held = []
    for name, keys in raw.items():
        where = f"{place} [held.{name}]"
        if not isinstance(keys, dict):
            problems.append(Problem(where, shown(keys), "a table with value and unit"))
        elif (table := _table(HeldTable, keys, where, problems)) is not None:
            held.append(Held(name, table.value, table.unit))
    return tuple(held)


def _mold(table: MoldTable) -> Mold:
    masses = tuple(table.full_mass_g) if table.full_mass_g else None
    layout = tuple(map(tuple, table.layout)) if table.layout else None
    area = table.projected_area_cm2
    return Mold(table.name, table.revision, table.cavities, masses, area, layout)


def _material(table: MaterialTable) -> Material:
    return Material(
        name=table.name,
        grade=table.grade,
        lot=table.lot,
        regrind_percent=table.regrind_percent,
        dried_degC=table.dried_degC or None,
        dried_h=table.dried_h or None,
    )


def _fill(table: FillTable) -> FillScale:
    if table.measured == "mass":
        step = table.balance_step_g or BALANCE_STEP_G
        return FillScale("mass", step, table.full_from or MASS_FULL_FROM)
    # Two words tell no more than which side of 100 percent a part lies on.
    step = (table.step or EYE_STEP_PERCENT) if table.measured == "eye" else 100.0
    return FillScale(table.measured, step, 100.0)


def _flash(table: FlashTable) -> FlashScale:
    if table.measured == "grade":
        return FlashScale("grade", "grade", 1.0, 1.0, 1.0 if table.good is None else table.good)
    step = table.step or FLASH_STEP_MM
    good = FLASH_GOOD_MM if table.good is None else table.good
    return FlashScale("width", table.unit or "mm", step, table.seen_from or step, good)
