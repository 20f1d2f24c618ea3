"""Shots to make next -> what `next` prints, and its JSON document."""

from typing import Any

from shotwindow.models.choosing import LEAST_CHANCE
from shotwindow.models.next_shots import Batch
from shotwindow.models.suggestion import Suggestion
from shotwindow.reports.documents import by_name
from shotwindow.reports.naming import chance, listed, percent, plural, setting_words, spoken
from shotwindow.reports.suggesting import Suggested
from shotwindow.reports.words import paragraph

OPEN_FROM = 0.1  # from this chance of either, in the window or not is called open

#: What a good shot is on each response, and what the other is.
GOOD_AS = {"fill": "full", "flash": "within the flash limit", "other": "not rejected otherwise"}
BAD_AS = {"fill": "was short", "flash": "flashed over the limit", "other": "was rejected otherwise"}


def reason(shot: Suggestion) -> str:
    """Return in one sentence why a shot is worth making."""
    if shot.why == "walk" and shot.probability_good < 0.01:
        return (
            "Nothing tried is likely good: least is missing here (most likely it is not "
            f"{GOOD_AS[shot.response]} yet)."
        )
    if shot.why == "walk":
        return (
            f"No setting is likely good yet: good shots are likeliest here (chance "
            f"{chance(shot.probability_good)}) should the shots before have failed."
        )
    if shot.why == "reference":
        return (
            f"The best setting once more (chance of a good shot {chance(shot.probability_good)}): "
            "how far it is off from before tells how much groups, days or lots change."
        )
    if shot.why == "edge" and 1.0 - shot.chance < LEAST_CHANCE:
        return (
            f"No shot {BAD_AS[shot.response]} yet: a small step toward that edge, with a chance of "
            f"{chance(1.0 - shot.chance)} to see it."
        )
    if shot.why == "edge":
        return (
            f"No shot {BAD_AS[shot.response]} yet: this one may, with a chance of "
            f"{chance(1.0 - shot.chance)}, and then the edge is seen."
        )
    inside, gain = shot.probability_in_window, about(shot.settles)
    if min(inside, 1.0 - inside) < OPEN_FROM:
        side = "in" if inside > 0.5 else "out of"
        return (
            f"Most likely {side} the window here (chance {chance(max(inside, 1.0 - inside))}), but "
            f"what is read there tells how the edges run: puts {gain} of all settings right."
        )
    return (
        f"In the window or not is open here (chance {chance(inside)}), above all whether it is "
        f"{GOOD_AS[shot.response]} ({chance(shot.chance)}): puts {gain} of all settings right."
    )


def about(share: float) -> str:
    """Return an expected share of all settings; one too small to matter is not spelled out.

    Examples
    --------
    >>> from shotwindow.reports.next_words import about
    >>> about(0.0043), about(4e-48)
    ('about 0.43 %', 'under 0.01 %')
    """
    return f"about {percent(share)}" if share >= 0.0001 else "under 0.01 %"


def where(shot: Suggestion) -> str:
    """Return what has to be waited for, and whether the shot leaves what was tried."""
    parts = []
    if shot.new_group:
        parts.append("New temperature group: soak and warm-up shots first.")
    if shot.beyond:
        names = listed([spoken(name) for name in shot.beyond])
        parts.append(f"Outside of what was tried in {names}: watch the part.")
    return " ".join(parts)


def advice(batch: Batch) -> str:
    """Return what the shots are expected to change, and whether to stop."""
    now, after = about(batch.wrong_now), about(batch.wrong_after)
    text = (
        f"{now[0].upper()}{now[1:]} of all settings are expected to be taken wrongly now, as in "
        f"the window or as out of it, and {after} after these shots."
    )
    if batch.nothing_good:
        # a map of nothing but bad shots is hardly ever wrong: that number would say nothing
        text = (
            "Nothing is likely good yet, so that these shots search for good ones first, a small "
            "step at a time: ask again once they are made."
        )
    for response in batch.blocked:
        text += (
            f" No shot {BAD_AS[response]}, and no step within the limits comes near: that edge "
            "stays unknown."
        )
    if batch.stop:
        text += " They are hardly worth making: stop here and confirm the setpoint."
    return text


def keep_in_mind(told: Suggested) -> tuple[str, ...]:
    """Return what to know before the shots are made."""
    notes = []
    if told.still_open:
        open_shots = plural(told.still_open, "planned shot")
        notes.append(
            f"{open_shots} not made yet: they come first, and may change what is worth making next."
        )
    lots = told.found.surfaces.lots
    lot = told.found.study.material.lot
    if lot and lot not in lots:
        notes.append(
            f'Material lot "{lot}" of study.toml was never shot: the shots tell how it differs.'
        )
    elif len(lots) > 1:
        notes.append(
            "Chances are those of the worst of the lots shot, also where these shots are of a "
            "better one."
        )
    beyond = {name for shot in told.batch.shots for name in shot.beyond}
    if beyond:
        names = listed([spoken(name) for name in sorted(beyond)])
        notes.append(
            f"The map reaches from low to high of study.toml: widen {names} there once the shots "
            "outside are made."
        )
    return tuple(notes)


def next_lines(told: Suggested) -> list[str]:
    """Return everything that `next` prints."""
    batch, factors = told.batch, told.found.study.factors
    lines = paragraph(f"{plural(len(batch.shots), 'shot')} to make next, {told.minutes:.0f} min")
    lines.append("")
    for number, shot in enumerate(batch.shots, start=1):
        lines += paragraph(setting_words(factors, shot.settings), 2, f"{number}. ")
        lines += paragraph(" ".join(filter(None, [where(shot), reason(shot)])), 5)
    lines += ["", *paragraph(advice(batch))]
    for note in keep_in_mind(told):
        lines += paragraph(note, 2, "- ")
    return lines


def next_document(told: Suggested, *, written: bool) -> dict[str, Any]:
    """Return what `next` found."""
    batch, factors = told.batch, told.found.study.factors
    return {
        "shots": [
            {
                **by_name(factors, shot.settings),
                "why": shot.why,
                "response": shot.response,
                "probability_good": shot.probability_good,
                "probability_in_window": shot.probability_in_window,
                "settles": shot.settles,
                "new_group": shot.new_group,
                "beyond": list(shot.beyond),
                "reason": reason(shot),
            }
            for shot in batch.shots
        ],
        "minutes": told.minutes,
        "wrong_share": {"now": batch.wrong_now, "after": batch.wrong_after},
        "stop": batch.stop,
        "unseen_edges_out_of_reach": list(batch.blocked),
        "nothing_good_yet": batch.nothing_good,
        "advice": advice(batch),
        "notes": list(keep_in_mind(told)),
        "written": written,
    }
