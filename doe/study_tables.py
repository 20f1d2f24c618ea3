"""One table of study.toml turned into checked values, or into a Problem for every mistake in it.

Each class below is one table: its keys, what they may hold, and their defaults. A key that is
wrong is left out of `info.data`, so that a check on two keys runs only where both can be read.
"""

from math import isfinite
from typing import Annotated, Any, Literal, NoReturn, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from shotwindow.doe.arrangement import numbers_told, what_is_right
from shotwindow.doe.quantities import LENGTH

#: The newest form of study.toml that this program reads.
SCHEMA = 1
#: What fill and flash are read to, and the limits of a good part, where the study does not say.
BALANCE_STEP_G, EYE_STEP_PERCENT, MASS_FULL_FROM = 0.01, 2.0, 98.0
FLASH_STEP_MM, FLASH_GOOD_MM = 0.02, 0.10

_T = TypeVar("_T")

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]


def wrong(expected: str, do: str = "", found: str | None = None) -> NoReturn:
    """Refuse the value that is being checked; `found` stands in where the value says too little."""
    context = {"expected": expected, "do": do, "found": found}
    raise PydanticCustomError("study", "expected {expected}", context)


class Table(BaseModel):
    """A table of study.toml: no unknown keys; numbers are finite, and never text or true."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, frozen=True)


class StudyTable(Table):
    """The top of the file; the tables in it are looked at one by one."""

    schema_number: int = Field(default=SCHEMA, ge=1, alias="schema")
    title: str = ""
    good_from: float = Field(default=0.9, ge=0.5, le=0.999)
    prefer: Literal["", "low-pressure", "short-time", "cool-melt"] = ""
    mold: dict[str, Any] = {}
    press: dict[str, Any] = {}
    material: dict[str, Any] = {}
    time: dict[str, Any] = {}
    factors: dict[str, Any] = {}
    held: dict[str, Any] = {}
    fill: dict[str, Any] = {}
    flash: dict[str, Any] = {}
    avoid: Any = []

    @field_validator("schema_number")
    @classmethod
    def _not_from_the_future(cls, value: int) -> int:
        if value > SCHEMA:
            wrong(f"{SCHEMA} or less", "this study is for a newer shotwindow; update the program")
        return value

    @field_validator("avoid")
    @classmethod
    def _a_list_of_rules(cls, value: object) -> list[Any]:
        if not isinstance(value, list):
            wrong("one [[avoid]] for each rule", "put two brackets on either side")
        return value


class MoldTable(Table):
    """[mold]; one cavity unless it says otherwise."""

    name: str = ""
    revision: str = ""
    cavities: int = Field(default=1, ge=1, le=256)
    full_mass_g: list[Positive] | None = None
    projected_area_cm2: Positive | None = None
    layout: list[list[int]] | None = None

    @field_validator("layout")
    @classmethod
    def _each_cavity_once(
        cls, value: list[list[int]] | None, info: ValidationInfo
    ) -> list[list[int]] | None:
        cavities = info.data.get("cavities")
        if value is None or cavities is None:
            return value
        told = numbers_told(value)
        if told != list(range(1, cavities + 1)):
            wrong(what_is_right(cavities), "write it as [[1, 2], [3, 4]]", found=f"{told}")
        return value

    @field_validator("full_mass_g")
    @classmethod
    def _one_a_cavity(cls, value: list[float] | None, info: ValidationInfo) -> list[float] | None:
        cavities = info.data.get("cavities")
        if value is not None and cavities is not None and len(value) != cavities:
            wrong(f"{cavities}, one for each cavity", found=f"{len(value)} of them")
        return value


class PressTable(Table):
    """[press]; everything may be unknown. Groups are taken to scatter as shots do unless told."""

    name: str = ""
    area_ratio: Positive | None = None
    clamp_force_kN: Positive | None = None
    barrel_g: Positive | None = None
    group_scatter: Annotated[float, Field(ge=0, le=100)] = 1.0


class MaterialTable(Table):
    """[material]; 0 for drying means that none was recorded."""

    name: str = ""
    grade: str = ""
    lot: str = ""
    regrind_percent: float = Field(default=0.0, ge=0, le=100)
    dried_degC: NotNegative = 0.0
    dried_h: NotNegative = 0.0


class TimeTable(Table):
    """[time]; the defaults suit a small press in a workshop (common practice, no source)."""

    start_up_min: NotNegative = 20.0
    clean_up_min: NotNegative = 15.0
    shot_min: Positive = 3.0
    warm_up_shots: int = Field(default=2, ge=0)
    budget_min: Positive = 240.0


class HeldTable(Table):
    """[held.NAME]: a number with its unit, or words."""

    value: Any
    unit: str = ""

    @field_validator("value")
    @classmethod
    def _number_or_words(cls, value: object) -> float | str:
        if isinstance(value, str) and value.strip():
            return value
        if isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value):
            return float(value)
        wrong("a number, or text in quotation marks")


class FillTable(Table):
    """[fill]; by eye in steps of 2 percent points unless it says otherwise."""

    measured: Literal["mass", "eye", "full-or-short"] = "eye"
    step: Annotated[float, Field(gt=0, le=50)] | None = None
    balance_step_g: Positive | None = None
    full_from: Annotated[float, Field(gt=50, le=100)] | None = None

    @field_validator("step")
    @classmethod
    def _for_eye(cls, value: float | None, info: ValidationInfo) -> float | None:
        return _only_with(value, info, "eye")

    @field_validator("balance_step_g", "full_from")
    @classmethod
    def _for_mass(cls, value: float | None, info: ValidationInfo) -> float | None:
        return _only_with(value, info, "mass")


class FlashTable(Table):
    """[flash]; a width read to 0.02 mm with 0.10 mm allowed, or grades with 1 allowed.

    `seen_from` is the step unless given. The defaults in mm are not offered for another unit.
    """

    measured: Literal["width", "grade"] = "width"
    unit: str | None = None
    step: Positive | None = Field(default=None, validate_default=True)
    seen_from: Positive | None = None
    good: NotNegative | None = Field(default=None, validate_default=True)

    @field_validator("unit")
    @classmethod
    def _a_length(cls, value: str, info: ValidationInfo) -> str:
        if value not in LENGTH:
            wrong(f"a unit of length: {', '.join(LENGTH)}")
        return _only_with(value, info, "width")

    @field_validator("step", "seen_from")
    @classmethod
    def _for_width(cls, value: float | None, info: ValidationInfo) -> float | None:
        if value is None and info.data.get("unit", "mm") not in (None, "mm"):
            wrong("a width in inches", found="nothing")
        return _only_with(value, info, "width")

    @field_validator("good")
    @classmethod
    def _can_be_judged(cls, value: float | None, info: ValidationInfo) -> float | None:
        if info.data.get("measured") == "grade":
            if value not in (None, 0, 1, 2):
                wrong("grade 0, 1 or 2", "the worst grade of a good part; 3 would pass everything")
            return value
        if value is None and info.data.get("unit", "mm") not in (None, "mm"):
            wrong("a width in inches", found="nothing")
        limit = FLASH_GOOD_MM if value is None else value
        seen_from = info.data.get("seen_from") or info.data.get("step") or FLASH_STEP_MM
        if {"measured", "step", "seen_from"} <= info.data.keys() and limit < seen_from:
            wrong(
                f"at least the narrowest flash that is seen ({seen_from:.10g})",
                "a limit below that can never be shown to hold",
                found=f"{limit:.10g}",
            )
        return value


def _only_with(value: _T, info: ValidationInfo, measured: str) -> _T:
    """Refuse a key that only another way of measuring uses."""
    if value is not None and info.data.get("measured", measured) != measured:
        wrong(f'no such key where measured is "{info.data["measured"]}"', "leave it out")
    return value
