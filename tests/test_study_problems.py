import datetime

import pytest
from pydantic import ValidationError

from shotwindow.doe.study_problems import problems_of, shown
from shotwindow.doe.study_tables import MoldTable


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "true"),
        (3, "3"),
        (0.1 + 0.2, "0.3"),
        (1.0, "1.0"),
        (0.05, "0.05"),
        (1e300, "1e+300"),
        (float("nan"), "nan"),
        ("bar", '"bar"'),
        ([1.5, "a", [2]], '[1.5, "a", [2]]'),
        ({"a": 1}, "a table"),
        (datetime.date(2026, 1, 2), "2026-01-02"),
        (datetime.time(7, 30), "07:30:00"),
        (datetime.datetime(2026, 1, 2, 7, 30), "2026-01-02T07:30:00"),
    ],
)
def test_shown__as_in_the_file(value: object, text: str) -> None:
    assert shown(value) == text


def test_problems_of__two_mistakes__two_problems() -> None:
    with pytest.raises(ValidationError) as caught:
        MoldTable.model_validate({"cavities": 0, "nam": "x"})
    problems = problems_of(caught.value, MoldTable, "here")
    assert [(problem.place, problem.do) for problem in problems] == [
        ("here cavities", ""),
        ("here nam", "did you mean name?"),
    ]


@pytest.mark.parametrize(
    "value", [None, "x", 1.5, True, [], {}, [None], [{}], b"x", -1, float("inf")]
)
@pytest.mark.parametrize("model_key", list(MoldTable.model_fields))
def test_problems_of__any_wrong_value__has_words(model_key: str, value: object) -> None:
    try:
        MoldTable.model_validate({model_key: value})
    except ValidationError as error:
        assert all(problem.expected for problem in problems_of(error, MoldTable, "here"))
