"""rehearse: what a plan would find, before the press is heated."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from shotwindow.cli.console import hint, say, show
from shotwindow.cli.folders import FOLDER
from shotwindow.cli.priors import PRIOR

if TYPE_CHECKING:  # loaded when a command is called, so that help stays quick
    from pathlib import Path

    from shotwindow.doe.plans import Plan, PlannedShot
    from shotwindow.doe.study import Study
    from shotwindow.models.rehearsals import Rehearsal, Summary

KEPT = "rehearsals.jsonl"


@click.command(
    epilog="""\b
Examples:
  shotwindow rehearse plant-label
  shotwindow rehearse plant-label --times 100 --workers 2 --beside
  shotwindow rehearse plant-label --times 20 --seed 7 --json
  shotwindow rehearse plant-label --scheduler tcp://192.168.1.20:8786"""
)
@FOLDER
@click.option(
    "--times",
    type=click.IntRange(min=2),
    default=40,
    show_default=True,
    metavar="N",
    help="Number of practice presses.",
)
@click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    metavar="S",
    help="Seed of the presses and of their scatter.",
)
@click.option(
    "--workers",
    type=click.IntRange(min=1),
    metavar="W",
    help="Processes; the numbers do not depend on it.  [default: one a core]",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Of a Dask cluster that does the work in place of this computer.",
)
@click.option(
    "--draws",
    type=click.IntRange(min=64),
    default=256,
    show_default=True,
    metavar="D",
    help="Draws of each surface.",
)
@PRIOR
@click.option("--beside", is_flag=True, help="The same for other plans: shots, textbook kinds.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON and nothing else.")
def rehearse(folder: str, beside: bool, as_json: bool, **how: Any) -> None:
    """Shoot the plan on many practice presses, and tell what it would find.

    The presses fit what the study says, half of them of either family. Tells how far the window
    that is found agrees with the true one, and the chance of a setpoint that works. With --beside
    other plans are rehearsed on the same presses, and the most useful change is named. Results
    are kept in out/rehearsals.jsonl: a run that was stopped goes on where it was.

    The workers of a Dask cluster (--scheduler; the extra `cluster`) need the same version of
    shotwindow and one thread each; the numbers are those of this computer.
    """
    if how["scheduler"] is not None and how["workers"] is not None:
        raise click.UsageError("--workers are of this computer, --scheduler has its own.")
    from pathlib import Path

    from shotwindow.doe.plan_file import read_plan
    from shotwindow.doe.study import read_study
    from shotwindow.reports.documents import json_text
    from shotwindow.reports.rehearsing import (
        plans_beside,
        rehearsal_document,
        rehearsal_lines,
        rehearsed,
    )

    path = Path(folder)
    study, plan = read_study(path), read_plan(path)
    _check(path, study, plan)
    plans = {"this plan": plan}
    if beside:
        plans |= plans_beside(study, plan)
    found = _found(path, study, plans, how)
    told = rehearsed(study, plans, found)
    document = rehearsal_document(study, told, seed=how["seed"], prior=how["prior"])
    show(json_text(document) if as_json else "\n".join(rehearsal_lines(study, told)))
    other = "" if beside else f"   (or, for other plans: shotwindow rehearse {folder} --beside)"
    hint(f"shotwindow sheet {folder}{other}")


def _check(path: "Path", study: "Study", plan: "Plan") -> None:
    """Refuse a plan that was made for other factors."""
    from shotwindow.doe.errors import StudyError
    from shotwindow.doe.plan_file import PLAN_FILE

    planned = {len(shot.settings) for shot in plan.shots}
    if planned != {len(study.factors)}:
        raise StudyError.one(
            str(path / PLAN_FILE),
            "shots with " + " or ".join(map(str, sorted(planned))) + " settings",
            f"{len(study.factors)}, as in study.toml",
            f"run `shotwindow plan {path}` again",
        )


def _found(
    path: "Path", study: "Study", plans: Mapping[str, "Plan"], how: Mapping[str, Any]
) -> dict[str, list["Rehearsal"]]:
    """Return the rehearsals of each plan, on the same presses."""
    import joblib

    from shotwindow.cli.workers import work
    from shotwindow.models.rehearsals import Rehearsal

    times, seed, draws = how["times"], how["seed"], how["draws"]
    # press by press: what is kept of a run that was stopped serves all plans alike
    each = [(name, number) for number in range(times) for name in plans]
    jobs_of = {
        (name, number): (study, plans[name].shots, seed, number, draws, how["prior"])
        for name, number in each
    }
    keys = {place: _key(*job) for place, job in jobs_of.items()}
    results = work(
        _one,
        {keys[place]: job for place, job in jobs_of.items()},
        workers=how["scheduler"] or how["workers"] or joblib.cpu_count(),
        kept=path / "out" / KEPT,
        label="rehearsals",
    )
    return {
        name: [Rehearsal(**results[keys[name, number]]) for number in range(times)]
        for name in plans
    }


def _key(study: "Study", *depends: Any) -> str:
    """Return what tells a result from all others: a fingerprint of everything it depends on."""
    from importlib.metadata import version

    from shotwindow.doe.store import fingerprint

    return fingerprint(repr((version("shotwindow"), study, *depends)).encode())[:24]


def _one(
    study: "Study",
    shots: tuple["PlannedShot", ...],
    seed: int,
    number: int,
    draws: int,
    prior: str,
) -> dict[str, Any]:
    """Rehearse once; a worker runs this."""
    from shotwindow.models.rehearsals import rehearse as rehearse_once
    from shotwindow.reports.priors import has_directions

    signs = has_directions(prior)
    return vars(rehearse_once(study, shots, seed=seed, number=number, draws=draws, signs=signs))


def rehearsed_beside(
    study: "Study", plans: Mapping[str, "Plan"], times: int, seed: int
) -> dict[str, "Summary"]:
    """Return what each plan finds on the same few practice presses; nothing is kept of it."""
    import sys
    import time

    from shotwindow.models.rehearsals import rehearse as rehearse_once
    from shotwindow.models.rehearsals import summarize

    begun = time.monotonic()
    jobs = [(name, number) for name in plans for number in range(times)]
    found: dict[str, list[Rehearsal]] = {name: [] for name in plans}
    hidden = not sys.stderr.isatty()
    with click.progressbar(jobs, label="rehearsals", file=sys.stderr, hidden=hidden) as bar:
        for name, number in bar:
            shots = plans[name].shots
            found[name].append(rehearse_once(study, shots, seed=seed, number=number))
    say(f"Rehearsed {len(plans)} plans on {times} presses in {time.monotonic() - begun:.0f} s.")
    return {name: summarize(some, study.good_from) for name, some in found.items()}
