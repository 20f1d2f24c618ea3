"""surfaces, window, report and pictures: what the recorded shots say."""

from typing import TYPE_CHECKING, Any

import click

from shotwindow.cli.console import hint, say, show
from shotwindow.cli.folders import FOLDER
from shotwindow.cli.priors import PRIOR

if TYPE_CHECKING:
    from pathlib import Path

    from shotwindow.reports.findings import Findings

SEED = click.option("--seed", default=1, show_default=True, help="Seed of the posterior draws.")
GROWTH = click.option(
    "--growth", is_flag=True, help="Also how the window grew with the shots: four fits, so slower."
)
JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")


@click.command(
    epilog="""\b
Examples:
  shotwindow window plant-label
  shotwindow window plant-label --prefer low-pressure
  shotwindow window plant-label --curve melt_temperature
  shotwindow window plant-label --at points.csv --json
\b
where points.csv has the factor columns of runs.csv, for instance
  pressure (bar),melt temperature (degC)
  4.2,220"""
)
@FOLDER
@click.option(
    "--at",
    "table",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False),
    help="CSV or .xlsx with the factor columns of runs.csv: predict a new shot for each row.",
)
@click.option(
    "--prefer",
    type=click.Choice(["low-pressure", "short-time", "cool-melt"]),
    help="Of settings that are as good, which one; study.toml can say so for all commands.",
)
@click.option(
    "--curve",
    metavar="FACTOR",
    help="Draw the edges of this factor over each of the others, not those of pressure.",
)
@SEED
@PRIOR
@click.option("--no-pictures", is_flag=True, help="Write no out/window.png and out/window.svg.")
@JSON
def window(
    folder: str,
    table: str | None,
    as_json: bool,
    no_pictures: bool,
    **wanted: Any,
) -> None:
    """Map the settings that give good shots; give a setpoint with its margins.

    A setting is in the window when at least the share good_from of its shots is good, in a new
    temperature group and a new shot. The likely window holds the settings whose chance of that is
    0.5 or more, the sure window those with 0.9 or more. Exit code 3 where there is no setpoint.

    With --at, 9 of 10 new shots lie between low and high: fill in percent of the least filled
    cavity (100 at most), flash of the widest place in the study's unit, or its grade.
    """
    from pathlib import Path

    from shotwindow.doe.errors import Unanswerable
    from shotwindow.reports.documents import json_text, window_document
    from shotwindow.reports.findings import read_findings
    from shotwindow.reports.points import predict_points, read_points
    from shotwindow.reports.verdicts import verdict
    from shotwindow.reports.words import next_step, window_lines

    found = read_findings(Path(folder), **wanted)
    points = predict_points(found, read_points(Path(table), found.study)) if table else ()
    if as_json:
        show(json_text(window_document(found, points)))
    else:
        show("\n".join(window_lines(found, points)))
    if found.window is not None and not (no_pictures or as_json):
        from shotwindow.reports.figures import write_window

        say("Wrote {} and {}".format(*write_window(found, Path(folder) / "out")))
    hint(next_step(found, folder))
    if found.setpoint is None:
        raise Unanswerable(verdict(found) if as_json else "no setpoint; see above why")


@click.command(
    epilog="""\b
Examples:
  shotwindow surfaces plant-label
  shotwindow surfaces plant-label --textbook
  shotwindow surfaces plant-label --prior weak --json"""
)
@FOLDER
@click.option(
    "--textbook",
    "with_tables",
    is_flag=True,
    help="Add all tables of least squares, each under the question that it answers.",
)
@SEED
@PRIOR
@JSON
def surfaces(folder: str, with_tables: bool, seed: int, prior: str, as_json: bool) -> None:
    """Show what each setting does to fill and flash, in the units of its dial.

    Every effect comes with the interval that holds it with a chance of 0.9, beside what least
    squares makes of the bare readings; then both edges, what the plan cannot tell apart, what
    was believed before any shot, and whether the fit converged. Exit code 3 where it did not.
    """
    from pathlib import Path

    from shotwindow.doe.errors import Unanswerable
    from shotwindow.doe.judging import judge
    from shotwindow.doe.runs import read_plan
    from shotwindow.reports.documents import json_text
    from shotwindow.reports.findings import read_findings
    from shotwindow.reports.surface_documents import surfaces_document
    from shotwindow.reports.surface_words import surface_lines
    from shotwindow.reports.verdicts import fit_failed

    found = read_findings(Path(folder), seed=seed, prior=prior)
    aliases = judge(found.study, read_plan(Path(folder))).aliases
    if as_json:
        show(json_text(surfaces_document(found, aliases)))
    else:
        show("\n".join(surface_lines(found, aliases)))
    if with_tables and not as_json:
        from shotwindow.reports.textbook import textbook, textbook_lines

        show("\n".join(["", *textbook_lines(textbook(found))]))
    if not found.surfaces.converged:
        raise Unanswerable(fit_failed(found))
    hint(f"shotwindow window {folder}   (where good shots are, and where to run)")


