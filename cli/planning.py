"""plan: which shots to make."""

from typing import TYPE_CHECKING, Any

import click

from shotwindow.cli.console import hint, say, show
from shotwindow.cli.folders import FOLDER
from shotwindow.cli.progressing import shown

if TYPE_CHECKING:  # planning loads much that help does not need
    from shotwindow.doe.study import Study
    from shotwindow.reports.plan_wishes import Wishes
    from shotwindow.reports.planned import Told

SEEKING = "Looking for the best plan"
JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")


@click.command(
    epilog="""\b
Examples:
  shotwindow plan plant-label
  shotwindow plan plant-label --minutes 180 --seed 7 --judge --dry-run
  shotwindow plan plant-label --kind ladder
  shotwindow plan plant-label --compare --rehearse 6
  shotwindow plan plant-label --day Monday=LOT-A --day Tuesday=LOT-B
  shotwindow plan plant-label --grow center --shots 3
  shotwindow plan plant-label --left 40"""
)
@FOLDER
@click.option("--shots", type=int, metavar="N", help="Number of shots, without warm-up shots.")
@click.option("--minutes", type=float, metavar="M", help="Time at the press, for the budget.")
@click.option("--seed", default=1, show_default=True, metavar="S", help="Seed of random choices.")
@click.option(
    "--kind",
    metavar="KIND",
    help="optimal (the default), d-optimal; or a textbook plan: factorial, fraction, composite, "
    "composite-inscribed, composite-rotatable, box-behnken, plackett-burman, screening, "
    "definitive; or ladder: pressure rising step by step.",
)
@click.option(
    "--model",
    metavar="MODEL",
    help="What an optimal plan is to tell apart: first-order, interactions or quadratic, and "
    "single terms behind a +, such as 'first-order + pressure^2'.",
)
@click.option(
    "--group-scatter",
    type=float,
    metavar="R",
    help="How many times as much temperature groups scatter as shots do, in place of study.toml.",
)
@click.option(
    "--day",
    "days",
    multiple=True,
    metavar="NAME=LOT",
    help="A day with its lot of pellets; once for each. A reference shot ties them together. With "
    "--grow: the day and lot of the added shots.",
)
@click.option(
    "--grow",
    metavar="HOW",
    help="Add a block to the plan that is there: center, replicate (void shots again), fold, "
    "axial, axial-orthogonal or optimal shots.",
)
@click.option("--factor", metavar="NAME", help="With --grow fold: the one factor to fold.")
@click.option(
    "--left",
    type=float,
    metavar="M",
    help="Minutes left: leave out of the plan that is there what does not fit any more.",
)
@click.option("--compare", is_flag=True, help="Set kinds side by side; write nothing.")
@click.option(
    "--rehearse",
    type=click.IntRange(min=2),
    metavar="N",
    help="With --compare: shoot and fit each of them on N practice presses, too.",
)
@click.option(
    "--judge", "judged", is_flag=True, help="Add what it would miss, and how it predicts."
)
@click.option("--dry-run", is_flag=True, help="Show the plan and write nothing.")
@JSON
def plan(folder: str, judged: bool, dry_run: bool, as_json: bool, **asked: Any) -> None:
    """Choose the shots of a study and write them to its run sheet, runs.csv.

    The optimal plan predicts best over all settings in as many shots as the time allows, and
    changes slow settings seldom. A plan over shots that are recorded already is refused, unless
    it adds to them with --grow, or leaves out of those still to be made with --left.
    """
    from pathlib import Path

    from shotwindow.doe.study import read_study
    from shotwindow.reports.documents import json_text
    from shotwindow.reports.plan_answers import planned_as_wished
    from shotwindow.reports.plan_wishes import Wishes
    from shotwindow.reports.planned import plan_document, plan_lines

    study, wishes = read_study(Path(folder)), Wishes(**asked)
    if wishes.compare:
        return _compare(study, wishes, as_json)
    with shown(SEEKING):
        told = planned_as_wished(Path(folder), study, wishes)
    _write(folder, told, dry_run)
    lines = plan_lines(told, judged=judged)
    show(json_text(plan_document(told)) if as_json else "\n".join(lines))
    if dry_run:
        say("Dry run: nothing was written.")
    else:
        say(f"Wrote {Path(folder) / 'plan.json'} and {Path(folder) / 'runs.csv'}")
        hint(f"shotwindow sheet {folder}   (to print), then: shotwindow record {folder}")


def _compare(study: "Study", wishes: "Wishes", as_json: bool) -> None:
    """Show kinds of plans side by side."""
    from shotwindow.cli.rehearsing import rehearsed_beside
    from shotwindow.reports.documents import json_text
    from shotwindow.reports.plan_answers import compared_as_wished, in_minutes, with_scatter
    from shotwindow.reports.plan_comparison import comparison_document, comparison_lines

    study = with_scatter(in_minutes(study, wishes.minutes), wishes.group_scatter)
    with shown(SEEKING):
        compared = compared_as_wished(study, wishes)
    found = None
    if wishes.rehearse is not None:
        plans = {one.name: one.plan for one in compared.candidates}
        found = rehearsed_beside(study, plans, wishes.rehearse, wishes.seed)
    lines = comparison_lines(study, compared, found)
    show(json_text(comparison_document(study, compared, found)) if as_json else "\n".join(lines))
    say("Compared only: nothing was written.")


def _write(folder: str, told: "Told", dry_run: bool) -> None:
    """Write a plan unless it is only to be shown; say what a ladder before it has told."""
    from pathlib import Path

    from shotwindow.doe.runs import write_plan
    from shotwindow.reports.plan_ladder import ladder_words

    if told.ladder is not None:
        say(ladder_words(told.study, told.ladder), kind="warning")
    if not dry_run:
        write_plan(Path(folder), told.study, told.plan)
