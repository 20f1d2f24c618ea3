"""How long commands take, as ratios to plain processes timed in turn with them.

Run by ``make bench``. Ratios hold when the speed of the machine drifts; single times do not.
"""

import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
EMPTY_CLICK = "import click\n@click.command()\ndef f(): pass\nf(['--help'])"
ONE_PICTURE = """
import numpy, scipy.linalg, scipy.special, io
from matplotlib.figure import Figure
from matplotlib.backends.backend_agg import FigureCanvasAgg
FigureCanvasAgg(Figure()).print_png(io.BytesIO())
"""


def seconds(command: list[str]) -> float:
    """Wall time of one whole process."""
    begun = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
    return time.perf_counter() - begun


def compare(name: str, command: list[str], against: str, goal: float, runs: int = 7) -> None:
    """Time a command and a plain program in turn; print the median ratio."""
    plain = [sys.executable, "-c", against]
    seconds(command), seconds(plain)  # both once to fill the caches
    pairs = [(seconds(command), seconds(plain)) for _ in range(runs)]
    ratio = statistics.median(a / b for a, b in pairs)
    ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"{name:16} {ours:6.3f} s  plain {theirs:6.3f} s  ratio {ratio:5.2f}  (goal {goal:g})")


def main() -> None:
    """Print all figures."""
    tool = str(Path(sys.executable).with_name("shotwindow"))
    print(f"Python {sys.version.split()[0]}, {os.cpu_count()} processors, median of 7 pairs")
    compare("--help", [tool, "--help"], EMPTY_CLICK, 2.0)
    with tempfile.TemporaryDirectory() as folder:
        study = Path(folder) / "plant-label"
        shutil.copytree(ROOT / "examples" / "plant-label", study)
        compare("window --json", [tool, "window", str(study), "--json"], ONE_PICTURE, 3.0)
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
    print(f"largest process  {peak:6.0f} MB  (goal 500)")


if __name__ == "__main__":
    main()
