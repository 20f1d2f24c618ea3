"""The commands `record` and `history`: results into a study, and all that was ever entered."""

import click


@click.command(
    epilog="""\b
Examples:
  shotwindow record plant-label --by Ada
  shotwindow record plant-label --from results.xlsx --take-good
  shotwindow record plant-label --web --address 192.168.1.20:8431"""
)
@click.argument("folder", type=click.Path(exists=True, file_okay=False))
@click.option(
    "--from",
    "source",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False),
    help="Take a filled-in run sheet (.csv or .xlsx): all of it, or nothing if a cell is wrong.",
)
@click.option("--take-good", is_flag=True, help="With --from: leave out the rows that are wrong.")
@click.option("--actual", is_flag=True, help="Ask for the settings as read off the press, too.")
@click.option("--weigh", is_flag=True, help="Ask for the masses of parts kept for the balance.")
@click.option("--plain", is_flag=True, help="Plain lines at a terminal too, for screen readers.")
@click.option("--web", is_flag=True, help="Serve a page to record on, until Ctrl-C.")
@click.option(
    "--address",
    metavar="HOST:PORT",
    help="With --web: serve on this address, for a tablet or phone; each needs a code.",
)
@click.option("--by", default="", metavar="NAME", help="Who records.")
@click.option("--json", "as_json", is_flag=True, help="Print a summary as JSON.")
def record(
    folder: str,
    source: str | None,
    take_good: bool,
    by: str,
    as_json: bool,
    address: str | None,
    **manner: bool,
) -> None:
    """Take results at the press, shot by shot, or from a filled-in sheet.

    Every answer is saved before the next question; leave with q at any time and go on later.
    At a terminal a soak is counted down, and a grade, full or short needs no Enter. Parts may be
    kept and weighed later (w at the question for the mass); their shots count once they are.

    What was changed in runs.csv by hand is checked, shown and taken.

    --web serves a page in place of the questions, for gloves and one hand. Only a browser on this
    machine reaches it; for a tablet or phone name this machine's own address in your network, and
    type the code that is printed here. SECURITY.md says what that protects.
    """
    from pathlib import Path

    from shotwindow.cli.later import waiting_shots
    from shotwindow.cli.recorder import record_from_file, record_shots, show_summary
    from shotwindow.doe.session import open_session
    from shotwindow.doe.study import read_study

    if take_good and not source:
        raise click.UsageError("--take-good goes with --from FILE.")
    by_page = manner.pop("web")
    if address and not by_page:
        raise click.UsageError("--address goes with --web.")
    if by_page and (source or manner["weigh"] or manner["plain"]):
        raise click.UsageError("--web goes without --from, --weigh and --plain.")
    study = read_study(Path(folder))
    with open_session(Path(folder), study, who=by) as session:
        taken = None
        if source:
            taken = record_from_file(session, Path(source), take_good=take_good)
        elif by_page:
            from shotwindow.cli.web import record_by_page

            record_by_page(session, Path(folder), address=address, actual=manner["actual"])
        else:
            record_shots(session, Path(folder), **manner)
        waiting = waiting_shots(session)
        show_summary(folder, session.rows, as_json=as_json, taken=taken, waiting=waiting)


@click.command(
    epilog="""\b
Examples:
  shotwindow history plant-label --shot 7
  shotwindow history plant-label --at 31 > then.csv"""
)
@click.argument("folder", type=click.Path(exists=True, file_okay=False))
@click.option("--shot", type=int, metavar="N", help="Only what changed of shot N.")
@click.option("--at", type=int, metavar="ENTRY", help="Print runs.csv as it was after an entry.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def history(folder: str, shot: int | None, at: int | None, as_json: bool) -> None:
    """Show every entry ever made: what changed, when, and by whom."""
    from pathlib import Path

    from shotwindow.cli.recorder import show_entries, show_sheet
    from shotwindow.doe.journal import read_journal

    entries = read_journal(Path(folder))
    if at is None:
        show_entries(entries, shot, as_json=as_json)
    else:
        show_sheet(entries, at, as_json=as_json)
