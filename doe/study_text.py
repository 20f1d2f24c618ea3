"""An outline of a study turned into the commented text of its study.toml."""

import json
import textwrap
from collections.abc import Iterable, Mapping

from shotwindow.doe.arrangement import side_by_side
from shotwindow.doe.cards import Card
from shotwindow.doe.outline import Outline
from shotwindow.doe.spans import Span
from shotwindow.doe.study_tables import (
    BALANCE_STEP_G,
    EYE_STEP_PERCENT,
    FLASH_GOOD_MM,
    FLASH_STEP_MM,
    MASS_FULL_FROM,
)

_WIDTH = 98
# Minutes until a change has settled, upward and downward (common practice, no source).
_SOAKS = {"melt_temperature": (15, 25), "mold_temperature": (10, 20)}
_WHAT = {
    "pressure": "Gauge pressure.",
    "melt_temperature": "Melt temperature, as set on the barrel.",
    "mold_temperature": "Mold temperature, as set on its controller.",
    "injection_time": "How long the pressure is kept on.",
}


def study_text(outline: Outline) -> str:
    r"""Return a study.toml that is valid as it stands and says what each line is for.

    Examples
    --------
    >>> from shotwindow.doe.outline import Outline
    >>> from shotwindow.doe.spans import Span
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.doe.study_text import study_text
    >>> gauge = Span(40.0, 70.0, 5.0, "psi")
    >>> outline = Outline(
    ...     "lid", "", None, 1, (), "eye", (), "grade", gauge, 100.0, None, None, None, 240.0
    ... )
    >>> parse_study(study_text(outline)).factors[0].limits
    (0.0, 100.0)
    """
    parts = [
        _top(outline),
        _mold(outline),
        _press(),
        _material(outline.material, outline.card),
        _time(outline.minutes),
    ]
    parts += [
        _factor(name, span, outline.rating)
        for name, span in outline.settings.items()
        if not span.is_held
    ]
    parts += [_held(name, span) for name, span in outline.settings.items() if span.is_held]
    parts += [_more_held(outline.card), _fill(outline.fill), _flash(outline.flash)]
    parts.append(_avoid(outline.settings))
    return "\n".join(parts)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)  # TOML escapes as JSON does


def _comment(text: str, hanging: str = "") -> str:
    return textwrap.fill(
        text,
        _WIDTH,
        initial_indent="# ",
        subsequent_indent=f"# {hanging}",
        break_long_words=False,
        break_on_hyphens=False,
    )


def _lines(lines: Iterable[str]) -> str:
    return "\n".join(lines) + "\n"


def _top(outline: Outline) -> str:
    about = (
        "This file describes the mold, the press and the plastic. Change what is not right, with "
        "any text editor, before the first shot is planned. What follows a # is a comment; a line "
        "that begins with one is not read until you take it away."
    )
    good = "good_from = 0.9    # a setting is in the window if at least this share of shots is good"
    prefer = '# prefer = "low-pressure"    # breaks ties; or "short-time", "cool-melt"'
    return _lines(
        [_comment(about), "schema = 1", f"title = {_quoted(outline.title)}", good, prefer]
    )


def _mold(outline: Outline) -> str:
    lines = ["[mold]", f"name = {_quoted(outline.title)}", 'revision = ""']
    lines.append(f"cavities = {outline.cavities}")
    if outline.full_mass_g:
        masses = ", ".join(f"{mass:.10g}" for mass in outline.full_mass_g)
        lines.append("# Each cavity's full part without flash: the mean of five or more.")
        lines.append(f"full_mass_g = [{masses}]")
    area = "# projected_area_cm2 = 38.0    # parts and runner, seen along the clamp's pull"
    if outline.cavities > 1:
        lines += _layout(outline)
    return _lines([*lines, area])


def _layout(outline: Outline) -> list[str]:
    """Return how the cavities lie, or an example that is not read: nobody told how."""
    about = "How the cavities lie, seen from the nozzle, row by row from the top; 0 where none is."
    rows = outline.layout or side_by_side(outline.cavities)
    told = [f"[{', '.join(map(str, row))}]" for row in rows]
    lines = [f"layout = [{', '.join(told)}]"]
    if len(lines[0]) > _WIDTH:
        lines = ["layout = [", *(f"    {row}," for row in told), "]"]
    if outline.layout:
        return [_comment(about), *lines]
    missing = _comment("Not told yet, so pictures show them side by side:")
    return [_comment(about), missing, *(f"# {line}" for line in lines)]


def _press() -> str:
    about = (
        "Not known yet. The first three lines let the clamp be checked and the melt pressure be "
        "told; barrel_g, what the full barrel holds, gives the time that the melt stays in it. "
        "The numbers are examples, not yours."
    )
    return _lines(
        [
            "[press]",
            'name = ""',
            _comment(about),
            "# area_ratio = 12.0           # area of the driving cylinder over that of the plunger",
            "# clamp_force_kN = 60.0",
            "# barrel_g = 40.0",
            _comment(
                "For planning: how many times as much temperature groups scatter as the shots "
                "of one group do. `surfaces --textbook` tells both once groups were repeated."
            ),
            "# group_scatter = 1.0",
        ]
    )


