"""Findings and a plan -> one HTML page that needs nothing else: to read, print and hand on."""

from collections.abc import Callable, Sequence
from functools import partial
from importlib.metadata import version
from pathlib import Path
from platform import python_version
from typing import Any

from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import cautions
from shotwindow.doe.judging import Judgement, judge
from shotwindow.doe.plans import Plan
from shotwindow.doe.restrictions import cost, restrictions
from shotwindow.doe.runs import read_plan
from shotwindow.doe.store import disk_told, write_whole
from shotwindow.doe.study import read_study
from shotwindow.reports.alt_text import alt_text, picture_table
from shotwindow.reports.dials import dial_pictures, dial_table
from shotwindow.reports.figures import window_figure
from shotwindow.reports.findings import Findings, find_in
from shotwindow.reports.fitted import read_fitted
from shotwindow.reports.gallery import reading_exhibits
from shotwindow.reports.glossary import glossary
from shotwindow.reports.live_map import live_map
from shotwindow.reports.naming import (
    no_alias_words,
    plural,
    spoken,
)
from shotwindow.reports.notes import notes
from shotwindow.reports.page_explained import (
    Elsewhere,
    Explained,
    explained_fit,
    explained_plan,
    explained_window,
)
from shotwindow.reports.page_pictures import Table, all_shown, drawn
from shotwindow.reports.page_readings import reading_table
from shotwindow.reports.page_tables import edge_table, effect_sentences, setpoint_table
from shotwindow.reports.planned import clock
from shotwindow.reports.priors import MOLDING
from shotwindow.reports.shape_words import (
    curve_rows,
    curve_title,
    preference_words,
    shape_sentences,
    stricter_rows,
)
from shotwindow.reports.sheet import facts, reading_rules
from shotwindow.reports.surface_words import fit_lines, prior_lines, together_words
from shotwindow.reports.templates import filled
from shotwindow.reports.theme import nothing_collected
from shotwindow.reports.verdicts import share_words, verdict

LIBRARIES = ("shotwindow", "numpy", "scipy", "matplotlib")


def write_report(
    folder: Path,
    *,
    seed: int,
    prior: str = MOLDING,
    growth: bool = False,
    elsewhere: Elsewhere = partial,
) -> tuple[Path, Findings]:
    """Write out/report.html of a study and return where it is, with what it is made from.

    With ``growth`` the study is fitted again and again, to see how its window grew. What explains
    is drawn ``elsewhere``, each part as soon as there is what it needs.

    Raises
    ------
    StudyError
        With everything that is wrong in the study or its runs, or if no shot has a result.
    """
    study, plan = read_study(folder), read_plan(folder)
    explaining = [elsewhere(explained_plan, study, plan)]
    fitted = read_fitted(folder, study, seed=seed, prior=prior)
    explaining.append(elsewhere(explained_fit, fitted))
    found = find_in(fitted)
    explaining.append(elsewhere(explained_window, found, growth))
    said = cautions(found.study, find_card(found.study.material.name, folder))
    page = _page(found, plan, said, growth, explaining)
    with disk_told(folder / "out"):
        (folder / "out").mkdir(exist_ok=True)
    path = folder / "out" / "report.html"
    write_whole(path, page.encode())
    return path, found


def report_html(found: Findings, plan: Plan, said: Sequence[str], *, growth: bool = False) -> str:
    """Return the page, of findings that are there already; the same study gives the same page."""
    explaining = (
        partial(explained_plan, found.study, plan),
        partial(explained_fit, found),
        partial(explained_window, found, growth),
    )
    return _page(found, plan, said, growth, explaining)


@nothing_collected()
def _page(
    found: Findings,
    plan: Plan,
    said: Sequence[str],
    growth: bool,
    explaining: Sequence[Callable[[], Explained]],
) -> str:
    values = _own_values(found, plan, said)
    told = Explained({"readings": all_shown(reading_exhibits(found))}, [])
    for part in explaining:  # last, so that both halves are drawn meanwhile
        told += part()
    return filled(
        "page.html",
        **values,
        growth=growth,
        glossary=glossary,
        pictures=told.pictures,
        textbook=told.textbook,
    )


def _own_values(found: Findings, plan: Plan, said: Sequence[str]) -> dict[str, Any]:
    """Return all that the page shows but what `explained` gives."""
    judged = judge(found.study, plan)
    return {
        "title": found.study.title or found.study.mold.name or "Study without a title",
        "verdict": verdict(found),
        "notes": notes(found),
        "facts": facts(found.study),
        "several": len(found.study.factors) > 1,
        "rules": reading_rules(found.study),
        "window": _window(found),
        "live": live_map(found),
        "setpoint": setpoint_table(found),
        "edges": edge_table(found),
        "effects": effect_sentences(found),
        "plan": _plan_facts(found, plan, judged),
        "restrictions": restrictions(found.study, plan),
        "aliases": [spoken(alias) for alias in judged.aliases],
        "no_aliases": no_alias_words(found.study.factors, plan.settings().tolist()),
        "readings": reading_table(found),
        "prior": prior_lines(found)[1:],
        "fit": fit_lines(found)[1:],
        "together": together_words(found),
        "cautions": said,
        "good": f"{100 * found.study.good_from:g} %",
        "fingerprint": found.fingerprint,
        "seed": found.seed,
        "believed": found.prior,
        "versions": [("Python", python_version()), *((n, version(n)) for n in LIBRARIES)],
    }


def _window(found: Findings) -> dict[str, Any] | None:
    """Return the picture with its words and numbers; None where there is no window."""
    if found.window is None or found.best is None:
        return None
    numbers = picture_table(found)
    likely, sure = share_words(found)
    return {
        "picture": drawn(window_figure(found), "window", alt_text(found)),
        "likely": likely,
        "sure": sure,
        "table": Table("The picture in numbers", numbers.heads, numbers.rows),
        "dials": dial_pictures(found),
        "dial_table": dial_table(found),
        "shape": " ".join(shape_sentences(found)),
        "stricter": _told(
            "What is left if more shots have to be good (* takes scatter as normal far out in its "
            "tails, where nobody measured it)",
            stricter_rows(found),
        ),
        "curves": _told(curve_title(found), curve_rows(found)),
        "preference": preference_words(found),
    }


def _told(caption: str, rows: list[tuple[str, str, str]]) -> Table | None:
    """Return rows under their head as a table; None without any."""
    return Table(caption, rows[0], tuple(rows[1:])) if rows else None


def _plan_facts(found: Findings, plan: Plan, judged: Judgement) -> list[tuple[str, str]]:
    spent = cost(found.study, plan)
    model, rank, terms = next(r for r in judged.ranks if r[0] == plan.model)
    return [
        ("kind", plan.kind),
        ("seed", str(plan.seed)),
        ("model", f"{model}, {rank} of {terms} terms told apart"),
        ("shots", f"{spent.shots}, and {plural(spent.warm_up_shots, 'warm-up shot')}"),
        ("temperature groups", str(spent.groups)),
        ("time planned", clock(spent.minutes)),
    ]
