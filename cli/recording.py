"""The commands `record` and `history`: results into a study, and all that was ever entered."""

import click

from shotwindow.cli.folders import FOLDER


@click.command(
    epilog="""\b
Examples:
  shotwindow record plant-label --by Ada
  shotwindow record plant-label --from results.xlsx --take-good
  shotwindow record plant-label --web --address 192.168.1.20:8431
  shotwindow record plant-label --blind flash --by Ben"""
)
@FOLDER
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
@click.option(
    "--blind",
    type=click.Choice(["fill", "flash"]),
    help="A second person's readings of the parts that `sheet --blind` lists; no result changes.",
)
@click.option("--by", default="", metavar="NAME", help="Who records.")
@click.option("--json", "as_json", is_flag=True, help="Print a summary as JSON.")
def record(
    folder: str,
    source: str | None,
    blind: str | None,
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

    --blind asks a second person for readings of kept parts, and says how far they agree with the
    first ones.
    """
    from pathlib import Path

    from shotwindow.cli.later import waiting_shots
    from shotwindow.cli.recorder import record_from_file, record_shots, show_summary
    from shotwindow.doe.session import open_session
    from shotwindow.doe.study import read_study

    _check_usage(source, blind, address, manner)
    study = read_study(Path(folder))
    with open_session(Path(folder), study, who=by) as session:
        taken = None
        if blind:
            from shotwindow.cli.blind_reading import record_blind

            source_path = Path(source) if source else None
            plain = manner["plain"]
            record_blind(session, Path(folder), blind, source_path, plain=plain, as_json=as_json)
            return
        if source:
            taken = record_from_file(session, Path(source), take_good=manner["take_good"])
        elif manner["web"]:
            from shotwindow.cli.web import record_by_page

            record_by_page(session, Path(folder), address=address, actual=manner["actual"])
        else:
            how = {name: manner[name] for name in ("actual", "plain", "weigh")}
            record_shots(session, Path(folder), **how)
        waiting = waiting_shots(session)
        show_summary(folder, session.rows, as_json=as_json, taken=taken, waiting=waiting)


def _check_usage(
    source: str | None, blind: str | None, address: str | None, manner: dict[str, bool]
) -> None:
    """Refuse options that do not go together."""
    if manner["take_good"] and not source:
        raise click.UsageError("--take-good goes with --from FILE.")
    if address and not manner["web"]:
        raise click.UsageError("--address goes with --web.")
    if manner["web"] and (source or manner["weigh"] or manner["plain"]):
        raise click.UsageError("--web goes without --from, --weigh and --plain.")
    if blind and any(manner[name] for name in ("web", "take_good", "weigh", "actual")):
        raise click.UsageError("--blind goes with --by, --from, --plain and --json alone.")


@click.command(
    epilog="""\b
Examples:
  shotwindow history plant-label --shot 7
  shotwindow history plant-label --at 31 > then.csv"""
)
@FOLDER
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
