import pytest
from sheets import EYE, GRADES, MASS

from shotwindow.doe.columns import columns
from shotwindow.doe.study import parse_study

PLANNED = (
    "shot,block,lot,group,kind,pressure (bar),melt temperature (degC),"
    "actual pressure (bar),actual melt temperature (degC)"
)
REMARKS = "other,status,made_at,by,note"


@pytest.mark.parametrize(
    ("text", "readings"),
    [
        (EYE, "fill (%),flash (mm)"),
        (MASS, "mass 1 (g),mass 2 (g),flash (mm)"),
        (GRADES, "fill (%),flash (grade)"),
        (
            EYE.replace("[mold]", "[mold]\ncavities = 3")
            + '[fill]\nmeasured = "full-or-short"\n[flash]\nunit = "in"\n'
            + "step = 0.001\ngood = 0.004",
            "fill 1 (full or short),fill 2 (full or short),fill 3 (full or short),flash (in)",
        ),
    ],
    ids=["eye", "mass", "grades", "words"],
)
def test_columns__each_scale__with_its_unit(text: str, readings: str) -> None:
    assert ",".join(columns(parse_study(text))) == f"{PLANNED},{readings},{REMARKS}"
