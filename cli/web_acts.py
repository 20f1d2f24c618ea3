"""One entry of a device -> what the session is told; never over what another device entered."""

from collections.abc import Callable, Mapping

from shotwindow.cli.later import (
    answers_of,
    labels,
    newest_put_by,
    put_by,
    read_row,
    skip_hotter,
    take_up,
    waiting_shots,
)
from shotwindow.cli.taking import check_limits, doubts, save
from shotwindow.cli.web_bench import Bench, answer_headings, newest_about, typed_answers
from shotwindow.cli.web_entries import Conflict, Doubted, Offer, Posted, Reply
from shotwindow.cli.wording import (
    changed_cells,
    entry_text,
    put_back_text,
    shots_text,
    skipped_text,
)
from shotwindow.doe.errors import StudyError
from shotwindow.doe.history import last_undoable
from shotwindow.doe.rows import WARM_UP, Row, row_cells
from shotwindow.doe.saving import Saved, printable
from shotwindow.doe.session import Session


def _check_seen(session: Session, posted: Posted) -> None:
    newest = newest_about(session, posted.shot)
    if newest != posted.seen:
        entry = session.entries[newest - 1]
        by = f" by {entry.who}" if entry.who else ""
        text = f"Shot {posted.shot} was changed meanwhile{by} ({entry.action})."
        raise Conflict(f"{text} What you sent is not taken.", again=True)


def _open_row(session: Session, posted: Posted) -> Row:
    """Return the row that an answer is for, unless somebody recorded it already."""
    row = session.row(posted.shot)
    if row.outcome != "open":
        by = f" by {row.by}" if row.by else ""
        sent = ", ".join(f"{name} {text}" for name, text in posted.values.items()) or posted.text
        lost = f" What you sent is not taken: {sent}." if sent else ""
        raise Conflict(f"Shot {row.shot} is recorded already{by}: {row.outcome}.{lost}")
    return row


def _check_heading(session: Session, posted: Posted) -> None:
    for heading in (*posted.values, *([posted.heading] if posted.heading else ())):
        if heading not in answer_headings(session):
            expected = f"one of {', '.join(answer_headings(session))}"
            raise StudyError.one(f"shot {posted.shot}", f'the column "{heading}"', expected)


def _answer(bench: Bench, posted: Posted) -> Reply:
    session, text = bench.session, printable(posted.words)
    row = _open_row(session, posted)
    now = typed_answers(session, row.shot).get(posted.heading, "")
    if now == text:
        return Reply(True)
    if now != posted.was:
        told = f"Another device entered {now or 'nothing'}"
        raise Conflict(f"Shot {row.shot}, {posted.heading}: {told} meanwhile.", theirs=now)
    check_limits(session, row, posted.heading, text)
    session.draft(row.shot, posted.heading, text)
    return Reply(True)


def _accept(bench: Bench, posted: Posted) -> Reply:
    session = bench.session
    row = _open_row(session, posted)
    if row.kind == WARM_UP:
        return _reply(session.accept(row.shot, {}))
    if typed_answers(session, row.shot) != posted.values:
        text = f"The answers of shot {row.shot} were changed meanwhile; look at them again."
        raise Conflict(text)
    values = {**answers_of(session, row.shot), "other": posted.values.get("other", "")}
    _ask(bench, row, values, posted)
    return _reply(save(session, row, values))


def _later(bench: Bench, posted: Posted) -> Reply:
    session = bench.session
    row = _open_row(session, posted)
    if typed_answers(session, row.shot) != posted.values:
        text = f"The answers of shot {row.shot} were changed meanwhile; look at them again."
        raise Conflict(text)
    if session.study.fill.measured != "mass":
        raise StudyError.one(f"shot {row.shot}", "fill that is not weighed", "a mass to wait for")
    missing = [name for name in session.layout.flash if name not in posted.values]
    if missing:
        raise StudyError.one(f"shot {row.shot}", "no " + ", ".join(missing), "only masses missing")
    if row.shot in waiting_shots(session):
        return Reply(True)
    read = read_row(session.study, session.layout, row, posted.values)
    skipped = skip_hotter(session, read)
    put_by(session, row.shot)
    said = f"Shot {row.shot} waits for the balance; until then it does not count. Label its parts:"
    return _reply(Saved({}, skipped), f"{said} {labels(session.study, row.shot)}")


def _no_part(bench: Bench, posted: Posted) -> Reply:
    _open_row(bench.session, posted)
    _check_seen(bench.session, posted)
    return _reply(bench.session.no_part(posted.shot, posted.words))


