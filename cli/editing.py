"""Suggested shots -> the same shots as a person changed them in an editor."""

import tempfile
from pathlib import Path

import click
import numpy as np
from numpy.typing import NDArray

from shotwindow.reports.points import read_points
from shotwindow.reports.suggesting import Suggested, settings_table


def edit_settings(told: Suggested) -> NDArray[np.float64]:
    """Open the suggested shots as a table in the editor and return what was saved, (n, k).

    Lines may be changed, added, taken out and put in another order. Leaving the editor without
    saving keeps the shots as they were suggested.

    Raises
    ------
    StudyError
        If a cell holds no number.
    click.UsageError
        If there is no editor.
    """
    study = told.found.study
    text = settings_table(study, [shot.settings for shot in told.batch.shots])
    changed = click.edit(text, extension=".csv")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "next.csv")
        path.write_text(text if changed is None else changed, encoding="utf-8")
        return read_points(path, study)
