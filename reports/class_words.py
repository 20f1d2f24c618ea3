"""A class -> what was spent and found by each team, as rows of text, sentences and JSON."""

from collections.abc import Iterator

import numpy as np

from shotwindow.doe.factors import Factor
from shotwindow.reports.class_map import teams_holding
from shotwindow.reports.class_rows import stretch_of, stretch_words, true_stretch
from shotwindow.reports.classroom import Classroom, Team, ground
from shotwindow.reports.documents import Document
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import axis_label, chance, listed, percent, plural, spoken, with_unit
from shotwindow.reports.page_pictures import Table
from shotwindow.reports.planned import clock
from shotwindow.reports.verdicts import share_words
from shotwindow.reports.words import columns, paragraph

NONE = "none"


def class_lines(room: Classroom) -> list[str]:
    """Return what is printed of a class."""
    table = team_table(room)
    lines = [*columns([table.heads, *table.rows]), ""]
    lines += [line for said in sentences(room) for line in paragraph(said)]
    for said in remarks(room):
        lines += paragraph(said, 2, "- ")
    return lines


def team_table(room: Classroom) -> Table:
    """Return a row for each team: what it spent, where it would run, and how near that is."""
    truth = ("overlap", "truly good", "sure and true") if room.told else ()
    heads = ("team", "plan", "shots", "minutes", "setpoint", "good", "likely", "sure", *truth)
    rows = tuple(_row(room, number, team) for number, team in enumerate(room.teams, 1))
    return Table("What each team spent and found", heads, rows)


def _row(room: Classroom, number: int, team: Team) -> tuple[str, ...]:
    row: tuple[str, ...] = (
        f"{number} {team.name}",
        team.plan or NONE,
        str(team.shots),
        f"{team.minutes:.0f}",
        *_answer(team),
    )
    if not room.told:
        return row
    score = team.score
    if score is None:
        return (*row, "", "", "")
    truly = NONE if score.setpoint_good is None else chance(score.setpoint_good)
    sure = NONE if score.sure_good is None else percent(score.sure_good)
    return (*row, f"{score.overlap:.2f}", truly, sure)


def _answer(team: Team) -> tuple[str, str, str, str]:
    """Return setpoint, chance of a good shot there, and the shares of the windows."""
    found = team.found
    if found is None or found.window is None:
        return ("", "", "", "")
    shares = share_words(found)
    point = found.setpoint
    if point is None:
        return (NONE, "", *shares)
    pairs = zip(found.study.factors, point.settings, strict=True)
    settings = ", ".join(f"{factor.text(value)} {factor.unit}" for factor, value in pairs)
    return (settings, chance(point.probability_good), *shares)


def sentences(room: Classroom) -> list[str]:
    """Return what the class comes down to."""
    found = [team.found for team in room.teams if team.found is not None]
    windows = sum(has_likely(one) for one in found)
    points = sum(one.setpoint is not None for one in found)
    said = [
        f"{plural(len(room.teams), 'team')}: {windows} with a likely window, {points} with a "
        "setpoint."
    ]
    if len(room.drawn) > 1 and len(room.factors) > 1:
        counted = teams_holding(room, ground(room, room.at))
        drawn = sum(has_likely(one) for _, _, one in room.drawn)
        share = percent(float((counted == drawn).mean())) if drawn else "nothing"
        said.append(f"These windows have {share} of the map in common.")
    scored = [team for team in room.teams if team.score is not None]
    if scored:
        said += _truth_sentences(scored)
    return said


def has_likely(found: Findings) -> bool:
    """Whether a team's likely window holds any mark."""
    return found.window is not None and bool(found.window.likely.any())


def _truth_sentences(scored: list[Team]) -> Iterator[str]:
    best = max(team.score.overlap for team in scored if team.score is not None)
    nearest = [t.name for t in scored if t.score is not None and t.score.overlap == best]
    yield f"Nearest to the truth: {listed(nearest)}, with an overlap of {best:.2f}."
    points = [(t, t.found) for t in scored if t.found is not None and t.found.setpoint is not None]
    fails = [
        team.name
        for team, found in points
        if team.score is not None and (team.score.setpoint_good or 0.0) < found.study.good_from
    ]
    which = f"; not that of {listed(fails)}" if fails else ""
    works = f"{len(points) - len(fails)} of {plural(len(points), 'setpoint')}"
    yield f"{works} truly reach the wanted share of good shots{which}."


