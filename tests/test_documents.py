"""JSON: six digits, no infinity, and exactly the fields of the schemas that are kept."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from invented_shots import STUDIES, findings, planned, study

from shotwindow.reports.documents import json_text, rounded, window_document
from shotwindow.reports.planned import plan_document, tell
from shotwindow.reports.points import predict_points
from shotwindow.reports.surface_documents import surfaces_document

SCHEMAS = Path(__file__).parent / "reference" / "schemas"


def _check(document: dict[str, Any], name: str) -> Any:
    """Return a document as it reads back, having held it against its schema."""
    schema = json.loads((SCHEMAS / f"{name}.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    back = json.loads(json_text(document))
    jsonschema.validate(back, schema)
    return back


def test_rounded__numbers_of_every_kind__plain_and_short() -> None:
    value = {
        "a": np.float32(1 / 3),
        "b": (np.int64(7), np.bool_(True)),
        "c": [np.inf, np.nan, -np.inf],
    }
    assert rounded(value) == {"a": 0.333333, "b": [7, True], "c": [None, None, None]}
    assert rounded(123456789.0) == 123457000.0


def test_json_text__any_title__is_ascii() -> None:
    text = json_text({"title": "M\u00fcller \u2265 \U0001f600"})
    assert text.isascii() and json.loads(text)["title"] == "M\u00fcller \u2265 \U0001f600"


@pytest.mark.parametrize("name", sorted(STUDIES))
def test_window_document__every_study__fits_its_schema(name: str) -> None:
    found = findings(name)
    middle = [[(f.low + f.high) / 2 for f in found.study.factors]]
    outside = [[f.high * 10 for f in found.study.factors]]
    points = predict_points(found, np.array(middle + outside))
    back = _check(window_document(found, points), "window")
    assert len(back["points"]) == 2 and "reason" in back["points"][1]
    assert set(back["ranges"]) in (set(), set(found.study.names))


def test_window_document__setpoint__keys_and_values_as_agreed() -> None:
    found = findings("map")
    back = _check(window_document(found), "window")
    assert found.setpoint is not None and found.ranges is not None
    assert list(back["setpoint"]) == [
        "pressure",
        "melt_temperature",
        "probability_good",
        "probability_in_window",
    ]
    assert back["setpoint"]["pressure"] == found.setpoint.settings[0]
    pressure, factor = back["ranges"]["pressure"], found.study.factors[0]
    assert pressure["unit"] == "bar" and pressure["of"] == found.ranges.of
    assert pressure["marks"] == round((pressure["high"] - pressure["low"]) / factor.step) + 1
    assert 0 < back["window"]["share_sure"] < back["window"]["share_likely"] < 1
    assert back["window"]["open_edges"] == []


def test_window_document__no_setpoint__is_null_with_a_verdict() -> None:
    back = _check(window_document(findings("strict")), "window")
    assert back["setpoint"] is None and back["held"] is None and back["ranges"] == {}
    assert back["best"]["probability_good"] < 0.999
    assert "No setting reaches 0.999" in back["window"]["verdict"]


def test_window_document__edge_never_seen__is_open_and_null() -> None:
    back = _check(window_document(findings("full")), "window")
    assert back["window"]["open_edges"] == ["fill", "flash"]
    assert all(edge["median"] is None for edge in back["edges"])


def test_plan_document__fits_its_schema() -> None:
    for name in ("map", "dial", "cube"):
        back = _check(plan_document(tell(study(name), planned(name))), "plan")
        assert len(back["runs"]) == back["shots"] + back["warm_up_shots"]
        assert set(back["runs"][0]["settings"]) == set(study(name).names)


@pytest.mark.parametrize("name", sorted(STUDIES))
def test_surfaces_document__every_study__fits_its_schema(name: str) -> None:
    back = _check(surfaces_document(findings(name), ["a = + b x c"]), "surfaces")
    assert ("other" in back["surfaces"]) == (name == "sink")
    assert len(back["surfaces"]["fill"]["effects"]) == len(study(name).factors)
