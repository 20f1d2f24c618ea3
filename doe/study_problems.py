"""What a table's check found wrong, turned into Problems in the words of someone at a press."""

import datetime
from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from shotwindow.doe.errors import Problem, guess
from shotwindow.doe.study_tables import Table

# What is missing most plainly needs saying; every other required key is a number.
_MISSING = {"unit": 'a unit, such as "bar"', "value": "a number, or text in quotation marks"}

# Kind of error -> (what was expected, what to do). `c` is what pydantic knows of the bound.
_WORDS: dict[str, Callable[[Mapping[str, Any]], tuple[str, str]]] = {
    "float_type": lambda c: ("a number", ""),
    "int_type": lambda c: ("a whole number", ""),
    "int_from_float": lambda c: ("a whole number", ""),
    "finite_number": lambda c: ("a finite number", ""),
    "string_type": lambda c: ("text", "put it in quotation marks"),
    "list_type": lambda c: ("a list", "put it in square brackets, as in [1.0, 2.0]"),
    "dict_type": lambda c: ("a table", "give it a heading of its own in square brackets"),
    "greater_than": lambda c: (f"more than {c['gt']:.10g}", ""),
    "greater_than_equal": lambda c: (f"{c['ge']:.10g} or more", ""),
    "less_than": lambda c: (f"less than {c['lt']:.10g}", ""),
    "less_than_equal": lambda c: (f"{c['le']:.10g} or less", ""),
    "too_short": lambda c: (
        "a number or more" if c["min_length"] == 1 else f"{c['min_length']} numbers",
        "",
    ),
    "too_long": lambda c: (f"{c['max_length']} numbers", ""),
    "study": lambda c: (c["expected"], c["do"]),
}


def problems_of(error: ValidationError, model: type[Table], place: str) -> list[Problem]:
    """Return one Problem for each thing wrong with a table.

    Parameters
    ----------
    error : ValidationError
        From validating the table.
    model : type of Table
        The table's class; its keys are what an unknown key is compared with.
    place : str
        The file and the table's heading.
    """
    keys = [field.alias or name for name, field in model.model_fields.items()]
    return [_problem(detail, keys, place) for detail in error.errors(include_url=False)]


def _problem(detail: ErrorDetails, keys: list[str], place: str) -> Problem:
    key = str(detail["loc"][0])
    where = f"{place} {key}" + "".join(f", number {int(i) + 1}" for i in detail["loc"][1:2])
    context = detail.get("ctx", {})
    match detail["type"]:
        case "missing":
            return Problem(where, "nothing", _MISSING.get(key, "a number"))
        case "extra_forbidden":
            meant = guess(key, keys)
            do = f"did you mean {meant}?" if meant else "leave it out"
            return Problem(where, "an unknown key", f"one of {', '.join(keys)}", do)
        case "literal_error":
            allowed = context["expected"].replace("'", '"')
            meant = guess(str(detail["input"]), allowed.split('"')[1::2])
            do = f'did you mean "{meant}"?' if meant else ""
            return Problem(where, shown(detail["input"]), allowed, do)
    expected, do = _WORDS[detail["type"]](context)
    if detail["type"] in ("float_type", "int_type") and isinstance(detail["input"], str):
        do = "write it without quotation marks"
    return Problem(where, context.get("found") or shown(detail["input"]), expected, do)


def shown(value: object) -> str:
    """Return a value as it would be written in a TOML file.

    Examples
    --------
    >>> from shotwindow.doe.study_problems import shown
    >>> shown(True), shown("bar"), shown([1.0, 2])
    ('true', '"bar"', '[1.0, 2]')
    """
    match value:
        case bool():
            return str(value).lower()
        case float():
            # 1.0 stays 1.0: the point is what is wrong with it where a whole number belongs.
            return (
                repr(value) if abs(value) < 1e16 and value == round(value, 9) else f"{value:.10g}"
            )
        case str():
            return f'"{value}"'
        case list():
            return f"[{', '.join(shown(item) for item in value)}]"
        case dict():
            return "a table"
        case datetime.date() | datetime.time():
            return value.isoformat()
        case _:
            return str(value)
