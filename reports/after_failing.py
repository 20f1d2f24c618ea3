"""An attempt to confirm that failed -> the shots that would sharpen the window most after it."""

from pathlib import Path

from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.reports.attempt_verdicts import Judged
from shotwindow.reports.suggesting import Suggested, suggest

SHOTS = 3


def shots_after(folder: Path, judged: Judged) -> Suggested | None:
    """Return what to shoot next with the failed shots in the fit.

    None where the attempt did not fail, or nothing can be suggested: then `next` tells why.
    """
    if judged.after is None:
        return None
    try:
        return suggest(folder, shots=SHOTS, seed=judged.attempt.seed, prior=judged.attempt.prior)
    except (StudyError, Unanswerable):
        return None
