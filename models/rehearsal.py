"""A plan and a practice press -> readings as somebody at that press would write them down."""

from collections.abc import Sequence

import numpy as np

from shotwindow.doe.answers import is_over_limit
from shotwindow.doe.plans import PlannedShot
from shotwindow.doe.readings import Readings, readings
from shotwindow.doe.rows import Row
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.models.pencil import SLIP_RATE, Written, read
from shotwindow.models.press import REASONS, Press
from shotwindow.models.shooting import shoot_rows


def shoot_plan(
    study: Study,
    press: Press,
    shots: Sequence[PlannedShot],
    *,
    seed: int,
    slip_rate: float = SLIP_RATE,
) -> Readings:
    """Shoot planned shots and read those that are fitted; parameters as in `written_rows`."""
    rows = written_rows(study, press, shots, seed=seed, slip_rate=slip_rate)
    return readings(study, [row for row in rows if row.is_fitted])


def written_rows(
    study: Study,
    press: Press,
    shots: Sequence[PlannedShot],
    *,
    seed: int,
    slip_rate: float = SLIP_RATE,
) -> tuple[Row, ...]:
    """Shoot planned shots, warm-up shots among them, and return the rows as written down.

    Parameters
    ----------
    study : Study
        Says how fill and flash are read.
    press : Press
        Takes the factors of the study, in its units.
    shots : sequence of PlannedShot
        In running order.
    seed : int
        Of everything that nobody set: offsets of groups, scatter, reading and slips.
    slip_rate : float
        Share of rows with a slip of the pen.
    """
    made = shoot_rows(
        press,
        [shot.settings for shot in shots],
        [shot.group for shot in shots],
        lots=[shot.lot for shot in shots],
        seed=seed,
    )
    written = read(
        press, made, study.fill, study.flash, rng=generator(seed, "pencil"), slip_rate=slip_rate
    )
    return tuple(
        _row(study, shot, written, i, int(made.rejects[i])) for i, shot in enumerate(shots)
    )


def _row(study: Study, shot: PlannedShot, written: Written, i: int, reject: int) -> Row:
    cavities = written.flash.shape[1]
    nothing = bool(written.no_part[i])
    return Row(
        shot=shot.shot,
        block=shot.block,
        lot=shot.lot,
        group=shot.group,
        kind=shot.kind,
        settings=shot.settings,
        actual=(None,) * len(study.factors),
        fill=(None,) * cavities if nothing else tuple(_fill(study, written, i)),
        flash=(None,) * cavities if nothing else tuple(float(w) for w in written.flash[i]),
        other=REASONS[reject - 1] if reject and not nothing else "",
        status="no part" if nothing else "ok",
    )


def _fill(study: Study, written: Written, i: int) -> list[float | str]:
    """Fill of one shot; a flashed part that cannot be weighed is written down as it looks."""
    if study.fill.measured == "eye":
        assert written.fill is not None  # asked for
        return [float(value) for value in written.fill[i]]
    assert written.full is not None  # asked for
    words = np.where(written.full[i], "full", "short")
    if written.mass is None:
        return [str(word) for word in words]
    flashed = [is_over_limit(study, float(width)) for width in written.flash[i]]
    return [
        str(word) if over else float(mass)
        for mass, word, over in zip(written.mass[i], words, flashed, strict=True)
    ]
