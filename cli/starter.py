"""What `start` asks, writes and prints."""

import json
import sys
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TypeVar

import click

from shotwindow.cli.console import hint, say, show
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cards import Card
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.guards import Guard, check_settings
from shotwindow.doe.outline import (
    Outline,
    check_outline,
    temperature_unit,
    usual_melt,
    usual_mold,
)
from shotwindow.doe.spans import Span
from shotwindow.doe.start_answers import (
    read_cavities,
    read_fill,
    read_layout,
    read_masses,
    read_material,
    read_minutes,
    read_pressure,
    read_rating,
    read_temperature,
    read_time,
)
from shotwindow.doe.store import disk_told, write_whole
from shotwindow.doe.study import parse_study
from shotwindow.doe.study_text import study_text

_SCHEMA = 1
_INTERRUPTED = 130
_T = TypeVar("_T")


class Answers:
    """Options, and at a terminal questions for those that were not given."""

    def __init__(self, given: Mapping[str, str | None], asks: bool) -> None:
        self.asks = asks
        self._given = given

    def get(self, key: str, question: str, read: Callable[[str], _T], default: str) -> _T:
        """Return what an option tells, or what is answered, or what the default stands for."""
        told = self._given[key]
        if told is not None:
            return read(told)
        if not self.asks:
            return read(default)
        while True:
            click.echo(
                f"{question} [{default}]: " if default else f"{question}: ", err=True, nl=False
            )
            try:
                line = sys.stdin.readline()
            except KeyboardInterrupt:
                line = ""
            if not line:
                say("\nLeft. Nothing was written.")
                raise click.exceptions.Exit(_INTERRUPTED)
            try:
                return read(line.strip() or default)
            except StudyError as error:
                for problem in error.problems:
                    say(str(problem), kind="error")


def collect(path: Path, given: Mapping[str, str | None], *, asks: bool) -> Outline:
    """Return the outline that options and answers give.

    Raises
    ------
    StudyError
        If the file is there already, or an option does not hold what it should.
    click.UsageError
        If nobody can be asked for what is missing.
    """
    if path.exists():
        do = "change it with a text editor, or start in another folder"
        raise StudyError.one(str(path), "a study", "none there yet", do)
    if not asks and given["pressure"] is None:
        raise click.UsageError(
            'Nobody can be asked here, and --pressure is missing: --pressure "40 to 70 by 5 psi"'
        )
    if asks:
        say("Enter takes what stands in brackets; Ctrl-C leaves, and nothing is written.")
    answers = Answers(given, asks)
    name = path.parent.resolve().name.replace("-", " ").replace("_", " ")
    title = answers.get("title", "What does the mold make", str, name)
    material = answers.get("material", "Of which plastic (Enter: not known yet)", read_material, "")
    card = find_card(material, path.parent)
    cavities = answers.get("cavities", "How many cavities", read_cavities, "1")
    layout: tuple[tuple[int, ...], ...] = ()
    if cavities > 1 or given["layout"] is not None:
        asked = "How they lie, seen from the nozzle, in rows as in 1 2 / 3 4, or none"
        layout = answers.get("layout", asked, partial(read_layout, cavities=cavities), "none")
    fill = answers.get("fill", "How is fill judged: eye, mass, full-or-short", read_fill, "eye")
    masses: tuple[float, ...] = ()
    if fill == "mass" or given["full_mass"] is not None:
        asked = "Mass of a full part in g, for each cavity, parted by blanks"
        masses = answers.get("full_mass", asked, partial(read_masses, cavities=cavities), "")
    pressure = answers.get(
        "pressure", "Gauge pressure to try, as in 40 to 70 by 5 psi", read_pressure, ""
    )
    rated = f"Highest pressure that the press is rated for, in {pressure.unit}"
    outline = Outline(
        title=title,
        material=material,
        card=card,
        cavities=cavities,
        layout=layout,
        fill=fill,
        full_mass_g=masses,
        flash=given["flash"] or "grade",
        pressure=pressure,
        rating=answers.get("rating", rated, partial(read_rating, pressure=pressure), "none"),
        **_temperatures(answers, card, pressure),
        time=answers.get("time", "Injection time, as in 3 to 8 by 1 s", read_time, "none"),
        minutes=answers.get("minutes", "Minutes at the press", read_minutes, "240"),
    )
    check_outline(outline)
    return outline


def write_study(path: Path, outline: Outline) -> tuple[Guard, ...]:
    """Write the study.toml of an outline; return what is still to be known before a plan.

    Raises
    ------
    StudyError
        If the material or a setting is refused; nothing is then written.
    """
    text = study_text(outline)
    study = parse_study(text)
    ends = [[factor.low for factor in study.factors], [factor.high for factor in study.factors]]
    guards = check_settings(study, outline.card, ends)
    refused = [guard for guard in guards if guard.severity == "refuse"]
    if refused:
        raise StudyError(Problem(path.name, g.what, g.do, g.why) for g in refused)
    with disk_told(path):
        path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, text.encode())
    return guards


def show_started(
    folder: str, outline: Outline, guards: tuple[Guard, ...], *, as_json: bool
) -> None:
    """Print what was written and what is still to be told."""
    spans = outline.settings
    if as_json:
        told = {
            "schema": _SCHEMA,
            "study": str(Path(folder) / "study.toml"),
            "card": outline.card.name if outline.card else None,
            "varied": [name for name, span in spans.items() if not span.is_held],
            "held": [name for name, span in spans.items() if span.is_held],
            "open": [str(guard) for guard in guards],
        }
        show(json.dumps(told, ensure_ascii=False))
        return
    show(f"Written: {Path(folder) / 'study.toml'}")
    for name, span in spans.items():
        typical = " (typical values: the supplier's data sheet comes first)" if span.source else ""
        way = "held at" if span.is_held else "varied from"
        show(f"  {name.replace('_', ' ')} {way} {span}{typical}")
    if guards:
        say("Still to be known before the first shot:")
        for guard in guards:
            say(f"- {guard}")
    hint(f"look through {Path(folder) / 'study.toml'}, then: shotwindow plan {folder}")


def _temperatures(answers: Answers, card: Card | None, pressure: Span) -> dict[str, Span | None]:
    unit = temperature_unit(pressure)
    usual = {"melt": usual_melt(card, unit), "mold": usual_mold(card, unit)}
    if answers.asks and card is not None:
        say(f"Temperatures in brackets are typical of {card.name}: the data sheet comes first.")
    found = {}
    for key, span in usual.items():
        asked = f"{key.capitalize()} temperature, lowest to highest, or one value to hold, or none"
        read = partial(read_temperature, name=f"{key}_temperature", usual=span)
        found[key] = answers.get(key, asked, read, str(span or "none"))
    return found
