"""Every benchmark, one after the other, and the page with what they found.

    make prove
    python tests/benchmarks/prove.py --parts calibration sampling --peer peer/bin/python
    python tests/benchmarks/prove.py --quick

What a part printed is kept in ``.prove`` with commit, machine, date and versions; a run that was
cut goes on with the parts that are missing for this commit, and the long parts with the rows that
they have of it. After each part, whatever is kept replaces its block of the benchmark page; the
words around the blocks are written by hand and stay. ``--quick`` only tries the parts that can be
run on next to nothing; that is kept apart, and nothing of it comes into the page.
"""

import argparse
import json
import os
import platform
import re
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from benchmarks.keeping import read_rows
from benchmarks.overlap_figure import overlap_figure

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
PAGE = HERE / "BENCHMARKS.md"
LIBRARIES = ("numpy", "scipy", "statsmodels", "scikit-learn")
# The page is written after each part, which must not make another state of what is measured.
WRITTEN = (":!tests/benchmarks/*.md", ":!tests/benchmarks/*.svg")
SOURCES = ("doe", "models", "reports", "cli", "tests/benchmarks", *WRITTEN)


@dataclass(frozen=True)
class Part:
    """One benchmark: what follows ``python``; ROWS is a file of rows to go on from.

    Attributes
    ----------
    full : str
    quick : str or None
        The same on next to nothing; None where there is no such thing.
    table : bool
        Whether Markdown is printed; other output is set as it is.
    setting : dict
        What is added to the environment in full.
    """

    full: str
    quick: str | None = None
    table: bool = False
    setting: Mapping[str, str] | None = None


