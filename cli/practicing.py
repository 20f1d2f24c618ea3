"""The commands `practice` and `demo`: a study without a press."""

from typing import TYPE_CHECKING, Any

import click

from shotwindow.cli.folders import missing

if TYPE_CHECKING:  # a command loads it when it runs
    from pathlib import Path


@click.command(
    epilog="""\b
Examples:
  shotwindow practice plant-label --seed 7 --team red
  shotwindow practice plant-label --reveal
  shotwindow practice bench-class --class 6 --seed 7
  shotwindow practice bench-class --collect --reveal
  shotwindow practice handouts --lesson aliasing --paper letter"""
)
@click.argument("folder", type=click.Path(file_okay=False), required=False)
@click.option(
    "--press",
    metavar="NAME",
    help="A or B: a random press of that family that fits the study. Or one that is always the "
    "same: forgiving, narrow, unbalanced, impossible, clip.  [default: A]",
)
@click.option("--seed", type=click.IntRange(min=0), help="One seed, one press.  [default: 1]")
@click.option(
    "--team",
    metavar="NAME",
    help="Teams with one seed share its press, not its luck. In a class: only this team; a new "
    "name is added to it.",
)
@click.option("--shot-by-shot", "one", is_flag=True, help="Make only the next shot.")
@click.option("--reveal", is_flag=True, help="Tell the truth and the score, after the last shot.")
@click.option(
    "--class",
    "teams",
    type=click.IntRange(1, 99),
    metavar="N",
    help="Make a class: a folder for each of N teams in FOLDER, with its study.",
)
@click.option("--own", is_flag=True, help="With --class: a press of its own for each team.")
@click.option("--collect", is_flag=True, help="Put all teams in FOLDER on one page, and print it.")
@click.option("--lessons", is_flag=True, help="List the lessons.")
@click.option("--lesson", metavar="NAME", help="Write a lesson's handout, and the answers apart.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def practice(
    folder: str | None,
    lessons: bool,
    lesson: str | None,
    paper: str,
    as_json: bool,
    **asked: Any,
) -> None:
    """Shoot the planned shots on a simulated press, and record them as a student would.

    The press takes the study's factors and units, and what is read has the study's steps. Its
    truth stays hidden until --reveal. Nothing here is about your own mold.

    --class makes a class: folders team-01, team-02, ... in FOLDER, each with its study.toml; press
    and seed stand in class.json alone. Each team plans in its folder; practice with the folder of
    the class, or of a team, makes the shots. --collect writes out/class.html.

    --lesson writes the handout of a lesson to the folder, and its answers apart.
    """
    from pathlib import Path

    if lessons:
        from shotwindow.cli.lessons import show_lessons

        return show_lessons(as_json=as_json)
    if folder is None:
        raise click.UsageError("Missing argument 'FOLDER'.")
    if lesson is not None:
        from shotwindow.cli.lessons import write_lessons

        return write_lessons(Path(folder), lesson, paper, as_json=as_json)
    if not Path(folder).is_dir():
        raise click.UsageError(missing(folder))
    _practice(Path(folder), as_json=as_json, **asked)


def _practice(path: "Path", *, as_json: bool, **asked: Any) -> None:
    """Shoot a study or a class, or tell the truth about it."""
    from shotwindow.cli.practice_file import read_class

    if asked.pop("collect"):
        from shotwindow.cli.collecting import collect

        return collect(path, reveal=asked["reveal"], as_json=as_json)
    if asked["teams"] is not None or read_class(path) is not None:
        from shotwindow.cli.class_folder import practice_class

        return practice_class(path, asked, as_json=as_json)
    if asked["own"]:
        raise click.UsageError("--own goes with --class.")
    if asked["reveal"]:
        from shotwindow.cli.revealing import reveal_truth

        return reveal_truth(path, as_json=as_json)
    from shotwindow.cli.simulated import practice_shots
    from shotwindow.doe.study import read_study

    wished = {key: asked[key] for key in ("press", "seed", "team")}
    practice_shots(path, read_study(path), wished, one=asked["one"], as_json=as_json)


@click.command(
    epilog="""\b
Examples:
  shotwindow demo
  shotwindow demo --example seed-tray-clip --keep practice"""
)
@click.option("--keep", metavar="FOLDER", help="Leave the study in a new folder, to play with.")
@click.option(
    "--example", "name", metavar="NAME", help="plant-label, seed-tray-clip, coat-hook or gland-cap."
)
@click.option("--json", "as_json", is_flag=True, help="Print what each step gave as JSON.")
def demo(keep: str | None, name: str | None, as_json: bool) -> int:
    """Go the whole way on a shipped example: plan, run sheet, shots, surfaces, window, report.

    Every step is a command that you could type; it is shown before it runs. The data come from a
    simulated press.
    """
    from shotwindow.cli.tour import tour

    return tour(name, keep, as_json=as_json)
