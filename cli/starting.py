"""The command `start`: a few answers into the study.toml of a new study."""

import click


@click.command(
    epilog="""\b
Examples:
  shotwindow start plant-label
  shotwindow start clip --material HIPS --pressure "40 to 70 by 5 psi" --mold "100 degF\""""
)
@click.argument("folder", type=click.Path(file_okay=False))
@click.option("--title", metavar="TEXT", help="What the mold makes.  [default: the folder's name]")
@click.option("--material", metavar="NAME", help="Fills first temperatures from its card.")
@click.option("--cavities", type=click.IntRange(1, 256), metavar="N", help="[default: 1]")
@click.option("--layout", metavar="ROWS", help='How they lie: "1 2 / 3 4".  [default: not told]')
@click.option(
    "--fill",
    type=click.Choice(["eye", "mass", "full-or-short"]),
    help="How fill is judged.  [default: eye]",
)
@click.option("--full-mass", metavar="G,G,...", help="Mass of each cavity's full part, for mass.")
@click.option(
    "--flash", type=click.Choice(["grade", "width"]), help="How flash is.  [default: grade]"
)
@click.option("--pressure", metavar="RANGE", help='Gauge pressure: "40 to 70 by 5 psi".')
@click.option("--rating", metavar="P", help="The highest gauge pressure of the press, same unit.")
@click.option("--melt", metavar="RANGE", help='"400 to 450 by 10 degF", one value to hold, "none".')
@click.option("--mold", metavar="RANGE", help="Mold temperature, in the same way.")
@click.option("--time", metavar="RANGE", help='Injection time: "3 to 8 by 1 s", one value, "none".')
@click.option("--minutes", metavar="M", help="Minutes at the press.  [default: 240]")
@click.option("--json", "as_json", is_flag=True, help="Print a summary as JSON.")
def start(folder: str, as_json: bool, **given: object) -> None:
    """Write the study.toml of a new study, with a comment on every line that needs one.

    At a terminal it asks for what no option tells; elsewhere it takes the options alone and
    needs --pressure. A study.toml that is there is never overwritten.
    """
    import sys
    from pathlib import Path

    from shotwindow.cli.starter import collect, show_started, write_study

    path = Path(folder) / "study.toml"
    texts = {key: None if value is None else str(value) for key, value in given.items()}
    outline = collect(path, texts, asks=sys.stdin.isatty())
    guards = write_study(path, outline)
    show_started(folder, outline, guards, as_json=as_json)
