"""A study, its material's card and settings turned into refusals and questions.

A refusal stands in the way of a plan; a question must be answered by someone who knows. What
neither study nor card tells is asked for, never assumed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.card_finding import find_card, hottest_known, meant_card
from shotwindow.doe.cards import Card, Known
from shotwindow.doe.clamping import clamp_holds, melt_pressure_MPa
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.handbook import residence_min
from shotwindow.doe.quantities import convert
from shotwindow.doe.settings import column_in
from shotwindow.doe.study import Study


@dataclass(frozen=True)
class Guard:
    """One thing that stands in the way.

    Attributes
    ----------
    severity : str
        "refuse" (nothing is planned until it is mended) or "ask" (someone must know).
    what, why, do : str
    """

    severity: Literal["refuse", "ask"]
    what: str
    why: str
    do: str

    def __str__(self) -> str:
        """Return the guard as one line."""
        return f"{self.what}: {self.why}; {self.do}"


def check_settings(study: Study, card: Card | None, settings: ArrayLike) -> tuple[Guard, ...]:
    """Return what stands in the way of shooting these settings, refusals first.

    Parameters
    ----------
    study : Study
    card : Card or None
        The material's card; None where none is known.
    settings : array_like, shape (n, k)
        In the units of the study's factors.

    Examples
    --------
    >>> from shotwindow.doe.card_finding import find_card
    >>> from shotwindow.doe.guards import check_settings
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... [material]
    ... name = "acetal"
    ... [factors.melt_temperature]
    ... unit = "degC"
    ... low = 200
    ... high = 250
    ... step = 5
    ... ''')
    >>> guards = check_settings(study, find_card("acetal"), [[200], [250]])
    >>> guards[0].severity, guards[0].what
    ('refuse', 'a melt temperature of 250 degC')
    """
    columns = np.asarray(settings, dtype=np.float64)
    melt = column_in(study, "melt_temperature", columns, "degC")
    mold = column_in(study, "mold_temperature", columns, "degC")
    found = [*_limits(study, columns), *_clamp(study, columns)]
    if card is None:
        found += _no_card(study, melt)
    else:
        found += _material(study, card)
        found += _melt(study, card, melt)
        found += _dwell(study, card, melt)
        found += _usual(study, "mold_temperature", mold, card.name, card.mold)
    return tuple(sorted(found, key=lambda guard: guard.severity != "refuse"))


def passed(place: str, study: Study, card: Card | None, settings: ArrayLike) -> tuple[Guard, ...]:
    """Return what must be known before these settings are shot.

    Parameters
    ----------
    place : str
        The command that is asked for them.
    study, card, settings
        See `check_settings`.

    Raises
    ------
    StudyError
        If a setting is refused.
    """
    guards = check_settings(study, card, settings)
    refused = [guard for guard in guards if guard.severity == "refuse"]
    if refused:
        raise StudyError(Problem(place, g.what, g.do, g.why) for g in refused)
    return guards


def _limits(study: Study, columns: NDArray[np.float64]) -> Iterator[Guard]:
    for j, factor in enumerate(study.factors):
        low, high = factor.limits
        outside = columns[(columns[:, j] < low) | (columns[:, j] > high), j]
        if outside.size:
            worst = outside[np.argmax(np.abs(outside - (low + high) / 2))]
            yield Guard(
                "refuse",
                f"{factor.name} of {factor.text(worst)} {factor.unit}",
                f"the press is rated from {factor.text(low)} to {factor.text(high)}",
                "stay within the limits",
            )


def _no_card(study: Study, melt: NDArray[np.float64] | None) -> Iterator[Guard]:
    name = study.material.name
    meant = meant_card(name)
    yield Guard(
        "ask",
        f"no card is known for {name}" if name else "no material is named",
        "its temperatures, dwell and hazards cannot be checked",
        (f"write {meant} if that is meant, else " if meant else "")
        + "ask its maker for the data sheets, and put what they say into cards.csv",
    )
    hottest = hottest_known()
    if melt is not None and melt.max() > hottest:
        told, most = (_told(study, "melt_temperature", t) for t in (melt.max(), hottest))
        yield Guard(
            "ask",
            f"a melt temperature of {told}",
            f"no plastic that a card is known for is molded above {most}",
            "check the unit, and the maker's data sheet",
        )


def _material(study: Study, card: Card) -> Iterator[Guard]:
    if card.refuse:
        why = f"{card.refuse} ({card.refuse_source})"
        yield Guard("refuse", card.name, why, "choose another material")
    yield from _material_before(study, card)
    dried, hours = study.material.dried_h or 0.0, card.drying_h
    shortest = (hours.low or 0.0) if hours else 0.0
    if card.drying == "yes" and (dried == 0 or dried < shortest):
        how = f"{hours.text('h')}" if hours else "for as long as its maker says"
        yield Guard(
            "ask",
            f"{card.name} dried for {dried:g} h" if dried else f"{card.name} without drying",
            f"wet, it makes bad parts that look like bad settings; it is dried {how}",
            "dry it and give dried_degC and dried_h under [material]",
        )


def _material_before(study: Study, card: Card) -> Iterator[Guard]:
    told = next((held.text for held in study.held if held.name == "previous_material"), None)
    before = find_card(told) if told else None
    if before and (before.name in card.never_with or card.name in before.never_with):
        yield Guard(
            "refuse",
            f"{card.name} after {before.name}",
            f"the two must never meet. {card.hazards}",
            "use another press",
        )
    elif card.never_with and told is None:
        yield Guard(
            "ask",
            f"what this press, hopper and dryer held before {card.name}",
            f"it must never meet {', '.join(card.never_with)}",
            "find out, and note it as [held.previous_material]",
        )


def _melt(study: Study, card: Card, melt: NDArray[np.float64] | None) -> Iterator[Guard]:
    if melt is None:
        yield Guard(
            "ask",
            "the melt temperature",
            "it is neither a factor nor held, so that it cannot be checked",
            "add [held.melt_temperature]",
        )
    elif card.ceiling is not None and melt.max() >= card.ceiling.high:
        yield Guard(
            "refuse",
            f"a melt temperature of {_told(study, 'melt_temperature', melt.max())}",
            f"{card.name} must stay below {card.ceiling.text('degC')}",
            "lower the melt temperature",
        )
    else:
        yield from _usual(study, "melt_temperature", melt, card.name, card.melt)


def _usual(
    study: Study, name: str, degC: NDArray[np.float64] | None, resin: str, usual: Known | None
) -> Iterator[Guard]:
    if degC is None or usual is None:
        return
    outside = [t for t in (degC.min(), degC.max()) if not (usual.low or t) <= t <= usual.high]
    if outside:
        yield Guard(
            "ask",
            f"a {name.replace('_', ' ')} of {_told(study, name, outside[-1])}",
            f"{resin} is usually molded at {usual.text('degC')}",
            "check the maker's data sheet",
        )


def _dwell(study: Study, card: Card, melt: NDArray[np.float64] | None) -> Iterator[Guard]:
    if not card.dwell or melt is None:
        return
    residence = _residence(study)
    if residence is None:
        yield Guard(
            "ask",
            "the time that the melt stays in the barrel",
            f"{card.name} bears only so long: {card.dwell_text()}",
            "give [press] barrel_g and [mold] full_mass_g",
        )
    # While a slow factor soaks no shot is made, and what is in the barrel waits.
    soaks = (m for f in study.factors for m in (f.soak_min, f.soak_down_min) if m is not None)
    dwell = (residence or 0.0) + max(soaks, default=0.0)
    over = [t for t in np.unique(melt) if dwell > allowed_min(card, t)]
    if over:
        hottest = max((t for t, _ in card.dwell if t is not None), default=np.inf)
        refused = over[-1] >= hottest
        yield Guard(
            "refuse" if refused else "ask",
            f"{dwell:.3g} min in the barrel at {_told(study, 'melt_temperature', over[-1])}",
            f"{card.name} bears {allowed_min(card, over[-1]):g} min ({card.dwell_source})",
            "lower the melt temperature" if refused else "purge before each soak and each break",
        )


def _residence(study: Study) -> float | None:
    """Minutes from hopper to mold; without the runner's mass it comes out too long, never short."""
    barrel, masses = study.press.barrel_g, study.mold.full_mass_g
    if barrel is None or masses is None:
        return None
    shot = min(sum(masses), barrel)  # a barrel is at least one shot
    return residence_min(barrel, shot, study.time.shot_min)


def allowed_min(card: Card, degC: float) -> float:
    """Return how many minutes a material bears in the barrel at a melt temperature.

    Those of the next hotter temperature that the card tells; beyond the hottest, the last.
    """
    hotter = [minutes for t, minutes in card.dwell if t is None or t >= degC]
    return hotter[0] if hotter else card.dwell[-1][1]


def _clamp(study: Study, columns: NDArray[np.float64]) -> Iterator[Guard]:
    needed = {
        "[press] clamp_force_kN": study.press.clamp_force_kN,
        "[mold] projected_area_cm2": study.mold.projected_area_cm2,
        "a pressure, with [press] area_ratio": melt_pressure_MPa(study, columns),
    }
    missing = [key for key, value in needed.items() if value is None]
    holds, reason = clamp_holds(study, columns)
    if missing:
        why = "whether it holds the mold shut cannot be told"
        yield Guard("ask", "the clamp force", why, f"give {' and '.join(missing)}")
    elif reason:
        what = f"{int((~holds).sum())} of {holds.size} settings"
        yield Guard("refuse", what, reason, "lower the pressure")


def _told(study: Study, name: str, degC: float) -> str:
    """Return a temperature in the study's own unit."""
    units = {factor.name: factor.unit for factor in study.factors}
    units |= {held.name: held.unit for held in study.held}
    return f"{convert(degC, 'degC', units[name]):.4g} {units[name]}"
