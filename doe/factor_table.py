"""A [factors.NAME] table of study.toml turned into a checked range of marks."""

from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from shotwindow.doe.errors import guess
from shotwindow.doe.factors import STANDARD_ROLES
from shotwindow.doe.quantities import PRESSURE, TEMPERATURE, TIME, decimals, unit_kind
from shotwindow.doe.study_tables import NotNegative, Positive, Table, wrong

#: More marks than this come from a slip in `step`, and would stall every search over the marks.
MOST_MARKS = 1000

# What people write for a unit whose own spelling is not close to it.
_SPELLED_OUT = {"c": "degC", "celsius": "degC", "f": "degF", "fahrenheit": "degF", "at": "kg/cm2"}

_UNITS: dict[str, tuple[str, ...]] = {
    "pressure": tuple(PRESSURE),
    "temperature": tuple(TEMPERATURE),
    "time": tuple(TIME),
}


def _name(info: ValidationInfo) -> str:
    return str((info.context or {}).get("name", ""))


class FactorTable(Table):
    """[factors.NAME]; the name comes in as the context of the validation.

    `holds` is half a step unless given, `limits` are low and high, `soak_down_min` is `soak_min`.
    """

    # The order matters: a check sees the keys above its own.
    acts_as: Literal["pressure", "temperature", "time"] | None = None
    unit: str
    high: float
    low: float
    step: Positive
    limits: Annotated[list[float], Field(min_length=2, max_length=2)] | None = None
    holds: NotNegative | None = None
    reads: Literal["gauge", "melt"] = "gauge"
    soak_min: Positive | None = None
    soak_down_min: NotNegative | None = None

    @field_validator("acts_as")
    @classmethod
    def _not_for_standard(cls, value: str | None, info: ValidationInfo) -> str | None:
        role = STANDARD_ROLES.get(_name(info))
        if value is not None and role is not None and value != role:
            wrong(f'"{role}", which its name already says', "leave acts_as out")
        return value

    @field_validator("unit")
    @classmethod
    def _of_the_right_kind(cls, value: str, info: ValidationInfo) -> str:
        kind = STANDARD_ROLES.get(_name(info))
        if kind is not None and unit_kind(value) != kind:
            meant = guess(_SPELLED_OUT.get(value.strip("° ").casefold(), value), _UNITS[kind])
            do = f'did you mean "{meant}"?' if meant else ""
            wrong(f"a unit of {kind}: {', '.join(_UNITS[kind])}", do)
        if not value.strip() or not value.isprintable() or set(value) & set('(),;"'):
            wrong("a unit such as bar or rpm, without brackets, commas or quotation marks")
        return value

    @field_validator("low")
    @classmethod
    def _below_high(cls, value: float, info: ValidationInfo) -> float:
        high = info.data.get("high")
        role = STANDARD_ROLES.get(_name(info), info.data.get("acts_as"))
        if high is not None and value == high:
            name = _name(info)
            wrong(f"less than high ({high:.10g})", f"what is not varied belongs in [held.{name}]")
        if high is not None and value > high:
            wrong(f"less than high ({high:.10g})")
        if role in ("pressure", "time") and value <= 0:
            wrong("more than 0", f"no shot is made with a {role} of zero")
        return value

    @field_validator("step")
    @classmethod
    def _divides_the_range(cls, value: float, info: ValidationInfo) -> float:
        if "low" not in info.data or "high" not in info.data:
            return value
        low, high = info.data["low"], info.data["high"]
        steps = (high - low) / value
        if steps > MOST_MARKS - 1:
            wrong(f"at most {MOST_MARKS} marks from low to high", "give the marks that can be set")
        if abs(steps - round(steps)) > 1e-6:
            places = max(decimals(low), decimals(value))
            whole = sorted({max(1, int(steps)), int(steps) + 1})
            nearest = " or ".join(f"{round(low + k * value, places):.10g}" for k in whole)
            wrong(
                f"a whole number of steps from low ({low:.10g}) to high ({high:.10g})",
                f"the nearest that fit are high = {nearest}",
            )
        return value

    @field_validator("limits")
    @classmethod
    def _hold_the_range(cls, value: list[float] | None, info: ValidationInfo) -> list[float] | None:
        if value is None:
            return value
        if value[0] >= value[1]:
            wrong("[lowest, highest]")
        low, high = info.data.get("low", value[0]), info.data.get("high", value[1])
        if low < value[0] or high > value[1]:
            wrong(
                f"limits that hold the range from {low:.10g} to {high:.10g}",
                "nothing outside the press's rating is ever planned: narrow the range",
            )
        return value

    @field_validator("reads")
    @classmethod
    def _only_of_a_pressure(cls, value: str, info: ValidationInfo) -> str:
        if value == "melt" and unit_kind(info.data.get("unit", "bar")) != "pressure":
            wrong('nothing, or "gauge"', "only a pressure can be read in the melt")
        return value

    @field_validator("soak_down_min")
    @classmethod
    def _with_a_soak(cls, value: float | None, info: ValidationInfo) -> float | None:
        if value is not None and info.data.get("soak_min", value) is None:
            wrong("soak_min beside it", "give the minutes to wait after an increase too")
        return value