def _void(bench: Bench, posted: Posted) -> Reply:
    session, shot = bench.session, posted.shot
    _check_seen(session, posted)
    if not posted.words:
        return Reply(False, problems=("Nothing is changed: a void shot needs its reason.",))
    reply = _reply(session.void(shot, posted.words))
    again = Offer(f"Shot {shot} is void. Make it again?", "Make it again", "No", "reopen", (shot,))
    return Reply(True, reply.said, offer=again)


def _skip(bench: Bench, posted: Posted) -> Reply:
    _open_row(bench.session, posted)
    _check_seen(bench.session, posted)
    return _reply(bench.session.skip([posted.shot], posted.words))


def _note(bench: Bench, posted: Posted) -> Reply:
    _check_seen(bench.session, posted)
    return _reply(bench.session.note(posted.shot, posted.words))


def _reopen(bench: Bench, posted: Posted) -> Reply:
    _check_seen(bench.session, posted)
    return _reply(bench.session.reopen(posted.shots or [posted.shot]))


def _change(bench: Bench, posted: Posted) -> Reply:
    session, heading = bench.session, posted.heading
    _check_seen(session, posted)
    row = session.row(posted.shot)
    if row.outcome != "ok" or row.kind == WARM_UP:
        raise StudyError.one(f"shot {row.shot}", "no readings", "a shot with readings to correct")
    session.check(row.shot, heading, posted.words)
    check_limits(session, row, heading, posted.words)
    cells = row_cells(session.study, session.layout, row)
    _ask(bench, row, {**cells, heading: posted.words}, posted)
    saved = session.change(row.shot, {heading: posted.words}, sure=True)
    return _reply(saved, *(changed_cells(saved.values) or ["Nothing is changed."]))


def _undo(bench: Bench, posted: Posted) -> Reply:
    session = bench.session
    entry = newest_put_by(session) or last_undoable(session.entries)
    if entry is None:
        return Reply(False, problems=("There is nothing to undo.",))
    if entry.seq != posted.seen:
        newest = f"The newest entry is {entry_text(entry)}"
        raise Conflict(f"{newest}, and you saw another one. Nothing is undone.")
    if newest_put_by(session) is not None and entry.shot is not None:
        take_up(session, entry.shot)
        return Reply(True, (f"Shot {entry.shot} does not wait for the balance any more.",))
    session.undo()
    return Reply(True, (f"Taken back: {entry_text(entry)}.",))


def _set(bench: Bench, posted: Posted) -> Reply:
    return Reply(bench.at_press is not None and bench.at_press.shot == posted.shot)


def _cut(bench: Bench, posted: Posted) -> Reply:
    if bench.at_press is not None and bench.at_press.shot == posted.shot:
        bench.soaks, bench.soak_ends = True, 0.0
    return Reply(True)


def _actual(bench: Bench, posted: Posted) -> Reply:
    bench.actual = posted.text == "on"
    said = "Actual settings are asked for." if bench.actual else "Settings count as planned."
    return Reply(True, (said,))


def _ask(bench: Bench, row: Row, values: Mapping[str, str], posted: Posted) -> None:
    """Raise the questions about a shot's answers that nobody has answered with yes."""
    session = bench.session
    given = {name: text for name, text in values.items() if name in answer_headings(session)}
    questions = doubts(session, row, given)
    if any(str(question) not in posted.sure for question in questions):
        raise Doubted(questions)


def _reply(saved: Saved, *said: str) -> Reply:
    """Return what the session did beyond what was asked of it, and let it be overruled."""
    lines = list(said)
    if saved.edited:
        lines += ["runs.csv was changed by hand; taken from it:", *changed_cells(saved.edited)]
    if saved.put_back:
        lines.append(put_back_text(saved.put_back))
    if not saved.skipped:
        return Reply(True, tuple(lines))
    asked = f"Make {shots_text(saved.skipped)} all the same?"
    offer = Offer(asked, "Make them", "Leave them out", "reopen", saved.skipped)
    return Reply(True, (*lines, skipped_text(saved.skipped)), offer=offer)


Act = Callable[[Bench, Posted], Reply]

_BY_NAME: dict[str, Act] = {
    "accept": _accept,
    "actual": _actual,
    "answer": _answer,
    "change": _change,
    "cut": _cut,
    "later": _later,
    "no_part": _no_part,
    "note": _note,
    "reopen": _reopen,
    "set": _set,
    "skip": _skip,
    "undo": _undo,
    "void": _void,
}


def act(bench: Bench, posted: Posted) -> Reply:
    """Do what an entry asks for.

    Raises
    ------
    Conflict
        If another device was quicker.
    Doubted
        If the answers should be asked about first.
    StudyError
        If the entry is refused.
    """
    _check_heading(bench.session, posted)
    return _BY_NAME[posted.act](bench, posted)
