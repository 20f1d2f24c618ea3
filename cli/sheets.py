"""sheet: the run sheet to make shots from, and blind lists of kept parts."""

import click

from shotwindow.cli.console import hint, say, show
from shotwindow.cli.folders import FOLDER


@click.command(
    epilog="""\b
Examples:
  shotwindow sheet plant-label --paper letter
  shotwindow sheet plant-label --xlsx
  shotwindow sheet plant-label --handout --answers
  shotwindow sheet plant-label --blind flash --parts 20"""
)
@FOLDER
@click.option("--html", is_flag=True, help="Only out/sheet.html, to print from a browser.")
@click.option("--pdf", is_flag=True, help="Only out/sheet.pdf.")
@click.option("--xlsx", is_flag=True, help="Only out/sheet.xlsx, to fill in with a spreadsheet.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size."
)
@click.option(
    "--handout",
    is_flag=True,
    help="For a class: the plan, an empty plot to draw the window on, and questions.",
)
@click.option("--answers", is_flag=True, help="The answers to the handout, in files of their own.")
@click.option(
    "--blind",
    type=click.Choice(["fill", "flash"]),
    help="A list of kept parts, for a second person to read again without the first readings.",
)
@click.option(
    "--parts",
    type=click.IntRange(min=2),
    default=20,
    show_default=True,
    metavar="N",
    help="With --blind: how many, half of them from either side of the limit.",
)
@click.option("--seed", default=1, show_default=True, help="With --blind: draws and shuffles.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def sheet(
    folder: str,
    paper: str,
    blind: str | None,
    parts: int,
    seed: int,
    as_json: bool,
    **kinds: bool,
) -> None:
    """Make the run sheet of a plan: every shot in running order, with room to write.

    Writes out/sheet.html and out/sheet.pdf, black on white: settings to change stand bold in a
    thick frame, soaks and warm-up shots are lines of their own, and labels for the parts come
    last. A sheet filled in with a spreadsheet comes back by `record --from`.

    With --handout, out/handout.html and out/handout.pdf for a class; with --answers, apart from
    it, out/handout-answers.html and out/handout-answers.pdf for the instructor.

    With --blind, out/blind-fill.html or out/blind-flash.html: parts on both sides of the limit by
    shot and cavity, shuffled, without any first reading. `record --blind` takes the second
    person's readings, and `surfaces` says how far the two agree. No result is changed by that.
    """
    from pathlib import Path

    from shotwindow.reports.documents import json_text
    from shotwindow.reports.sheet_files import write_blind_list, write_sheets

    handout, answers = kinds.pop("handout"), kinds.pop("answers")
    if handout or answers:
        return _hand_out(folder, paper, handout, answers, as_json)
    wanted = [kind for kind, wished in kinds.items() if wished]
    if blind is None:
        wanted = wanted or ["html", "pdf"]
        paths = write_sheets(Path(folder), wanted, paper)
    elif "pdf" in wanted:
        raise click.UsageError("--blind goes with --html and --xlsx.")
    else:
        wanted = wanted or ["html"]
        how = {"count": parts, "seed": seed}
        paths, listed, dropped = write_blind_list(Path(folder), wanted, paper, blind, **how)
        if listed < parts:
            say(f"Only {listed} parts: on one side of the limit there are no more.", kind="warning")
        if dropped:
            text = (
                f"what {' and '.join(dropped)} read of the list before is kept, but counts no more"
            )
            say(f"A new list: {text}.", kind="warning")
    written = [str(path) for path in paths]
    show(json_text({"files": written}) if as_json else "\n".join(f"Wrote {w}" for w in written))
    back = f" --from {written[0]}" if wanted == ["xlsx"] else ""
    if blind is None:
        hint(f"make the shots, then: shotwindow record {folder}{back}")
    else:
        hint(
            f"hand over the parts, then: shotwindow record {folder} --blind {blind} --by NAME{back}"
        )


def _hand_out(folder: str, paper: str, handout: bool, answers: bool, as_json: bool) -> None:
    """Write the handout of a plan, its answers, or both."""
    from pathlib import Path

    from shotwindow.reports.documents import json_text
    from shotwindow.reports.handout_files import write_handout

    asked = [which for which, wished in ((False, handout), (True, answers)) if wished]
    paths = [p for which in asked for p in write_handout(Path(folder), paper, answers=which)]
    written = [str(path) for path in paths]
    show(json_text({"files": written}) if as_json else "\n".join(f"Wrote {w}" for w in written))
    hint(f"print {written[0]}" if handout else f"keep {written[0]} apart from the handout")
