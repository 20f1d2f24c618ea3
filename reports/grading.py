"""What two persons read off the same parts -> how far their readings can be relied on."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from shotwindow.doe.regrading import Pair, Regraded, regraded
from shotwindow.doe.study import Study
from shotwindow.models.agreement import CONFIDENCE, Agreement, agreement, reading_scatter

# Shares of parts on which two persons agree, from which grading is called good, and below which
# poor. Common practice, no source.
GOOD_FROM, POOR_BELOW = 0.9, 0.8
FEWEST_PAIRS = 5  # readings in numbers that tell how they scatter
_WIDER_BY = 1.5  # in steps; less can be chance


@dataclass(frozen=True)
class GradingCheck:
    """How a second person's readings of fill or flash compare with the first ones.

    Attributes
    ----------
    regraded : Regraded
    agreement : Agreement
        On which side of the limit a part is.
    scatter : float or None
        Standard deviation of one reading, in its unit; None where fewer than `FEWEST_PAIRS` parts
        were read in numbers twice.
    wider : float or None
        The step in study.toml that the readings are worth, where that is wider than the one there.
    """

    regraded: Regraded
    agreement: Agreement
    scatter: float | None
    wider: float | None

    @property
    def verdict(self) -> str:
        """One of "good", "doubtful", "poor" and "too few"."""
        found = self.agreement
        if found.low <= found.by_chance and found.high >= GOOD_FROM:
            return "too few"
        if found.share < POOR_BELOW:
            return "poor"
        return "good" if found.share >= GOOD_FROM else "doubtful"


def read_checks(folder: Path, study: Study) -> tuple[GradingCheck, ...]:
    """Return the grading checks of a study, one for each response and second person.

    Raises
    ------
    StudyError
        If grading.jsonl was edited, or is not this study's.
    """
    return tuple(grading_check(study, one) for one in regraded(folder, study))


def grading_check(study: Study, found: Regraded) -> GradingCheck:
    """Return what the readings of two persons say."""
    sides = np.array([(pair.first_good, pair.second_good) for pair in found.pairs])
    scatter = _scatter(study, found)
    step = study.fill.step if found.response == "fill" else study.flash.step
    worth = 0.0 if scatter is None else np.sqrt(12) * scatter  # rounding to so much scatters alike
    wider = float(np.ceil(worth / step - 1e-9)) * step if worth > _WIDER_BY * step else None
    return GradingCheck(found, agreement(sides[:, 0], sides[:, 1]), scatter, wider)


def _scatter(study: Study, found: Regraded) -> float | None:
    """Return how one reading scatters; grades and words have no distance to scatter over."""
    scale = study.fill.measured if found.response == "fill" else study.flash.measured
    read = [pair for pair in found.pairs if _in_numbers(study, found.response, pair)]
    if scale in ("grade", "full-or-short") or len(read) < FEWEST_PAIRS:
        return None
    values = np.array([(pair.first, pair.second) for pair in read], dtype=float)
    return reading_scatter(values[:, 0], values[:, 1])


def _in_numbers(study: Study, response: str, pair: Pair) -> bool:
    """Return whether both readings say how much, and not only "at least full" or "none seen"."""
    both = (pair.first, pair.second)
    if any(isinstance(value, str) for value in both):
        return False
    if response == "flash":
        return all(float(value) >= study.flash.seen_from for value in both)
    return study.fill.measured == "mass" or all(float(value) < 100 for value in both)


def check_document(check: GradingCheck) -> dict[str, Any]:
    """Return a grading check as JSON."""
    found, read = check.agreement, check.regraded
    return {
        "response": read.response,
        "by": read.who,
        "first_by": list(read.first_by),
        "parts": found.parts,
        "left": read.left,
        "agreed": found.agreed,
        "share": found.share,
        "low": found.low,
        "high": found.high,
        "confidence": CONFIDENCE,
        "by_chance": found.by_chance,
        "kappa": found.kappa,
        "second_alone_good": found.milder,
        "first_alone_good": found.stricter,
        "reading_sd": check.scatter,
        "wider_step": check.wider,
        "verdict": check.verdict,
    }