#: The quick ones first, so that a run that is cut has most of them.
PARTS = {
    "commands": Part("startup.py"),
    "million": Part("million.py"),
    "exchange": Part("exchange.py"),
    "press": Part("press_speed.py"),
    "report": Part("report_speed.py", table=True),
    "few-marks": Part("few_marks.py", table=True),
    "made-sheets": Part("../test_made_sheets.py 20000", "../test_made_sheets.py 40"),
    "crash": Part(
        "-m pytest -q -p no:cacheprovider tests/test_crash.py",
        "-m pytest -q -p no:cacheprovider tests/test_crash.py -k two_at_once",
        setting={"SHOTWINDOW_KILLS": "200"},
    ),
    "rehearsals": Part("rehearsed.py --times 40 --pairs 16", "rehearsed.py --times 2 --pairs 2"),
    "sampling": Part("sampling.py --times 20", "sampling.py --times 2 --efforts 300", table=True),
    "growth": Part(
        "growth.py",
        "growth.py --shots 6 --cavities 1 --factors 1 --marks 1000 --times 1",
        table=True,
    ),
    "calibration": Part("calibration.py 1000", "calibration.py 8"),
    "conflicts": Part(
        "conflicts.py --shots 12 20 --presses 0-19 --json ROWS",
        "conflicts.py --shots 8 --presses 1 --factors 2 --json ROWS",
        table=True,
    ),
    "kinds": Part(
        "kinds.py --presses 0-7 --json ROWS",
        "kinds.py --presses 1 --shots 10 --kinds optimal --json ROWS",
        table=True,
    ),
    "recovery": Part(
        "recovery.py --shots 8 12 16 20 28 40 --presses 1000-1019 --json ROWS",
        "recovery.py --shots 8 --presses 1 --factors 1 --workers 1 --methods ours --json ROWS",
        table=True,
    ),
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the parts that are missing and write the page; 1 when one of them failed."""
    asked = _parser().parse_args(arguments)
    folder = asked.folder / "quick" if asked.quick else asked.folder
    folder.mkdir(parents=True, exist_ok=True)
    failed = []
    for name in asked.parts:
        if asked.quick and PARTS[name].quick is None:
            continue
        if not asked.again and (kept_of(folder, name) or {}).get("commit") == commit():
            print(f"{name}: kept")
            continue
        kept = run(name, folder, quick=asked.quick, peer=asked.peer)
        print(f"{name}: {kept['seconds']} s" if kept else f"{name}: failed", flush=True)
        failed += [] if kept else [name]
        if not asked.quick:
            write_page(PAGE, folder)
    return int(bool(failed))


def run(name: str, folder: Path, *, quick: bool, peer: str | None) -> dict[str, str] | None:
    """Run one part and keep what it printed; return that, or None where it failed."""
    part, made = PARTS[name], commit()  # somebody may commit while it runs
    rows = rows_of(folder, name, made)
    words = str(part.quick if quick else part.full).split()
    if name == "sampling" and peer and not quick:
        words += ["--peer", str(Path(peer).absolute())]
    if words[0].endswith(".py"):
        words[0] = os.path.normpath(Path("tests/benchmarks") / words[0])
    told = (
        " ".join(words).replace(str(Path(peer).absolute()), "PYTHON") if peer else " ".join(words)
    )
    words = [str(rows.absolute()) if word == "ROWS" else word for word in words]
    setting = dict(part.setting or {}) if not quick else {}
    begun = time.monotonic()
    done = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env=os.environ | setting | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
        stdout=subprocess.PIPE,
        text=True,
    )
    if done.returncode:
        print(done.stdout)
        return None
    told = " ".join([*(f"{key}={value}" for key, value in setting.items()), "python", told])
    kept = {
        "commit": made,
        "command": told.replace("ROWS", f"{name}.jsonl"),
        "made": f"{made}, {date.today()}; {machine()}; {versions()}",
        "seconds": f"{time.monotonic() - begun:.0f}",
        "printed": done.stdout.strip(),
    }
    (folder / f"{name}.json").write_text(json.dumps(kept, indent=1), encoding="utf-8")
    return kept


def rows_of(folder: Path, name: str, made: str) -> Path:
    """Return the file of rows of a part: of one commit, so that those of two are never mixed."""
    return folder / f"{name}-{made.replace(' ', '-')}.jsonl"


def kept_of(folder: Path, name: str) -> dict[str, str] | None:
    """Return what is kept of a part."""
    file = folder / f"{name}.json"
    return json.loads(file.read_text(encoding="utf-8")) if file.exists() else None


def write_page(page: Path, folder: Path) -> None:
    """Replace the blocks of the page by what is kept; the picture lies beside the page."""
    text = page.read_text(encoding="utf-8")
    for name in PARTS:
        kept = kept_of(folder, name)
        if kept is None:
            continue
        block = _block(name, kept)
        if name == "recovery":
            picture = page.with_name("overlap.svg")
            picture.write_bytes(overlap_figure(read_rows(rows_of(folder, name, kept["commit"]))))
            block += f"\n\n![overlap with the true window against shots]({picture.name})"
        begin, end = f"<!-- {name}: written by make prove -->", f"<!-- end of {name} -->"
        whole = f"{begin}\n{block}\n{end}"
        before, _, rest = text.partition(begin)
        if rest:
            text = before + whole + rest.partition(end)[2]
        else:  # a part that the page does not speak of yet
            text = f"{text.rstrip()}\n\n## {name.capitalize().replace('-', ' ')}\n\n{whole}\n"
    page.write_text(text, encoding="utf-8")


def _block(name: str, kept: Mapping[str, str]) -> str:
    printed = kept["printed"] if PARTS[name].table else f"```\n{kept['printed']}\n```"
    return f"`{kept['command']}`, {kept['seconds']} s. Commit {kept['made']}.\n\n{printed}"


def commit() -> str:
    """Return the short name of the commit, and whether what is measured differs from it."""
    words = ["git", "-C", str(ROOT)]
    name = subprocess.run(
        [*words, "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=True
    ).stdout.strip()
    changed = subprocess.run([*words, "diff", "--quiet", "HEAD", "--", *SOURCES]).returncode
    return f"{name} with changes" if changed else name


def machine() -> str:
    """Return processors and memory; nothing that names the machine."""
    kind = platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        models = re.findall(r"^model name\s*:\s*(.+)$", info.read_text(), re.MULTILINE)
        kind = models[0] if models else kind
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    load = os.getloadavg()[0]
    return f"{os.cpu_count()} processors ({kind}), {memory:.0f} GB, load {load:.1f}"


def versions() -> str:
    """Return the versions of Python and of the libraries that count."""
    each = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    return f"Python {platform.python_version()}, {each}"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--parts", nargs="+", choices=tuple(PARTS), default=list(PARTS))
    add("--peer", metavar="PYTHON", help="a Python with PyMC, for the part `sampling`")
    add("--folder", type=Path, default=ROOT / ".prove", help="where results are kept")
    add("--quick", action="store_true", help="only try that parts run")
    add("--again", action="store_true", help="run parts again that are kept")
    return parser


if __name__ == "__main__":
    sys.exit(main())
