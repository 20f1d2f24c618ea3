import pickle

import pytest

from shotwindow.doe.errors import Problem, StudyError, guess


def test_problem__without_a_next_step__ends_after_what_was_expected() -> None:
    assert str(Problem("a.csv", "5", "3")) == "a.csv: found 5; expected 3"


def test_study_error__several_problems__one_line_each_in_order() -> None:
    problems = (Problem("b", "1", "2", "mend it"), Problem("a", "3", "4"))
    error = StudyError(iter(problems))
    assert error.problems == problems
    assert str(error) == "b: found 1; expected 2; mend it\na: found 3; expected 4"


def test_study_error__sent_to_another_process__arrives_whole() -> None:
    error = StudyError([Problem("b", "1", "2", "mend it"), Problem("a", "3", "4")])
    again = pickle.loads(pickle.dumps(error))
    assert isinstance(again, StudyError)
    assert again.problems == error.problems
    assert str(again) == str(error)


@pytest.mark.parametrize(
    ("word", "meant"),
    [("cavitys", "cavities"), ("CAVITIES", "cavities"), ("Psi", "psi"), ("zzz", None), ("", None)],
)
def test_guess(word: str, meant: str | None) -> None:
    assert guess(word, ("name", "cavities", "psi")) == meant
