"""Findings -> what to keep in mind with every number, in sentences."""

from shotwindow.models.window import NORMAL_TO
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import chance, listed, plural, spoken, unit_of
from shotwindow.reports.outcomes import outcomes

ENOUGH_FREEDOM = 3  # degrees of freedom from which group-to-group scatter counts as measured


def notes(found: Findings) -> tuple[str, ...]:
    """Return what to keep in mind with every number, the gravest first."""
    return tuple(note for note in (f(found) for f in _NOTES) if note)


def _suspect_note(found: Findings) -> str:
    """Name the readings that may be slips of the pen, and how far they count."""
    told = []
    for s in found.surfaces.suspects:
        cavity = f" in cavity {s.column + 1}" if _by_cavity(found, s.response) else ""
        what = {"fill": "fill", "flash": "flash", "other": "the reject"}[s.response]
        way = "" if s.response == "other" else " too low" if s.low else " too high"
        told.append(f"shot {s.shot}, {what}{cavity}{way} (chance of a slip {chance(s.chance)})")
    if not told:
        return ""
    return (
        f"Against what all other readings foretell: {listed(told)}. Such a reading counts "
        "only by what is left of its chance; look at the part and at what was written down, and "
        "correct it or void the shot."
    )


def _by_cavity(found: Findings, response: str) -> bool:
    seen = found.readings
    columns = {
        "fill": seen.fill_low,
        "flash": seen.flash_low if seen.flash_grade is None else seen.flash_grade,
    }.get(response)
    return columns is not None and columns.shape[1] > 1


def _group_note(found: Findings) -> str:
    slow = any(f.is_slow for f in found.study.factors)
    freedom = found.surfaces.group_freedom
    if not slow or freedom >= ENOUGH_FREEDOM:
        return ""
    return (
        f"Group scatter assumed, not measured: {plural(found.surfaces.groups, 'temperature group')}"
        f" leave {plural(freedom, 'degree')} of freedom for it, and {ENOUGH_FREEDOM} are needed. "
        'Whatever is called "sure" rests on that assumption.'
    )


def _other_note(found: Findings) -> str:
    if found.surfaces.other is None:
        return "Good = full and without flash only: no shot was rejected for another reason."
    reasons = listed(found.readings.reasons)
    return f"Good = full, without flash and not rejected for another reason ({reasons})."


def _thinned_note(found: Findings) -> str:
    """Say which factors were looked at in coarser steps than they can be set."""
    if found.window is None:
        return ""
    coarse = [
        f"{spoken(f.name)} every {f.step:g} {unit_of(f)}"
        for f, own in zip(found.window.factors, found.study.factors, strict=True)
        if f.step > own.step
    ]
    return f"Of so many marks, not all were looked at: {listed(coarse)}." if coarse else ""


def _actual_note(found: Findings) -> str:
    if not found.readings.partly_actual:
        return ""
    names = listed([spoken(name) for name in found.readings.partly_actual])
    return f"The actual {names} is known for some shots only, so the planned values were used."


def _lots_note(found: Findings) -> str:
    lots = [lot or "unnamed" for lot in found.surfaces.lots]
    if len(lots) == 1:
        return f"Shot from one lot ({lots[0]}): a lot that was never shot is not covered."
    return (
        f"Good in every lot that was shot ({listed(lots)}); a lot that was never shot is not "
        "covered."
    )


def _hold_note(found: Findings) -> str:
    """Say how well the press was seen to hold its settings, and which number was used."""
    by_name = {f.name: f for f in found.study.factors}
    told = []
    for h in found.holdings:
        factor = by_name[h.factor]
        seen = f"{spoken(h.factor)} +/-{h.holds:.2g} {factor.unit} by {h.shots} actual readings"
        seen += f" (off by {h.offset:+.2g} on average, sd {h.sd:.2g})"
        if h.holds > h.stated:
            told.append(f"{seen}, used in place of the +/-{h.stated:g} of study.toml")
        else:
            told.append(f"{seen}; the wider +/-{h.stated:g} of study.toml is used")
    return f"What the press holds: {'; '.join(told)}." if told else ""


def _strict_note(found: Findings) -> str:
    if found.study.good_from <= NORMAL_TO:
        return ""
    return (
        f"good_from {found.study.good_from:g} is above {NORMAL_TO:g}: that few bad shots hang on "
        "scatter being normal far out in its tails, which so few shots cannot show."
    )


def _grading_note(found: Findings) -> str:
    """Say how far the readings were borne out by a second person."""
    told = [
        f"{check.regraded.response} {check.agreement.agreed} of {check.agreement.parts} parts "
        f"({check.verdict})"
        for check in found.gradings
    ]
    if not told:
        return ""
    return f"Read again blind, on the same side of the limit: {listed(told)}; see `surfaces`."


def _unfinished_note(found: Findings) -> str:
    left = sum(row.outcome == "open" for row in found.rows if row.kind != "warm-up")
    return f"{plural(left, 'planned shot')} not made yet." if left else ""


def _none_good_note(found: Findings) -> str:
    seen = outcomes(found.readings)
    return "" if (seen == "good").any() else f"None of the {len(seen)} shots was good."


def _end_note(found: Findings) -> str:
    """Say which settings of the setpoint lie at the end of what was tried."""
    if found.setpoint is None:
        return ""
    ends = []
    for j, factor in enumerate(found.study.factors):
        value, low, high = found.setpoint.settings[j], found.region.low[j], found.region.high[j]
        if low < high and (value - low < factor.step / 2 or high - value < factor.step / 2):
            ends.append(f"{spoken(factor.name)} {factor.text(value)} {unit_of(factor)}")
    if not ends:
        return ""
    return f"The setpoint lies at the end of what was tried: {listed(ends)}. Beyond is unknown."


_NOTES = (
    _suspect_note,
    _group_note,
    _strict_note,
    _none_good_note,
    _end_note,
    _lots_note,
    _hold_note,
    _other_note,
    _thinned_note,
    _actual_note,
    _grading_note,
    _unfinished_note,
)