def _material(name: str, card: Card | None) -> str:
    lines = ["[material]", f"name = {_quoted(name)}", 'grade = ""', 'lot = ""']
    lines += ["regrind_percent = 0", "dried_degC = 0    # 0: not dried", "dried_h = 0"]
    if card is None:
        about = "No card is known for it, so nothing is assumed: take ranges from its data sheet."
        return _lines([*lines, _comment(about)])
    lines.append(
        _comment(
            f"Card of {card.name}. These are typical values: the supplier's data sheet comes first."
        )
    )
    return _lines([*lines, *(_comment(f"- {line}", "  ") for line in card.lines())])


def _time(minutes: float) -> str:
    about = (
        "Small presses need two to three minutes between shots for the melt, and the first one or "
        "two shots after heating up are scrap (common practice, no source)."
    )
    return _lines(
        [
            "[time]",
            _comment(about),
            "start_up_min = 20",
            "clean_up_min = 15",
            "shot_min = 3.0",
            "warm_up_shots = 2      # after each change of a slow setting; thrown away",
            f"budget_min = {minutes:.10g}",
        ]
    )


def _factor(name: str, span: Span, rating: float | None) -> str:
    lines = [f"[factors.{name}]", _comment(_WHAT[name])]
    if span.source:
        typical = "Typical values for this plastic: the supplier's data sheet comes first. Source:"
        lines.append(_comment(f"{typical} {span.source}"))
    lines.append(f'unit = "{span.unit}"')
    lines += [f"low = {span.low:.10g}", f"high = {span.high:.10g}"]
    lines.append(f"step = {span.step:.10g}    # distance of two settings that can be told apart")
    if name == "pressure" and rating is not None:
        lines.append(f"limits = [0, {rating:.10g}]    # the press's rating: never exceeded")
    else:
        ends = f"{span.low:.10g}, {span.high:.10g}"
        lines.append(f"# limits = [{ends}]    # the press's rating; low and high unless told")
    lines.append(f"# holds = {span.step / 2:.10g}    # how well the press keeps it, plus or minus")
    if name in _SOAKS:
        up, down = _SOAKS[name]
        lines.append(_comment("Minutes until a change has settled: a guess. Time it once."))
        lines += [f"soak_min = {up}", f"soak_down_min = {down}"]
    return _lines(lines)


def _held(name: str, span: Span) -> str:
    lines = [f"[held.{name}]", _comment(f"{_WHAT[name]} Kept as it is through the whole study.")]
    if span.source:
        lines.append(_comment(f"Typical value; the data sheet comes first. Source: {span.source}"))
    return _lines([*lines, f"value = {span.low:.10g}", f'unit = "{span.unit}"'])


def _more_held(card: Card | None) -> str:
    lines = [
        _comment("What else is kept and must be on every sheet, for instance the weighed charge:"),
        "# [held.charge]",
        "# value = 12",
        '# unit = "g"',
    ]
    if card is not None and card.never_with:
        never = ", ".join(card.never_with)
        lines += [
            _comment(f"{card.name} must never meet {never}. What was in this press before?"),
            "# [held.previous_material]",
            '# value = "polypropylene"',
        ]
    return _lines(lines)


def _fill(measured: str) -> str:
    lines = ["[fill]", f'measured = "{measured}"    # eye, mass or full-or-short']
    if measured == "eye":
        lines.append(f"step = {EYE_STEP_PERCENT:.10g}    # percent points between two readings")
    if measured == "mass":
        lines.append(f"balance_step_g = {BALANCE_STEP_G:.10g}")
        lines.append(f"full_from = {MASS_FULL_FROM:.10g}    # percent of full_mass_g")
    return _lines(lines)


def _flash(measured: str) -> str:
    lines = ["[flash]", f'measured = "{measured}"    # grade or width']
    if measured == "grade":
        grades = (
            "0 none, 1 a witness line within the limit, 2 over the limit and trims off, 3 heavy."
        )
        return _lines([*lines, _comment(grades), "good = 1    # the worst grade of a good part"])
    lines += ['unit = "mm"', f"step = {FLASH_STEP_MM:.10g}"]
    lines.append(f"seen_from = {FLASH_STEP_MM:.10g}    # the narrowest flash that you can see")
    lines.append(f"good = {FLASH_GOOD_MM:.10g}    # the widest that a good part may have")
    return _lines(lines)


def _avoid(settings: Mapping[str, Span]) -> str:
    about = "Settings that must never be tried together, one [[avoid]] for each rule; for example:"
    varied = [(name, span) for name, span in settings.items() if not span.is_held]
    rule = [f'# {name} = ">= {span.high:.10g}"' for name, span in varied[:2]]
    return _lines([_comment(about), "# [[avoid]]", *rule])
