"""A class -> one HTML page that needs nothing else: to show to the class, print and hand on."""

from collections.abc import Sequence
from importlib.metadata import version
from typing import Any

from shotwindow.reports.class_map import class_map
from shotwindow.reports.class_panels import class_panels
from shotwindow.reports.class_rows import class_rows
from shotwindow.reports.class_words import (
    map_table,
    remarks,
    row_table,
    sentences,
    spent_words,
    team_table,
)
from shotwindow.reports.classroom import Classroom
from shotwindow.reports.naming import listed, plural, spoken
from shotwindow.reports.page_pictures import drawn
from shotwindow.reports.templates import filled

#: What a class may ask itself; the last one only once the truth is told.
_TALK = (
    "Where do the windows agree, and where do they part? Look at who made shots there.",
    "Which teams would run at nearly the same setpoint? Did they get there by the same plan?",
    "What did the team with the fewest minutes give away, and to whom would that matter?",
)
_TALK_TRUTH = (
    "Did the teams whose sure window is small know less, or were they more honest?",
    "Whose stated chance of a good shot came true? Whose did not, and why?",
)


def class_html(room: Classroom, said: Sequence[str]) -> str:
    """Return the page of a class with its cautions; the same folders give the same page."""
    pictures = bool(room.drawn)
    return filled(
        "class_page.html",
        title=room.title,
        told=room.told,
        verdict=" ".join(sentences(room)),
        remarks=remarks(room),
        teams=team_table(room),
        spent=spent_words(room),
        map=_map(room) if pictures and len(room.factors) > 1 else None,
        rows=_rows(room) if pictures else None,
        presses=_presses(room),
        talk=_TALK + (_TALK_TRUTH if room.told else ()),
        cautions=said,
        version=version("shotwindow"),
    )


def _map(room: Classroom) -> dict[str, Any]:
    """Return both pictures over two factors, with their words and numbers."""
    names = listed([spoken(room.factors[j].name) for j in room.axes])
    told = " The outline of the true window lies over them." if room.press is not None else ""
    alt = (
        f"Map of {names}: likely windows of {plural(len(room.drawn), 'team')} over each other, "
        f"darker where more teams agree.{told} A ring with a team's number is its setpoint; the "
        "setpoints stand in the table above."
    )
    truth = ", and the true window as a thick outline" if room.told else ""
    panels = (
        f"Maps of {names}, one for each of {plural(len(room.drawn), 'team')} at its own setpoint: "
        f"likely and sure window{truth}. How far they reach from each setpoint stands in the table "
        "of settings below."
    )
    return {
        "picture": drawn(class_map(room), "class", alt),
        "table": map_table(room),
        "panels": drawn(class_panels(room), "panels", panels),
    }


def _rows(room: Classroom) -> dict[str, Any]:
    names = listed([spoken(factor.name) for factor in room.factors])
    truth = ", the true window under them" if room.told else ""
    alt = (
        f"A scale for each of {names} with a row for each of {plural(len(room.drawn), 'team')}: "
        f"likely and sure window through its setpoint{truth}. The numbers stand in the table below."
    )
    return {"picture": drawn(class_rows(room), "rows", alt), "table": row_table(room)}


def _presses(room: Classroom) -> list[str]:
    """Return which simulated presses the truth is about, a line each."""
    by: dict[str, list[str]] = {}
    for number, team in enumerate(room.teams, 1):
        if team.made_by:
            by.setdefault(team.made_by, []).append(f"{number} {team.name}")
    every = f"all {len(room.teams)} teams"
    return [
        f"{press}: {every if len(teams) == len(room.teams) > 1 else listed(teams)}"
        for press, teams in by.items()
    ]
