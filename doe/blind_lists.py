"""Parts that were kept -> a blind list of them, for a second person to read again.

A list names parts by shot and cavity, from both sides of the limit of a good part and shuffled, and
says nothing of what was read off them. Lists are kept in grading.jsonl, a file that grows like the
journal and that no result of the study depends on.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from shotwindow.doe.answers import full_masses, is_full, is_total_mass
from shotwindow.doe.columns import Layout
from shotwindow.doe.errors import StudyError
from shotwindow.doe.journal import Entry, append_entry, mend_journal, read_journal
from shotwindow.doe.records import RUNS_FILE, now
from shotwindow.doe.rows import Row, part_labels
from shotwindow.doe.seeds import generator
from shotwindow.doe.session import Session
from shotwindow.doe.study import Study

GRADING = "grading.jsonl"
RESPONSES = ("fill", "flash")
_LIST = "list"

Value = float | str


@dataclass(frozen=True)
class Part:
    """A reading to be taken again: off one cavity's part, or off all parts of a shot together.

    Attributes
    ----------
    shot : int
    heading : str
        Of the first reading in runs.csv.
    label : str
        What stands on the part: shot and cavity.
    """

    shot: int
    heading: str
    label: str


@dataclass(frozen=True)
class BlindList:
    """A list that was drawn.

    Attributes
    ----------
    response : str
        "fill" or "flash".
    parts : tuple of Part
        In the order of the list.
    seq : int
        Number of its entry in grading.jsonl.
    runs : str
        Fingerprint of runs.csv when it was drawn.
    """

    response: str
    parts: tuple[Part, ...]
    seq: int
    runs: str


def headings_of(layout: Layout, response: str) -> tuple[str, ...]:
    """Return the headings under which fill or flash is read."""
    return layout.fill if response == "fill" else layout.flash


def is_good(study: Study, layout: Layout, heading: str, value: Value) -> bool | None:
    """Return whether a reading is on the good side of its limit; None where that is not known."""
    if heading in layout.fill:
        return is_full(study, value, _full_mass(study, layout, heading))
    return not isinstance(value, str) and value <= study.flash.good


def draw_parts(
    study: Study, layout: Layout, rows: Sequence[Row], response: str, *, count: int, seed: int
) -> tuple[Part, ...]:
    """Return parts to be read again: half of them from either side of the limit, if there are.

    On each side the nearest to the limit are taken, where people differ; among those that are as
    near, and for the order of the list, the lot decides.

    Parameters
    ----------
    study : Study
    layout : Layout
    rows : sequence of Row
        What was read; parts of warm-up and void shots are left out.
    response : str
        "fill" or "flash".
    count : int
        Parts that are wanted, two or more.
    seed : int

    Raises
    ------
    StudyError
        If no part was read on one of the sides, or all parts of a shot are weighed together.
    """
    if response == "fill" and is_total_mass(study, layout):
        found = "one mass for all parts of a shot"
        raise StudyError.one(RUNS_FILE, found, "a reading of each part, to be taken again")
    rng = generator(seed, "blind list", response)
    drawn: list[Part] = []
    for good, wanted in ((True, count - count // 2), (False, count // 2)):
        side = [
            (_distance(study, layout, part.heading, value), part)
            for part, value in _read_parts(study, layout, rows, response)
            if is_good(study, layout, part.heading, value) is good
        ]
        if not side:
            raise _one_sided(response, good)
        mixed = [side[i] for i in rng.permutation(len(side))]
        drawn += [part for _, part in sorted(mixed, key=lambda pair: pair[0])[:wanted]]
    return tuple(drawn[i] for i in rng.permutation(len(drawn)))


def keep_list(folder: Path, session: Session, response: str, parts: Sequence[Part]) -> BlindList:
    """Put a list into grading.jsonl, unless it is the newest one there, and return it."""
    mend_journal(folder, GRADING)
    entries = read_journal(folder, GRADING)
    newest = newest_list(entries, session.study, session.layout, response)
    runs = session.entries[-1].runs
    if newest is not None and (newest.parts, newest.runs) == (tuple(parts), runs):
        return newest
    places: dict[int, dict[str, str]] = {}
    for place, part in enumerate(parts, start=1):
        places.setdefault(part.shot, {})[part.heading] = str(place)
    entry = Entry(len(entries) + 1, now(), session.who, _LIST, None, places, runs)
    append_entry(folder, entry, GRADING)
    return BlindList(response, tuple(parts), entry.seq, runs)


def newest_list(
    entries: Sequence[Entry], study: Study, layout: Layout, response: str
) -> BlindList | None:
    """Return the newest list of fill or flash; None where none was drawn."""
    own = headings_of(layout, response)
    for entry in reversed(entries):
        placed = {
            int(place): Part(shot, heading, _label(study, own, shot, heading))
            for shot, places in entry.values.items()
            for heading, place in places.items()
            if entry.action == _LIST and heading in own
        }
        if placed:
            parts = tuple(placed[place] for place in sorted(placed))
            return BlindList(response, parts, entry.seq, entry.runs)
    return None


def _read_parts(
    study: Study, layout: Layout, rows: Sequence[Row], response: str
) -> Iterator[tuple[Part, Value]]:
    own = headings_of(layout, response)
    for row in rows:
        if not row.is_fitted:
            continue
        for heading, value in zip(own, getattr(row, response), strict=True):
            if value is not None:
                yield Part(row.shot, heading, _label(study, own, row.shot, heading)), value


def _label(study: Study, headings: Sequence[str], shot: int, heading: str) -> str:
    """Return what stands on a part, or on the bag with all parts of a shot."""
    together = len(headings) < study.cavities
    return f"{shot}-all" if together else part_labels(shot, study.cavities)[headings.index(heading)]


def _full_mass(study: Study, layout: Layout, heading: str) -> float | None:
    return full_masses(study, layout)[layout.fill.index(heading)]


def _distance(study: Study, layout: Layout, heading: str, value: Value) -> float:
    """Return how far a reading is from the limit; words say nothing of it."""
    if isinstance(value, str):
        return 0.0
    if heading in layout.flash:
        return abs(value - study.flash.good)
    mass = _full_mass(study, layout, heading)
    percent = value if mass is None else 100 * value / mass
    return abs(percent - (100.0 if mass is None else study.fill.full_from))


def _one_sided(response: str, good: bool) -> StudyError:
    words = {("fill", True): "full part", ("fill", False): "short part"}
    words |= {
        ("flash", True): "part with flash within the limit",
        ("flash", False): "part with flash over the limit",
    }
    missing = words[response, good]
    expected = f"recorded parts on both sides of the limit of {response}"
    return StudyError.one(RUNS_FILE, f"no {missing}", expected, "record such shots, and keep them")
