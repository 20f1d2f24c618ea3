"""Shots that are to be made -> questions at the press, and the answers to the recorder.

Every answer is on the disk before the next question. The questions go to stderr and the answers
come from a keyboard or through a pipe alike.
"""

import sys

from shotwindow.cli.commands import obey, report, report_edits
from shotwindow.cli.console import say
from shotwindow.cli.doubting import stood_question
from shotwindow.cli.large import large_announcement
from shotwindow.cli.later import (
    answers_of,
    labels,
    next_to_make,
    waiting_shots,
)
from shotwindow.cli.prompting import Command, Leaving, ask, is_yes, tell
from shotwindow.cli.readings import ask_answers
from shotwindow.cli.taking import Desk, accept, is_sure, keeper, let_wait
from shotwindow.cli.wording import announcement, moves_to, shots_text, soak_whole_minutes
from shotwindow.doe.errors import StudyError
from shotwindow.doe.records import now
from shotwindow.doe.rows import WARM_UP, Row, row_cells


def take_shots(desk: Desk) -> None:
    """Ask for one shot after the other until all are made or the user leaves."""
    try:
        _offer_weighing(desk)
        _run(desk)
        say("")
    except Leaving:
        say("")


def weigh_shots(desk: Desk) -> None:
    """Ask for the masses of all shots that wait for the balance."""
    session = desk.session
    try:
        for shot in waiting_shots(session):
            _weigh(desk, shot)
    except Leaving:
        say("")


def _run(desk: Desk) -> None:
    command: Command | None = None
    while True:
        row = _next_shot(desk)
        try:
            if command is not None:
                current, command = command, None
                _obey(desk, row, current)
            elif row is not None:
                _announce(desk, row)
                _take(desk, row)
            elif waiting_shots(desk.session) and _weigh_all(desk):
                continue
            else:
                ask("All shots are made. Enter leaves, ? lists what else can be done")
                return
        except Command as typed:
            command = typed
        except StudyError as error:
            tell(error)


def _offer_weighing(desk: Desk) -> None:
    waiting = waiting_shots(desk.session)
    if waiting and is_yes(f"The parts of {shots_text(waiting)} wait for the balance. Weigh now?"):
        _weigh_all(desk)


def _weigh_all(desk: Desk) -> bool:
    """Weigh what waits; return whether any of it was."""
    before = waiting_shots(desk.session)
    for shot in before:
        _weigh(desk, shot)
    return waiting_shots(desk.session) != before


def _next_shot(desk: Desk) -> Row | None:
    """Return the next shot, after what was changed in runs.csv by hand is taken."""
    while True:
        try:
            taken = desk.session.take_edits()
        except StudyError as error:
            tell(error)
            ask("When that is mended, press Enter; q leaves", free=True)
            continue
        report_edits(taken.values, taken.put_back)
        report(desk.session, taken)
        return next_to_make(desk.session)


def _announce(desk: Desk, row: Row) -> None:
    """Say what to set, unless it is said already, and wait until the press has soaked."""
    if desk.so_far is not None and (news := desk.so_far.news()):
        say(f"\n{news}")
    before = desk.at_press
    if before is not None and row.shot == before.shot:
        return
    study, rows = desk.session.study, desk.session.rows
    left = [r for r in rows if r.kind == WARM_UP and r.outcome == "open" and r.group == row.group]
    moves = moves_to(study, row, before)
    announce = large_announcement if desk.screen.by_key else announcement
    say("\n" + announce(study, row, moves, len(left), rows[-1].shot))
    desk.at_press = row
    minutes = 0 if before is None else soak_whole_minutes(study, row, before)
    if desk.screen.by_key and minutes:
        _soak(desk, minutes)
    if sys.stdin.isatty() and (stood := stood_question(study, desk.card, rows, now())):
        ask(f"{stood}; then Enter")


def _soak(desk: Desk, minutes: float) -> None:
    """Count a soak down; parts that wait can be weighed meanwhile, and the soak goes on."""
    end = desk.screen.clock() + 60 * minutes
    while True:
        waiting = bool(waiting_shots(desk.session))
        ended = desk.screen.count_down((end - desk.screen.clock()) / 60, weighs=waiting)
        if ended == "left":
            raise Leaving
        if ended != "weigh":
            return
        _weigh_all(desk)


def _take(desk: Desk, row: Row) -> None:
    """Ask for what a shot gave, and record it."""
    session = desk.session
    if row.kind == WARM_UP:
        if typed := ask("Make the shot and set it aside; then Enter").strip():
            say(f'A warm-up shot has no results, so "{typed}" is not taken.')
        report(session, session.accept(row.shot, {}))
        return
    layout = session.layout
    planned = row_cells(session.study, layout, row)
    defaults = {f"actual {name}": planned[name] for name in layout.settings}
    defaults |= session.typed(row.shot)
    headings = (*(layout.actual if desk.actual else ()), *layout.readings, "other")
    values = ask_answers(session, row, headings, defaults, keeper(session, row), desk.screen)
    if any(heading not in values for heading in layout.fill):
        let_wait(desk, row, values)
    elif is_sure(desk, row, values):
        accept(desk, row, values)
    else:
        return
    _end_group(desk, row)


def _weigh(desk: Desk, shot: int) -> None:
    """Ask for the masses of a shot that waits, until they are recorded or put off."""
    session = desk.session
    row, command = session.row(shot), None
    say(f"\nWeigh the parts labeled {labels(session.study, shot)} (w: later)")
    while shot in waiting_shots(session):
        try:
            if command is not None:
                current, command = command, None
                _obey(desk, row, current)
            elif not _take_masses(desk, row):
                return
        except Command as typed:
            command = typed
        except StudyError as error:
            tell(error)


def _take_masses(desk: Desk, row: Row) -> bool:
    """Ask for the masses of a shot and record it; return False if that is put off."""
    session = desk.session
    headings, known = session.layout.fill, answers_of(session, row.shot)
    keep = keeper(session, row)
    masses = ask_answers(session, row, headings, dict(known), keep, desk.screen)
    if len(masses) < len(headings):
        return False
    values = known | masses
    if is_sure(desk, row, values):
        accept(desk, row, values)
    return True


def _end_group(desk: Desk, row: Row) -> None:
    """Begin to find what is known so far, if the group of a shot is complete."""
    following = next_to_make(desk.session)
    if desk.so_far is not None and (following is None or following.group != row.group):
        desk.so_far.start()


def _obey(desk: Desk, row: Row | None, command: Command) -> None:
    """Do what a key asks for; those that change the questions themselves are done here."""
    if command.key == "a":
        desk.actual = not desk.actual
        say("Actual settings are asked for." if desk.actual else "Settings count as planned.")
    elif command.key == "w" and command.shot in waiting_shots(desk.session):
        _weigh(desk, command.shot or 0)
    elif command.key == "w":
        say("No such shot waits for the balance; w at the question for a mass lets one wait.")
    else:
        obey(desk.session, row, command, lambda at, values: is_sure(desk, at, values))
