"""--prior, for every command that fits surfaces."""

from typing import Any

import click

from shotwindow.reports.priors import MOLDING, NOT_FLAT, PRIORS


class _Priors(click.Choice[str]):
    """The priors there are; one that cannot be is refused with the reason."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        if value == "flat":
            self.fail(NOT_FLAT, param, ctx)
        return super().convert(value, param, ctx)


PRIOR = click.option(
    "--prior",
    type=_Priors(PRIORS),
    default=MOLDING,
    show_default=True,
    help="Believed before the shots: more pressure, heat or time softly fills and flashes more, "
    "flash in proportion to fill (molding), or no direction at all (weak).",
)
