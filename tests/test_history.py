from shotwindow.doe.history import (
    Sheet,
    changes,
    drafts,
    last_undoable,
    render,
    replay,
    taken_back,
)
from shotwindow.doe.journal import Entry

PLAN = {1: {"shot": "1", "kind": "ladder"}, 2: {"shot": "2", "kind": "ladder"}}
COLUMNS = ("shot", "kind", "fill (%)", "note")


def entries(*made: tuple[str, dict[int, dict[str, str]]], undoes: int | None = None) -> list[Entry]:
    listed = [Entry(1, "", "", "plan", None, PLAN, "", COLUMNS)]
    for action, values in made:
        shot = next(iter(values)) if len(values) == 1 else None
        target = undoes if action == "undo" else None
        listed.append(Entry(len(listed) + 1, "", "", action, shot, values, "", None, target))
    return listed


FILLED = ("accept", {1: {"fill (%)": "96"}})
CHANGED = ("change", {1: {"fill (%)": "95", "note": "looked again"}})


def test_replay__each_entry_in_turn() -> None:
    listed = entries(FILLED, CHANGED)
    fills = [replay(listed[:n]).cells[1].get("fill (%)") for n in (1, 2, 3)]
    assert fills == [None, "96", "95"]


def test_replay__draft__not_in_the_sheet_but_kept() -> None:
    listed = entries(("draft", {1: {"fill (%)": "96"}}), ("draft", {1: {"fill (%)": "97"}}))
    assert "fill (%)" not in replay(listed).cells[1]
    assert drafts(listed) == {1: {"fill (%)": "97"}}


def test_drafts__note_in_between__kept_and_accepted__gone() -> None:
    typed = ("draft", {1: {"fill (%)": "96"}})
    assert drafts(entries(typed, ("note", {1: {"note": "a"}}))) == {1: {"fill (%)": "96"}}
    assert drafts(entries(typed, FILLED)) == {}


def test_replay__plan_again__only_its_shots() -> None:
    listed = entries(FILLED, ("plan", {1: {"shot": "1", "fill (%)": "96"}, 3: {"shot": "3"}}))
    assert list(replay(listed).cells) == [1, 3]


def test_changes__before_and_after() -> None:
    found = [(c.entry.seq, c.column, c.before, c.after) for c in changes(entries(FILLED, CHANGED))]
    assert found == [
        (2, "fill (%)", "", "96"),
        (3, "fill (%)", "96", "95"),
        (3, "note", "", "looked again"),
    ]


def test_last_undoable__skips_what_is_undone_and_stops_at_a_plan() -> None:
    listed = entries(FILLED, CHANGED)
    last = last_undoable(listed)
    assert last is not None and last.seq == 3
    assert taken_back(last, replay(listed[:2])) == {1: {"fill (%)": "96", "note": ""}}
    undone = entries(FILLED, CHANGED, ("undo", {1: {"fill (%)": "96"}}), undoes=3)
    last = last_undoable(undone)
    assert last is not None and last.seq == 2
    assert last_undoable(entries()) is None
    assert last_undoable(entries(FILLED, ("plan", {}))) is None


def test_render__quotes_and_line_breaks__rfc_4180() -> None:
    sheet = Sheet(("shot", "note"), {1: {"shot": "1", "note": 'say "no"\nto, flash'}})
    assert render(sheet) == b'shot,note\r\n1,"say ""no""\nto, flash"\r\n'
