"""A study's folder -> every picture of it as files of its own, with one file of what they show."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from shotwindow.doe.runs import read_plan, read_runs
from shotwindow.doe.store import write_whole
from shotwindow.doe.study import read_study
from shotwindow.reports.alt_text import alt_text
from shotwindow.reports.dials import dial_figure, dial_words
from shotwindow.reports.figures import window_figure
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.gallery import exhibits, plan_exhibits
from shotwindow.reports.page_pictures import Exhibit
from shotwindow.reports.priors import MOLDING
from shotwindow.reports.theme import write_pictures

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.figure import Figure

PLACE = "pictures"  # under out/
WORDS = "words.txt"

Named = tuple[str, "Figure", str]  # name of the files, figure, the same in words


def write_all(
    folder: Path, *, seed: int = 1, prior: str = MOLDING, growth: bool = False
) -> tuple[Path, ...]:
    """Write every picture as PNG and SVG to out/pictures and return where all files are.

    Before the first shot is recorded these are the pictures of the plan. With ``growth`` the study
    is fitted again and again, to see how its window grew.

    Raises
    ------
    StudyError
        With everything that is wrong in the study, its plan or its runs.
    """
    study, plan = read_study(folder), read_plan(folder)
    made: list[Named] = []
    if any(row.is_fitted for row in read_runs(folder, study)):
        found = read_findings(folder, seed=seed, prior=prior)
        made += _window(found)
        given = exhibits(found, plan, growth=growth)
        made += _named(e for each in given.values() for e in each)
    else:
        made += _named(plan_exhibits(study, plan))
    place = folder / "out" / PLACE
    paths = [path for name, figure, _ in made for path in write_pictures(figure, place, name)]
    words = "\n\n".join(f"{name}\n{alt}" for name, _, alt in made)
    write_whole(place / WORDS, (words + "\n").encode())
    return (*paths, place / WORDS)


def _window(found: Findings) -> Iterator[Named]:
    """Yield the window's map, and a ruler for each setting where the map is not one already."""
    if found.window is None or found.best is None:
        return
    yield "window", window_figure(found), alt_text(found)
    if len(found.study.factors) > 1:
        for j, factor in enumerate(found.study.factors):
            name = factor.name.replace("_", "-")
            yield f"ruler-{name}", dial_figure(found, j), dial_words(found, j)


def _named(made: Iterable[Exhibit]) -> Iterator[Named]:
    for exhibit in made:
        yield exhibit.name, exhibit.figure, exhibit.alt
