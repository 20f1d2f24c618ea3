"""What can hurt someone at the press, as data: general cautions, and those of the material.

Said once, here; plans, run sheets and set-up sheets print these same lines.
"""

from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cards import Card
from shotwindow.doe.study import Study

# Sources. Protection while purging: http://routsis.blog/2011/12/ppe_for_purging/ and
# https://www.osha.gov/etools/machine-guarding/plastics-machinery. Flash: imtecmould.com, "Mould
# flashing in injection molding". Scope of ISO 20430: https://www.evs.ee/en/iso-20430-2020. The
# others are common practice, no source.
#: True for every study, in the order in which they matter at the press.
CAUTIONS: tuple[str, ...] = (
    "The press's manual, local codes and a trained supervisor come before anything on this sheet.",
    "Nozzle, barrel, mold, fresh parts and purge are hot enough to burn.",
    "Wear a face shield or goggles, heat-resistant gloves and long sleeves, for a purge too: "
    "trapped gas can spit.",
    "Close the guard and latch it before every shot; keep hands out of the clamp.",
    "Ventilate: hot plastic gives off fumes. Stand aside of the nozzle, never in line with it.",
    "Raise the pressure in small steps; never take a large step toward flash. Where the next shot "
    "asks for much more than any before it, go up to it by shots in between and throw those away.",
    "Flash has sharp edges, and each flashed shot can widen the gap that it came through.",
    "Never exceed the ratings of press and clamp, whatever a plan says.",
    "A press that is closed by hand lies outside the scope of ISO 20430, the safety standard for "
    "powered machines: this sheet claims conformity with no standard.",
)


def cautions(study: Study, card: Card | None = None) -> tuple[str, ...]:
    r"""Return the general cautions and those of the study's material.

    Parameters
    ----------
    study : Study
    card : Card, optional
        The material's card where it is known already; otherwise the shipped cards are asked.

    Examples
    --------
    >>> from shotwindow.doe.cautions import CAUTIONS, cautions
    >>> from shotwindow.doe.study import parse_study
    >>> text = '[factors.pressure]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.1'
    >>> cautions(parse_study(text))[len(CAUTIONS):]
    ("No material is named: get its maker's safety data sheet before heating it.",)
    """
    name = study.material.name
    known = card or find_card(name)
    if known is None:
        told = f"No card is known for {name}" if name else "No material is named"
        return (*CAUTIONS, f"{told}: get its maker's safety data sheet before heating it.")
    own = [f"Do not mold {known.name} here: {known.refuse}."] if known.refuse else []
    own += [f"{known.name}: {known.hazards}"] if known.hazards else []
    if known.ceiling is not None:
        own.append(f"{known.name}: keep the melt below {known.ceiling.text('degC')}.")
    return (*CAUTIONS, *own)
