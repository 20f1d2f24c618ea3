"""next, confirm and compare: what to do about what was found."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from shotwindow.cli.console import hint, say, show
from shotwindow.cli.folders import FOLDER, STUDY
from shotwindow.cli.priors import PRIOR

if TYPE_CHECKING:  # loaded when a command is called, so that help stays quick
    from shotwindow.reports.confirming import Planned

SEED = click.option("--seed", default=1, show_default=True, help="Seed of the posterior draws.")
DRY = click.option("--dry-run", is_flag=True, help="Show the shots and write nothing.")
JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")


@click.command(
    name="next",
    epilog="""\b
Examples:
  shotwindow next plant-label --shots 4 --dry-run
  shotwindow next plant-label --edit
  shotwindow next plant-label --new-day --reference --json""",
)
@FOLDER
@click.option("--shots", default=4, show_default=True, metavar="N", help="How many at the most.")
@click.option("--new-day", "cold", is_flag=True, help="The press has been off: begin a new group.")
@click.option(
    "--reference",
    is_flag=True,
    help="One of them at the setpoint in a new group: tells whether days or lots change.",
)
@click.option("--edit", is_flag=True, help="Change the shots in an editor before they are written.")
@DRY
@SEED
@PRIOR
@JSON
def next(folder: str, shots: int, edit: bool, dry_run: bool, as_json: bool, **how: Any) -> None:
    """Add the shots that are expected to sharpen the window most for their minutes.

    Each is where it is expected to put most of the map right for its minutes, in the present
    temperature group or another, with the reason. An edge that was never seen is sought first, a
    small step at a time. The last line says what they are expected to change, and when to stop.
    """
    from shotwindow.doe.runs import write_plan
    from shotwindow.reports.documents import json_text
    from shotwindow.reports.next_words import next_document, next_lines
    from shotwindow.reports.suggesting import edited, suggest

    told = suggest(Path(folder), shots=shots, **how)
    longer = told.longer
    if edit:
        from shotwindow.cli.editing import edit_settings

        longer = edited(told, edit_settings(told), cold=how["cold"])
    if not dry_run:
        write_plan(Path(folder), told.found.study, longer)
    lines = json_text(next_document(told, written=not dry_run)) if as_json else next_lines(told)
    show(lines if isinstance(lines, str) else "\n".join(lines))
    if longer != told.longer:
        say(f"In their place, as edited: {len(longer.fitted()) - len(told.plan.fitted())} shots.")
    if dry_run:
        say("Dry run: nothing was written.")
    else:
        hint(f"shotwindow record {folder}   (the shots are in {Path(folder) / 'runs.csv'})")


@click.command(
    epilog="""\b
