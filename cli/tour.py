"""A shipped example -> the whole way through the commands, each shown and run as typed."""

import contextlib
import io
import json
import shlex
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import chdir, contextmanager
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from shotwindow.cli.console import hint, say, show
from shotwindow.cli.main import run
from shotwindow.doe.errors import StudyError, guess
from shotwindow.doe.store import disk_told

_SCHEMA = 1
_FIRST = "plant-label"


def examples() -> dict[str, Traversable]:
    """Return the folders of the shipped examples by name, the first one first."""
    folders = {f.name: f for f in files("shotwindow.examples").iterdir() if f.is_dir()}
    found = {name: f for name, f in folders.items() if f.joinpath("expected.toml").is_file()}
    return dict(sorted(found.items(), key=lambda item: (item[0] != _FIRST, item[0])))


def tour(name: str | None, keep: str | None, *, as_json: bool) -> int:
    """Go the whole way on an example; return the exit code of the step that failed, or 0.

    Raises
    ------
    StudyError
        If there is no such example, or the folder to keep it in is not empty.
    """
    known = examples()
    name = name or next(iter(known))
    if name not in known:
        meant = guess(name, known)
        do = f"did you mean {meant}?" if meant else ""
        raise StudyError.one("--example", name, f"one of {', '.join(known)}", do)
    with _folder(keep) as parent, chdir(parent):
        Path(name).mkdir()
        Path(name, "study.toml").write_bytes(known[name].joinpath("study.toml").read_bytes())
        steps = _steps(name, known[name])
        if as_json:
            return _run_silently(steps)
        say(f"This is {name}, an invented study that comes with shotwindow: no press is needed.")
        for why, args in steps:
            show(f"\n{why}\n$ shotwindow {shlex.join(args)}", kind="heading")
            code = run(args)
            if code:
                return code
    if keep is None:
        hint("shotwindow demo --keep FOLDER leaves the study there, with its pictures")
    else:
        hint(f"look into {Path(keep, name)}: open out/report.html, try the commands yourself")
    return 0


def _steps(name: str, example: Traversable) -> list[tuple[str, list[str]]]:
    """Return why each command is given, and its words."""
    expected = tomllib.loads(example.joinpath("expected.toml").read_text("utf-8"))
    made, grown = expected["made"], expected.get("grown")
    second = [] if grown is None else [
        ("Add a second block to what was shot.", ["plan", name, *grown["plan"]]),
        ("Make its shots.", ["practice", name, *grown["practice"]]),
    ]  # fmt: skip
    return [
        ("Choose the shots.", ["plan", name, *made["plan"]]),
        ("Make the run sheet for the press.", ["sheet", name]),
        ("Make the shots. Here a simulated press does; you would record yours.",
         ["practice", name, *made["practice"]]),
        *second,
        ("See what each setting does.", ["surfaces", name]),
        ("See where good shots are, and where to run.", ["window", name]),
        ("Put everything on one page.", ["report", name]),
        ("Since the press is simulated, the truth is known.", ["practice", name, "--reveal"]),
    ]  # fmt: skip


def _run_silently(steps: list[tuple[str, list[str]]]) -> int:
    """Run the steps with --json and print what they gave as one document."""
    results = []
    for _, args in steps:
        printed = io.StringIO()
        with contextlib.redirect_stdout(printed):
            code = run([*args, "--json"])
        if code:
            return code
        results.append({"command": args, "result": json.loads(printed.getvalue())})
    show(json.dumps({"schema": _SCHEMA, "steps": results}, ensure_ascii=False))
    return 0


@contextmanager
def _folder(keep: str | None) -> Iterator[str]:
    """Give the folder in which the study is made: one that stays, or one for as long as needed."""
    if keep is None:
        with tempfile.TemporaryDirectory() as folder:
            yield folder
        return
    with disk_told(Path(keep)):
        Path(keep).mkdir(parents=True, exist_ok=True)
    if any(Path(keep).iterdir()):
        do = "name a new folder, or empty this one"
        raise StudyError.one(f"--keep {keep}", "a folder with files in it", "an empty one", do)
    yield keep
