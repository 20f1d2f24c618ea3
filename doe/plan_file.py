"""A Plan -> plan.json and the run sheet with nothing recorded yet; plan.json -> the Plan."""

import json
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shotwindow.doe.columns import standard_layout
from shotwindow.doe.errors import StudyError
from shotwindow.doe.history import Sheet
from shotwindow.doe.rows import Row, row_cells
from shotwindow.doe.store import write_whole
from shotwindow.doe.study import Study

if TYPE_CHECKING:  # making plans loads much that recording does not need
    from shotwindow.doe.plans import Plan

PLAN_FILE = "plan.json"
_SCHEMA = 1


def planned_sheet(study: Study, plan: "Plan") -> Sheet:
    """Return the run sheet of a plan, with nothing recorded in it."""
    layout = standard_layout(study)
    rows = [
        Row(
            shot=planned.shot,
            block=planned.block,
            lot=planned.lot,
            group=planned.group,
            kind=planned.kind,
            settings=planned.settings,
            actual=(None,) * len(layout.actual),
            fill=(None,) * len(layout.fill),
            flash=(None,) * len(layout.flash),
        )
        for planned in plan.shots
    ]
    cells = {row.shot: row_cells(study, layout, row) for row in rows}
    return Sheet(layout.names, {shot: _filled(texts) for shot, texts in cells.items()})


def _filled(texts: dict[str, str]) -> dict[str, str]:
    return {heading: text for heading, text in texts.items() if text}


def write_plan_file(folder: Path, study: Study, plan: "Plan") -> None:
    """Write plan.json: how the plan was made, and every shot of it."""
    fields = {
        "schema": _SCHEMA,
        "version": version("shotwindow"),
        "kind": plan.kind,
        "model": plan.model,
        "seed": plan.seed,
        "factors": list(study.names),
    }
    head = json.dumps(fields, ensure_ascii=False, indent=2)[:-2]
    shots = ",\n".join(
        "    " + json.dumps(vars(shot), ensure_ascii=False) for shot in plan.shots
    )  # a line a shot, so that two plans can be compared line by line
    text = f'{head},\n  "shots": [\n{shots}\n  ]\n}}\n'
    write_whole(folder / PLAN_FILE, text.encode())


def read_plan(folder: Path) -> "Plan":
    """Return the plan of a study.

    Raises
    ------
    StudyError
        If there is none, or plan.json is not as it was written.
    """
    from shotwindow.doe.plans import Plan, PlannedShot

    path = folder / PLAN_FILE
    if not path.exists():
        raise StudyError.one(str(path), "no plan", "a plan", f"run `shotwindow plan {folder}`")
    try:
        fields: dict[str, Any] = json.loads(path.read_bytes())
        if fields["schema"] > _SCHEMA:
            raise StudyError.one(str(path), "a plan of a newer shotwindow", f"schema {_SCHEMA}")
        shots = tuple(
            PlannedShot(**{**shot, "settings": tuple(shot["settings"])}) for shot in fields["shots"]
        )
        return Plan(fields["kind"], fields["model"], fields["seed"], shots)
    except (ValueError, KeyError, TypeError) as fault:
        do = "put back a copy of it; it is not for editing"
        raise StudyError.one(str(path), "something else than a plan", "a plan", do) from fault
