"""The benchmark page -> the few of its figures that README quotes.

    python tests/benchmarks/quoting.py

writes them between two comments of README; the words around them are by hand and stay. `make prove`
does so at its end. Of several tables of as many shots the first one of the page is quoted.
"""

import re
from pathlib import Path
from textwrap import fill

HERE = Path(__file__).parent
PAGE = HERE / "BENCHMARKS.md"
README = HERE.parent.parent / "README.md"
BEGIN, END = "<!-- quoted from the benchmarks -->", "<!-- end of what is quoted -->"
SHOTS = ("12", "20")
OVERLAP = "overlap, mean"
PEERS = {
    "least-squares": "least squares on the same readings",
    "gaussian-process": "a Gaussian process on the same readings",
    "one-at-a-time": "one factor at a time, as many shots",
}
BESIDE = {
    "sure window truly good, all marks": "share of the sure window that is truly in the window",
    "setpoint good, mean": "true share of good shots at the setpoint, mean",
    "setpoint good, 5th percentile": "the same, 5th percentile of the presses",
    "stated less true, mean gap": "stated chance of a good shot less the true one, mean gap",
}


def block(page: str) -> str:
    """Return what README quotes of a page.

    Raises
    ------
    ValueError
        If something of it is not on the page.
    """
    ours = [trials(page, shots, "ours") for shots in SHOTS]
    lines = [
        ["families A / B", *(f"{shots} shots" for shots in SHOTS)],
        ["---", "---:", "---:"],
        ["simulated presses, none used for tuning", *(found["presses"] for found in ours)],
        ["overlap of the likely window with the true one", *(found[OVERLAP] for found in ours)],
        *([words, *(found[name] for found in ours)] for name, words in BESIDE.items()),
    ]
    others = {name: [trials(page, shots, name) for shots in SHOTS] for name in PEERS}
    presses = [found["presses"] for found in others["least-squares"]]
    lines.append(["presses that other ways were tried on, too", *presses])
    for name, words in PEERS.items():
        lines.append([f"overlap by {words}", *(found[OVERLAP] for found in others[name])])
    table = "\n".join(f"| {' | '.join(line)} |" for line in lines)
    return f"{table}\n\n{_sentences(page)}"


def trials(page: str, shots: str, method: str) -> dict[str, str]:
    """Return the first results of a method with so many shots: measure -> "family A / family B".

    Examples
    --------
    >>> from benchmarks.quoting import trials
    >>> page = "| 12 shots | A ours | B ours |\\n| --- | ---: | ---: |\\n| overlap | 0.5 | 0.6 |\\n"
    >>> trials(page, "12", "ours")
    {'overlap': '0.5 / 0.6'}
    """
    for table in re.findall(r"(?:^\|.*\|\n)+", page, re.MULTILINE):
        head, _, *rows = ([c.strip() for c in line.split("|")[1:-1]] for line in table.splitlines())
        if head[0] == f"{shots} shots" and f"A {method}" in head:
            a, b = (head.index(f"{family} {method}") for family in "AB")
            return {row[0]: f"{row[a]} / {row[b]}" for row in rows}
    raise ValueError(f"no table of {shots} shots by {method} on the page")


def _sentences(page: str) -> str:
    """Return what is said of calibration and of speed; of the other sampler if it was there."""
    ((studies,),) = _found(r"^(\d+) studies; chi-square", page)
    bands = ", ".join(share for (share,) in _found(r"^ \d+%  (0\.\d+) ± ", page))
    row = r"^\| 1000 \| ([\d.]+) \| (\d+) \| (\d+) \| .*% \|$"
    ((seconds, effective, worth),) = _found(row, page)
    text = (
        f"Of {studies} studies drawn from what the fit believes beforehand, its bands of 50, 80 "
        f"and 95 % held the true edge in {bands}. Asked for 1000 effective draws of a surface, "
        f"from 20 shots of 4 cavities, the fit makes {effective} by their weights in {seconds} s "
        "of processor time; as they are spread evenly, averages of every parameter are then "
        f"known as well as from {worth} independent draws or more"
    )
    beside = re.search(r"^\| compilation excluded \| .* \| (\d+) \|$", page, re.MULTILINE)
    if beside:
        text += (
            ". By what its least known parameter is worth, the fit is at best "
            f"{beside[1]} times as fast as a general-purpose sampler (NUTS)"
        )
    return fill(f"{text}.", 100)


def _found(pattern: str, page: str) -> list[tuple[str, ...]]:
    found = [match.groups() for match in re.finditer(pattern, page, re.MULTILINE)]
    if not found:
        raise ValueError(f"nothing like {pattern} on the page")
    return found


def main() -> None:
    """Write the block of README anew."""
    before, rest = README.read_text(encoding="utf-8").split(BEGIN)
    made = block(PAGE.read_text(encoding="utf-8"))
    README.write_text(f"{before}{BEGIN}\n\n{made}\n\n{END}{rest.split(END)[1]}", encoding="utf-8")


if __name__ == "__main__":
    main()
