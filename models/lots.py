"""Surfaces fitted to several lots of material -> the same draws for one lot alone.

The draws of all lots come from one fit: draw by draw they share the press, the mold and the shape
of the surfaces, so that lots are told apart more sharply than two studies are.
"""

from dataclasses import replace

from shotwindow.models.new_shots import lot_number
from shotwindow.models.surface import Surface, Surfaces


def of_one_lot(surfaces: Surfaces, lot: str) -> Surfaces:
    """Return the surfaces of one of the lots that were shot.

    Raises
    ------
    ValueError
        If the lot was never shot.
    """
    number = lot_number(surfaces, lot)
    if number is None:
        raise ValueError(f"lot {lot!r} is none of those shot: {surfaces.lots}")

    def one(surface: Surface) -> Surface:
        return replace(surface, lot=surface.lot[:, [number]])

    return replace(
        surfaces,
        fill=one(surfaces.fill),
        flash=one(surfaces.flash),
        other=None if surfaces.other is None else one(surfaces.other),
        lots=(lot,),
    )
