"""The name of a lesson -> its handout and its answers as files, and the list of all lessons."""

from pathlib import Path

from shotwindow.cli.console import hint, show
from shotwindow.doe.errors import StudyError, guess
from shotwindow.doe.store import disk_told, write_whole
from shotwindow.examples.lessons.contents import LESSONS, about, read_lesson
from shotwindow.reports.documents import json_text
from shotwindow.reports.lesson import answers_html, lesson_html


def show_lessons(*, as_json: bool) -> None:
    """Print the lessons there are."""
    if as_json:
        show(json_text({"lessons": {name: about(name) for name in LESSONS}}))
        return
    for name in LESSONS:
        show(f"{name}\n    {about(name)}")
    hint("shotwindow practice FOLDER --lesson NAME   (or all)")


def write_lessons(folder: Path, name: str, paper: str, *, as_json: bool) -> None:
    """Write the handout of one lesson, or of all, and apart from it the answers.

    Raises
    ------
    StudyError
        If there is no such lesson, or the files cannot be written.
    """
    if name not in (*LESSONS, "all"):
        meant = guess(name, LESSONS)
        do = f"did you mean {meant}?" if meant else ""
        raise StudyError.one("--lesson", name, f"all, or one of {', '.join(LESSONS)}", do)
    with disk_told(folder):
        folder.mkdir(parents=True, exist_ok=True)
    written = []
    for each in LESSONS if name == "all" else (name,):
        lesson = read_lesson(each)
        for end, page in (("", lesson_html), ("-answers", answers_html)):
            path = folder / f"{each}{end}.html"
            write_whole(path, page(lesson, paper).encode())
            written.append(str(path))
    show(json_text({"files": written}) if as_json else "\n".join(f"Wrote {w}" for w in written))