@click.command(
    epilog="""\b
Examples:
  shotwindow report plant-label
  shotwindow report plant-label --growth
  shotwindow report plant-label --setup --paper letter"""
)
@FOLDER
@click.option(
    "--setup",
    "as_setup",
    is_flag=True,
    help="Only the set-up sheet for the press: out/set-up.pdf and out/set-up.html.",
)
@GROWTH
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="Size of the set-up sheet.",
)
@SEED
@PRIOR
@JSON
def report(
    folder: str, as_setup: bool, paper: str, growth: bool, as_json: bool, **fit: Any
) -> None:
    """Write one HTML page with everything: out/report.html.

    Plan, readings, window with a map to move about in, setpoint with margins, method, safety,
    data fingerprint. It needs no network, and can be read, printed, kept and handed on.

    With --setup, one page to hang at the press, black on white: what to set, the ranges, what a
    good shot is, and whether shots confirmed it. Exit code 3 where there is no setpoint.
    """
    if as_setup and growth:
        raise click.UsageError("--growth is for the report, not for --setup.")
    from pathlib import Path

    if as_setup:
        from shotwindow.reports.set_up_files import write_set_up

        paths, found = write_set_up(Path(folder), paper, **fit)
    else:
        path, found = _report(Path(folder), growth=growth, **fit)
        paths = (path,)
    if as_json:
        from shotwindow.reports.documents import json_text
        from shotwindow.reports.verdicts import verdict

        show(json_text({"files": [str(path) for path in paths], "verdict": verdict(found)}))
    else:
        show("\n".join(f"Wrote {path}" for path in paths))
    hint(f"print {paths[0]}" if as_setup else f"open {paths[0]} in a browser")


def _report(folder: "Path", **asked: Any) -> "tuple[Path, Findings]":
    """Write the page, half of it in a second process where that is sooner."""
    from contextlib import nullcontext
    from functools import partial

    from shotwindow.cli.second_process import pays, second_process

    with second_process() if pays(folder) else nullcontext(partial) as elsewhere:
        from shotwindow.reports.theme import nothing_collected

        with nothing_collected():
            from shotwindow.reports.page import write_report  # slow to load: so does the other one

            return write_report(folder, elsewhere=elsewhere, **asked)


@click.command(
    epilog="""\b
Examples:
  shotwindow pictures plant-label
  shotwindow pictures plant-label --growth"""
)
@FOLDER
@GROWTH
@SEED
@PRIOR
@JSON
def pictures(folder: str, growth: bool, seed: int, prior: str, as_json: bool) -> None:
    """Write every picture as a file of its own: out/pictures.

    Each as PNG and as SVG, for slides and the wall: the window and the same map at other settings,
    rulers, effects, the plan, every shot as foretold and as seen. They are legible in gray;
    words.txt says what each one shows. Before the first shot it is the plan alone.
    """
    from pathlib import Path

    from shotwindow.reports.documents import json_text
    from shotwindow.reports.picture_files import write_all

    paths = write_all(Path(folder), seed=seed, prior=prior, growth=growth)
    if as_json:
        show(json_text({"files": [str(path) for path in paths]}))
    else:
        show("\n".join(f"Wrote {path}" for path in paths))
    if any(not path.name.startswith(("plan-", "words")) for path in paths):
        hint(f"shotwindow report {folder}   (all of them on one page, with their numbers)")
    else:
        hint(f"shotwindow record {folder}   (the pictures of what the shots say come after it)")
