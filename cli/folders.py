"""The folder of a study, as an argument: where it is not there, what to do instead."""

from pathlib import Path
from typing import Any

import click


def missing(folder: str) -> str:
    """Return what to tell somebody whose study folder is not there.

    A study next to it with nearly the same name is taken to be the one that was meant.

    Examples
    --------
    >>> from shotwindow.cli.folders import missing
    >>> missing("seed-scop")
    "there is no folder 'seed-scop'; `shotwindow start seed-scop` makes it"
    """
    from shotwindow.doe.errors import guess

    path = Path(folder)
    studies = {file.parent.name: str(file.parent) for file in path.parent.glob("*/study.toml")}
    meant = guess(path.name, studies)
    do = f"did you mean {studies[meant]}?" if meant else f"`shotwindow start {folder}` makes it"
    return f"there is no folder '{folder}'; {do}"


class _Study(click.Path):
    """A folder that is there."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        if not Path(value).exists():
            raise click.UsageError(missing(str(value)), ctx)
        return str(super().convert(value, param, ctx))


STUDY = _Study(file_okay=False)
FOLDER = click.argument("folder", type=STUDY)