def remarks(room: Classroom) -> list[str]:
    """Return what has to be said about the teams' folders, a sentence each."""
    drawn = {number for number, _, _ in room.drawn}
    said = []
    for number, team in enumerate(room.teams, 1):
        said += [f"{number} {team.name}: {remark}" for remark in team.remarks]
        if team.left:
            said.append(f"{number} {team.name}: {plural(team.left, 'shot')} still to be made.")
        if team.found is not None and team.found.window is not None and number not in drawn:
            said.append(f"{number} {team.name}: not drawn, since its factors are others.")
    return said


def map_table(room: Classroom) -> Table:
    """Return the numbers of the common map: for each mark upward, how far windows reach."""
    here = ground(room, room.at)
    counted = teams_holding(room, here)
    across, up = (room.factors[j] for j in room.axes)
    every = -(-up.count // 11)
    label, count = axis_label(across), len(room.drawn)
    half = count // 2 + 1
    least = sorted({1, half, count})
    heads = (axis_label(up), *(f"held by {n} or more of {count}, {label}" for n in least))
    rows = []
    for value in reversed(up.marks[::every]):
        line = counted[int(np.abs(here.finer[1] - value).argmin())]
        at_marks = line[[int(np.abs(here.finer[0] - mark).argmin()) for mark in across.marks]]
        reaches = (_reach(across, at_marks >= n) for n in least)
        rows.append((up.text(value), *reaches))
    return Table("The picture in numbers: how many likely windows hold a mark", heads, tuple(rows))


def _reach(factor: Factor, flags: "np.ndarray[tuple[int], np.dtype[np.bool_]]") -> str:
    from shotwindow.reports.rulers import stretches

    marks = factor.marks
    return stretch_words(factor, [(float(marks[a]), float(marks[b])) for a, b in stretches(flags)])


def row_table(room: Classroom) -> Table:
    """Return the numbers of the scales: a row for each team and factor."""
    truth = ("true window",) if room.told else ()
    heads = ("team", "setting", "setpoint", "likely window", "sure window", *truth)
    rows = []
    for number, team, found in room.drawn:
        for j, factor in enumerate(found.study.factors):
            point = found.setpoint
            row = [
                f"{number} {team.name}",
                spoken(factor.name),
                NONE if point is None else with_unit(factor, point.settings[j]),
                *(stretch_words(factor, stretch_of(found, j, w)) for w in ("likely", "sure")),
            ]
            rows.append((*row, stretch_words(factor, true_stretch(team, j))) if room.told else row)
    caption = "Windows along each setting, the others at the team's setpoint or best mark"
    return Table(caption, heads, tuple(map(tuple, rows)))


def spent_words(room: Classroom) -> str:
    """Return what the whole class spent."""
    shots = sum(team.shots for team in room.teams)
    minutes = sum(team.minutes for team in room.teams)
    return f"{plural(shots, 'shot')} in {clock(minutes)} at a press, all teams together"


def class_document(room: Classroom) -> Document:
    """Return a class as a document; what is not told, or not found, is null."""
    return {
        "title": room.title,
        "told": room.told,
        "teams": [_team(team) for team in room.teams],
        "summary": sentences(room),
        "remarks": remarks(room),
    }


def _team(team: Team) -> Document:
    found, score = team.found, team.score
    window = None if found is None else found.window
    point = None if found is None else found.setpoint
    return {
        "team": team.name,
        "plan": team.plan or None,
        "shots": team.shots,
        "minutes": team.minutes,
        "left": team.left,
        "share_likely": window.share_likely if window else None,
        "share_sure": window.share_sure if window else None,
        "setpoint": None
        if found is None or point is None
        else {
            **dict(zip(found.study.names, point.settings, strict=True)),
            "probability_good": point.probability_good,
            "probability_in_window": point.probability_in_window,
        },
        "overlap": score.overlap if score else None,
        "setpoint_good": score.setpoint_good if score else None,
        "sure_good": score.sure_good if score else None,
        "true_share": score.true_share if score else None,
    }
