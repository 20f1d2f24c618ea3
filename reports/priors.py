"""Names of what is believed before the shots -> what the models are told; why none is flat."""

MOLDING, WEAK = "molding", "weak"
PRIORS = (MOLDING, WEAK)  # the usual one first

NOT_FLAT = (
    "there is no flat prior: where all shots on one side of a setting are full and all on the "
    "other short, a steeper surface always fits better, so that such readings have no maximum of "
    "the likelihood. `weak` expects no direction; the data alone are in the column of least "
    "squares that `surfaces` prints beside"
)


def has_directions(prior: str) -> bool:
    """Tell whether the models are to expect directions, and flash in proportion to fill.

    With `molding`, more pressure, heat or time is taken to fill and to flash more, softly, and the
    effects on flash to be in proportion to those on fill. With `weak`, either direction is as
    likely and the effects on flash go their own way.

    Examples
    --------
    >>> from shotwindow.reports.priors import has_directions
    >>> has_directions("molding"), has_directions("weak")
    (True, False)
    """
    return {MOLDING: True, WEAK: False}[prior]


def other_prior(prior: str) -> str:
    """Return the prior that a fit is set beside."""
    return WEAK if prior == MOLDING else MOLDING
