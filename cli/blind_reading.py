"""`record --blind` -> a second person's readings of kept parts, and what they show."""

from pathlib import Path

from shotwindow.cli.console import hint, say, show
from shotwindow.cli.keyboard import Screen, has_keys
from shotwindow.cli.prompting import Command, Leaving, ask
from shotwindow.cli.wording import one_key_answers, question
from shotwindow.doe.blind_lists import Part
from shotwindow.doe.cells import Wrong
from shotwindow.doe.rows import place_of
from shotwindow.doe.second_reader import SecondReader
from shotwindow.doe.session import Session
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell

_KEYS = """\
  Enter  the part is not there: left out for now
  u      back to the part before
  q      leave; everything is saved"""


def record_blind(
    session: Session,
    folder: Path,
    response: str,
    source: Path | None,
    *,
    plain: bool,
    as_json: bool,
) -> None:
    """Take a second person's readings, and print how far they agree with the first ones.

    Parameters
    ----------
    session : Session
    folder : Path
    response : str
        "fill" or "flash".
    source : Path or None
        A list that was filled in; None asks part by part.
    plain : bool
        Plain lines even at a terminal that could do more.
    as_json : bool

    Raises
    ------
    StudyError
        If no list was drawn, this is not a second person, or something is wrong in the file.
    """
    reader = SecondReader(folder, session, response)
    if source is not None:
        taken = reader.take_table(source.name, source.read_bytes())
        say(f"Taken from {source.name}: {len(taken)} of {len(reader.listed.parts)} parts.")
    else:
        say("Read each part on its own; first readings are not shown. Type ? for the keys.")
        try:
            _ask_parts(session, reader, Screen(by_key=has_keys() and not plain))
        except Leaving:
            say("")
            if not as_json:  # what is known of parts that were read must not guide the others
                count, whole = len(reader.read()), len(reader.listed.parts)
                show(f"{count} of {whole} parts are read; the same command goes on later.")
                return
    _show_checks(session.study, folder, as_json=as_json)


def _show_checks(study: Study, folder: Path, *, as_json: bool) -> None:
    from shotwindow.reports.documents import json_text
    from shotwindow.reports.grading import check_document, read_checks
    from shotwindow.reports.grading_words import grading_lines

    checks = read_checks(folder, study)
    if as_json:
        show(json_text({"grading": [check_document(check) for check in checks]}))
    else:
        show("\n".join(grading_lines(study, checks)) or "No part is read a second time yet.")
    hint(f"shotwindow surfaces {folder}   (shows this beside what the shots say)")


def _ask_parts(session: Session, reader: SecondReader, screen: Screen) -> None:
    """Ask for the parts that this person has not read, in the order of the list."""
    ahead = [part for part in reader.listed.parts if part not in reader.read()]
    at = 0
    while at < len(ahead):
        try:
            _ask_part(session, reader, ahead[at], screen)
            at += 1
        except Command as command:
            if command.key == "u":
                at = max(at - 1, 0)
            else:
                say(_KEYS)


def _ask_part(session: Session, reader: SecondReader, part: Part, screen: Screen) -> None:
    """Ask for one part until the answer can be read; it is on the disk when this returns."""
    study, layout = session.study, session.layout
    place = reader.listed.parts.index(part) + 1
    say(f"\nPart {part.label}   ({place} of {len(reader.listed.parts)})", kind="heading")
    asked = question(study, layout, part.heading)
    keys = one_key_answers(study, layout, part.heading)
    while text := ask(asked, reader.read().get(part, ""), screen=screen, keys=keys):
        cell = Cell(text, 0, 0)
        try:
            reader.take({part: reader.checked(part, cell)})
            return
        except Wrong as wrong:
            say(str(wrong.at(place_of(part.shot, part.heading), cell)), kind="error")
