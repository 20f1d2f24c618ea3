"""Minutes laid end to end: without a gap, and as many as the plan is priced with."""

import pytest
from molds import study

from shotwindow.doe.groups import soak_minutes
from shotwindow.doe.plans import make_plan
from shotwindow.doe.restrictions import cost
from shotwindow.doe.timeline import USES, timeline


@pytest.mark.parametrize("kind", ["optimal", "composite"])
def test_timeline__whole_plan__the_minutes_of_its_cost_without_a_gap(kind: str) -> None:
    made = study(3, budget=480)
    plan = make_plan(made, kind=kind, seed=2)
    day = timeline(made, plan)
    assert day[0].start == 0.0
    assert all(a.end == b.start for a, b in zip(day, day[1:], strict=False))
    assert day[-1].end == pytest.approx(cost(made, plan).minutes)
    assert [s.shot for s in day if s.shot is not None] == list(plan.shots)
    assert {s.use for s in day} <= set(USES) and (day[0].use, day[-1].use) == (USES[0], USES[-1])


def test_timeline__a_change_of_a_slow_setting__is_soaked_once_before_its_group() -> None:
    made = study(2, budget=480)
    plan = make_plan(made, shots=10, seed=1)
    day = timeline(made, plan)
    soaks = [s for s in day if s.use == "soak"]
    assert [s.group for s in soaks] == sorted({shot.group for shot in plan.shots})[1:]
    melt, openings = made.factors[1], {shot.group: shot.settings[1] for shot in plan.shots}
    for soak in soaks:
        wanted = soak_minutes(melt, openings[soak.group - 1], openings[soak.group])  # type: ignore[arg-type]
        assert soak.end - soak.start == pytest.approx(float(wanted))


def test_timeline__nothing_slow__no_soak() -> None:
    made = study(2, slow=False)
    assert "soak" not in {s.use for s in timeline(made, make_plan(made, shots=9))}
