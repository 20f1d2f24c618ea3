"""What every picture has in common: paper, ink, hatches and markers, and files of the same bytes.

Each thing that a picture tells apart differs in two ways at least, of which one survives a grey
printer and every kind of color vision: hatch and label for areas, dash and label for lines, shape
for shots. Colors only help. They were chosen for their lightness, which every vision keeps: ink 10,
other rejects 20, short 37, flash 48, untried 60, sure 83, likely 93, paper 100.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shotwindow.doe.store import disk_told, write_whole

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.figure import Figure

INK, PAPER, FAINT = "#1b1b1b", "#ffffff", "#8a8a8a"


@dataclass(frozen=True)
class Side:
    """How one way to fail is drawn: its hatch leans its own way, and its name stands in it."""

    name: str
    color: str
    hatch: str
    dash: tuple[float, tuple[int, ...]]


#: Too little leans down to the right, as a level that falls; too much rises; what is neither is
#: dotted.
SIDES = {
    "fill": Side("short", "#1f5a93", "\\\\\\", (0, (1, 1))),
    "flash": Side("flash", "#ba5416", "///", (0, (6, 2))),
    "other": Side("other rejects", "#55104f", "..", (0, (6, 2, 1, 2))),
}

#: The window is the only filled area: the eye goes to it first. Sure is darker than likely, and
#: its outline is whole where that of the likely one is dashed, as what is less certain.
LIKELY_FILL, SURE_FILL, WINDOW_LINE = "#d9efe6", "#a9d8c4", "#0f5c43"
#: Where nothing was tried lies an upright grid: no ground to stand on, and not what two failing
#: sides make where they cross.
UNTRIED_HATCH, UNTRIED_COLOR = "++", "#909090"


@dataclass(frozen=True)
class Mark:
    """How one outcome of a shot is drawn."""

    shape: str
    face: str


#: Shapes say which way to go: a short shot points down (too little), a flashed one up (too much).
#: A good one is whole and round. Faces are white for short and ink for flash, so that the two
#: differ even where a print blurs their shape.
MARKS = {
    "good": Mark("o", "#2d9d78"),
    "short": Mark("v", PAPER),
    "flash": Mark("^", INK),
    "short and flash": Mark("D", FAINT),
    "other reject": Mark("s", PAPER),
}

_RC: Any = {
    "font.size": 9.0,
    "axes.titlesize": 11.0,
    "axes.titlelocation": "left",
    "axes.titley": 1.0,  # given, it is not looked for at each drawing among ticks that lie below
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.linewidth": 0.6,
    "legend.frameon": False,
    "legend.fontsize": 8.0,
    "text.parse_math": False,  # a dollar in a user's title is a dollar
    "svg.hashsalt": "shotwindow",  # names inside an SVG come from it: same input, same bytes
    "savefig.dpi": 160,
}


@contextmanager
def themed() -> Iterator[None]:
    """Draw in this look, whatever the user's own settings are; afterwards all is as before."""
    import warnings

    import matplotlib

    with matplotlib.rc_context(), warnings.catch_warnings():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_RC)
        # a sign that the font lacks is drawn as an empty box, which is enough to be told
        warnings.filterwarnings("ignore", message="Glyph")
        yield


@contextmanager
def nothing_collected() -> Iterator[None]:
    """Do not look for objects that nobody needs any more, as long as pictures are being made.

    Hundreds of thousands of small objects come into being that are all still needed: looking
    through them again and again takes an eighth of the time of a page.
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def new_figure(width: float, height: float) -> "Figure":
    """Return an empty figure of a size in inches that belongs to nobody else."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    from shotwindow.reports.panels import Sheet  # which loads it, too

    figure = Sheet(figsize=(width, height), layout="constrained", facecolor=PAPER)
    FigureCanvasAgg(figure)
    return figure


def laid_out(figure: "Figure") -> "Figure":
    """Return a finished figure with everything in its final place, so that it never moves again."""
    engine = figure.get_layout_engine()
    if engine is not None and figure.axes:
        engine.execute(figure)  # without drawing it, which would take as long again
    figure.set_layout_engine(None)  # "none" would leave one in its place, and saving draw twice
    return figure


def picture(figure: "Figure", kind: str) -> bytes:
    """Return a figure as the bytes of a "png" or "svg" file; the same figure gives the same."""
    file = BytesIO()
    with themed():
        # nothing about the program or the day: the same picture, and no address in it
        about = ("Date", "Creator", "Format", "Type") if kind == "svg" else ("Software",)
        figure.savefig(file, format=kind, metadata=dict.fromkeys(about))
    return file.getvalue()


def write_pictures(figure: "Figure", folder: Path, name: str) -> tuple[Path, Path]:
    """Write a figure as PNG and SVG and return where they are."""
    with disk_told(folder):
        folder.mkdir(parents=True, exist_ok=True)
    paths = (folder / f"{name}.png", folder / f"{name}.svg")
    for path in paths:
        write_whole(path, picture(figure, path.suffix[1:]))
    return paths