Examples:
  shotwindow confirm plant-label --reliability 0.9 --confidence 0.9
  shotwindow confirm plant-label --qualify --failures 1 --dry-run
  shotwindow confirm plant-label              (once shot: the verdict)
  shotwindow confirm plant-label --again      (after a failed attempt)"""
)
@FOLDER
@click.option("--reliability", type=float, metavar="R", help="Share of good shots to be shown.")
@click.option("--confidence", type=float, metavar="C", help="With which confidence.")
@click.option("--failures", type=int, metavar="F", help="How many shots may fail.  [default: 0]")
@click.option(
    "--groups",
    type=int,
    metavar="G",
    help="Groups or days to spread them over.  [default: three, if the minutes allow]",
)
@click.option("--qualify", is_flag=True, help="Spread them over three groups or days.")
@click.option("--again", is_flag=True, help="Plan a further attempt, with fresh shots.")
@DRY
@SEED
@PRIOR
@JSON
def confirm(
    folder: str,
    again: bool,
    dry_run: bool,
    as_json: bool,
    seed: int,
    **asked: Any,
) -> None:
    """Plan fresh shots that confirm the setpoint; once they are shot, give the verdict.

    The number of shots follows from reliability and confidence; a few more challenge the worst
    corners of the ranges. What is to be shown is fixed before the shots and kept in confirm.json.
    Shots of one temperature group share its heating, so that they prove that heating and not the
    next: they are spread over three groups where budget_min allows, and --qualify insists on it.
    A further attempt needs fresh shots. Exit code 3 where all are shot and nothing can be told.
    """
    from shotwindow.doe.attempts import read_attempts
    from shotwindow.models.challenge import QUALIFIED_FROM
    from shotwindow.reports.attempt_verdicts import wanted_demand
    from shotwindow.reports.confirming import plan_attempt

    prior, qualify = asked.pop("prior"), asked.pop("qualify")
    demand: dict[str, float | None] = asked
    if qualify:
        demand["groups"] = max(QUALIFIED_FROM, int(demand["groups"] or 0))
    attempts = read_attempts(Path(folder))
    if attempts and not again:
        _tell_verdict(folder, demand, as_json=as_json)
        return
    wanted = wanted_demand(Path(folder), demand)
    planned = plan_attempt(Path(folder), wanted, seed=seed, prior=prior)
    _tell_plan(folder, planned, dry_run=dry_run, as_json=as_json)


def _tell_plan(folder: str, planned: "Planned", *, dry_run: bool, as_json: bool) -> None:
    from shotwindow.reports.attempt_words import planned_lines
    from shotwindow.reports.confirm_documents import planned_document
    from shotwindow.reports.confirming import write_attempt
    from shotwindow.reports.documents import json_text

    if not dry_run:
        write_attempt(Path(folder), planned)
    document = planned_document(planned, written=not dry_run)
    show(json_text(document) if as_json else "\n".join(planned_lines(planned)))
    if dry_run:
        say("Dry run: nothing was written.")
    else:
        hint(f"shotwindow record {folder}, then shotwindow confirm {folder}   (for the verdict)")


def _tell_verdict(folder: str, demand: dict[str, float | None], *, as_json: bool) -> None:
    from shotwindow.doe.errors import Unanswerable
    from shotwindow.reports.after_failing import shots_after
    from shotwindow.reports.attempt_verdicts import cannot_tell, check_unchanged, last_judged
    from shotwindow.reports.confirm_documents import judged_document
    from shotwindow.reports.confirm_words import judged_lines, next_hint
    from shotwindow.reports.documents import json_text

    check_unchanged(Path(folder), demand)
    judged = last_judged(Path(folder))
    assert judged is not None  # there is an attempt
    then = shots_after(Path(folder), judged)
    document = json_text(judged_document(judged, then)) if as_json else ""
    show(document or "\n".join(judged_lines(judged, then)))
    if cannot_tell(judged):
        raise Unanswerable("the confirmation shots cannot tell; see above why")
    hint(next_hint(judged, folder))


@click.command(
    epilog="""\b
Examples:
  shotwindow compare before-repair after-repair
  shotwindow compare press-1 press-2 --json
  shotwindow compare plant-label --lots "lot 7" "lot 8\""""
)
@click.argument("a", type=STUDY)
@click.argument("b", type=STUDY, required=False)
@click.option("--lots", nargs=2, metavar="A B", help="Two lots of one study, as in runs.csv.")
@SEED
@PRIOR
@JSON
def compare(a: str, b: str | None, lots: tuple[str, str] | None, **how: Any) -> None:
    """Tell where the windows of two studies, or of two lots of one, differ, and how sure that is.

    Before and after a repair, two lots, or two presses: units are converted, and pressures are
    matched on the melt where both presses have an area ratio. Gives a setting good in both.
    """
    from shotwindow.reports.compare_documents import compare_document
    from shotwindow.reports.compare_words import compare_lines
    from shotwindow.reports.comparing import compare as compare_studies
    from shotwindow.reports.comparing import compare_lots
    from shotwindow.reports.documents import json_text

    seed, prior = how["seed"], how["prior"]
    if (b is None) == (lots is None):
        raise click.UsageError("name two studies, or one study and two lots with --lots")
    if b is not None:
        found = compare_studies(Path(a), Path(b), seed=seed, prior=prior)
    else:
        assert lots is not None  # just looked at
        found = compare_lots(Path(a), lots, seed=seed, prior=prior)
    show(json_text(compare_document(found)) if how["as_json"] else "\n".join(compare_lines(found)))
    hint(f"shotwindow window {a} --at points.csv   (chances at settings of your own)")
