"""plan and sheet: which shots to make, and the sheet to make them from."""

import click

from shotwindow.cli.console import hint, say, show

FOLDER = click.argument("folder", type=click.Path(exists=True, file_okay=False))
JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")


@click.command(
    epilog="""\b
Examples:
  shotwindow plan plant-label
  shotwindow plan plant-label --shots 16 --minutes 180 --seed 7 --dry-run
  shotwindow plan plant-label --kind ladder"""
)
@FOLDER
@click.option("--shots", type=int, metavar="N", help="Number of shots, without warm-up shots.")
@click.option("--minutes", type=float, metavar="M", help="Time at the press, for the budget.")
@click.option("--seed", default=1, show_default=True, metavar="S", help="Seed of random choices.")
@click.option(
    "--kind",
    default="optimal",
    show_default=True,
    help="optimal, or a textbook plan: factorial, fraction, composite, box-behnken, screening; "
    "or ladder: pressure rising step by step.",
)
@click.option("--dry-run", is_flag=True, help="Show the plan and write nothing.")
@JSON
def plan(
    folder: str, seed: int, kind: str, dry_run: bool, as_json: bool, **wish: float | None
) -> None:
    """Choose the shots of a study and write them to its run sheet, runs.csv.

    The optimal plan predicts best over all settings in as many shots as the time allows, and
    changes slow settings seldom. A plan over shots that are recorded already is refused.
    """
    from pathlib import Path

    from shotwindow.doe.plans import make_plan
    from shotwindow.doe.runs import write_plan
    from shotwindow.doe.study import read_study
    from shotwindow.reports.documents import json_text
    from shotwindow.reports.planned import plan_document, plan_lines, tell

    study = read_study(Path(folder))
    made = make_plan(study, kind=kind, seed=seed, **wish)  # type: ignore[arg-type]
    told = tell(study, made, Path(folder))
    if not dry_run:
        write_plan(Path(folder), study, made)
    show(json_text(plan_document(told)) if as_json else "\n".join(plan_lines(told)))
    if dry_run:
        say("Dry run: nothing was written.")
    else:
        say(f"Wrote {Path(folder) / 'plan.json'} and {Path(folder) / 'runs.csv'}")
        hint(f"shotwindow sheet {folder}   (to print), then: shotwindow record {folder}")


@click.command(
    epilog="""\b
Examples:
  shotwindow sheet plant-label --paper letter
  shotwindow sheet plant-label --xlsx"""
)
@FOLDER
@click.option("--html", is_flag=True, help="Only out/sheet.html, to print from a browser.")
@click.option("--pdf", is_flag=True, help="Only out/sheet.pdf.")
@click.option("--xlsx", is_flag=True, help="Only out/sheet.xlsx, to fill in with a spreadsheet.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size."
)
@JSON
def sheet(folder: str, paper: str, as_json: bool, **kinds: bool) -> None:
    """Make the run sheet of a plan: every shot in running order, with room to write.

    Writes out/sheet.html and out/sheet.pdf, black on white: settings to change stand bold in a
    thick frame, soaks and warm-up shots are lines of their own, and labels for the parts come
    last. A sheet filled in with a spreadsheet comes back by `record --from`.
    """
    from pathlib import Path

    from shotwindow.reports.documents import json_text
    from shotwindow.reports.sheet_files import write_sheets

    wanted = [kind for kind, wished in kinds.items() if wished] or ["html", "pdf"]
    written = [str(path) for path in write_sheets(Path(folder), wanted, paper)]
    show(json_text({"files": written}) if as_json else "\n".join(f"Wrote {w}" for w in written))
    back = f" --from {written[0]}" if wanted == ["xlsx"] else ""
    hint(f"make the shots, then: shotwindow record {folder}{back}")
