"""Entries of one and of two devices: each taken once, nothing overwritten, refusals as ever."""

import os
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sheets import EYE, GRADES, MASS, edit, read, study_in
from web_client import HEADINGS, HOST, Device, served

from shotwindow.cli import web_bench
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.journal import read_journal
from shotwindow.doe.runs import read_runs
from shotwindow.doe.study import Study


def warmed(device: Device) -> None:
    for shot in (1, 2):
        assert device.post("accept", shot)["taken"]


def test_shots__recorded_on_a_page__as_at_the_terminal(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with served(tmp_path, study) as (app, gate, _):
        ada = Device(app, gate)
        assert ada.state()["shot"]["title"] == "Shot 1 of 8 (warm-up, is set aside; 1 more to come)"
        warmed(ada)
        assert ada.record(3, "96,5", "none")["taken"]
        shown = ada.state()
    row = read_runs(tmp_path, study)[2]
    assert (row.fill, row.flash, row.status, row.by) == ((96.5,), (0.0,), "ok", "Ada")
    assert shown["recorded"] == 3
    moves = [(move["name"], move["value"], move["remark"]) for move in shown["shot"]["moves"]]
    assert moves == [("pressure", "4", "(it was 3)")]
    assert [entry.who for entry in read_journal(tmp_path)][1:] == ["Ada"] * 5


def test_entry__sent_again__taken_once(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        ada = Device(app, gate)
        warmed(ada)
        note = {"act": "note", "shot": 2, "text": "cold", "seen": ada.state()["done"][0]["seen"]}
        first = ada.send(id="a" * 32, **note).get_json()["reply"]
        again = ada.send(id="a" * 32, **note).get_json()["reply"]
        assert first == again and first["taken"]
        assert session.row(2).note == "cold"
        later = ada.send(id="b" * 32, **note).get_json()["reply"]  # as after a restart
        assert "changed meanwhile" in later["conflict"] and later["again"]
        assert session.row(2).note == "cold"


def test_entry__sent_again_at_once_by_many__taken_once(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        devices = [Device(app, gate) for _ in range(8)]

        def post(device: Device) -> bool:
            got = device.send(id="c" * 32, act="accept", shot=1)
            return bool(got.get_json()["reply"]["taken"])

        with ThreadPoolExecutor(8) as pool:
            assert all(pool.map(post, devices))
        assert [entry.action for entry in session.entries] == ["plan", "accept"]


def test_two_devices__same_answer_asked__second_is_shown_the_first(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with served(tmp_path, study) as (app, gate, session):
        ada, ben = Device(app, gate, "Ada"), Device(app, gate, "Ben")
        warmed(ada)
        assert ada.answer(3, fill="96")["taken"]
        reply = ben.answer(3, fill="91")
        assert reply["conflict"].startswith("Shot 3, fill (%): Another device entered 96")
        assert reply["theirs"] == "96"
        assert session.typed(3)["fill (%)"] == "96"
        assert ben.answer(3, was="96", fill="91")["taken"]  # knowing of it
        values = {HEADINGS["fill"]: "96"}
        assert "look at them again" in ada.post("accept", 3, values=values)["conflict"]
        assert ben.record(3, "91")["taken"] is True
        late = ada.answer(3, was="96", fill="95")
        assert "recorded already by Ben" in late["conflict"] and "not taken: 95" in late["conflict"]
    assert read_runs(tmp_path, study)[2].fill == (91.0,)


def test_two_devices__both_tap_the_same_warm_up_shot__next_is_not_skipped(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        ada, ben = Device(app, gate, "Ada"), Device(app, gate, "Ben")
        assert ada.post("accept", 1)["taken"]
        assert "Shot 1 is recorded already by Ada" in ben.post("accept", 1)["conflict"]
        assert session.row(2).outcome == "open"


@pytest.mark.parametrize("act", ["no_part", "void", "skip", "note", "reopen"])
def test_two_devices__changed_meanwhile__shown_and_not_done(tmp_path: Path, act: str) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        ada, ben = Device(app, gate, "Ada"), Device(app, gate, "Ben")
        warmed(ada)
        seen = ben.state()["shot"]["seen"]
        ada.answer(3, fill="96")
        reply = ben.post(act, 3, seen=seen, text="why")
        assert "changed meanwhile by Ada" in reply["conflict"] and reply["again"]
        assert session.typed(3) == {"fill (%)": "96"}
        assert ben.post(act, 3, seen=ben.state()["shot"]["seen"], text="why")["taken"]


def test_two_devices__all_at_once__nothing_lost(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with served(tmp_path, study) as (app, gate, _):
        devices = [Device(app, gate, name) for name in ("Ada", "Ben", "Cem", "Dia")]
        warmed(devices[0])

        def work(device: Device) -> list[int]:
            mine = []
            for shot in range(3, 9):
                fill = str(60 + devices.index(device))
                if device.record(shot, fill)["taken"]:
                    mine.append(shot)
            return mine

        with ThreadPoolExecutor(4) as pool:
            taken = list(pool.map(work, devices))
        open_still = [row.shot for row in read_runs(tmp_path, study) if row.outcome == "open"]
    assert sorted(sum(taken, []) + open_still) == [3, 4, 5, 6, 7, 8]  # each shot by one device
    by = {row.shot: (row.by, row.fill) for row in read_runs(tmp_path, study) if row.shot > 2}
    for device, shots in zip(devices, taken, strict=True):
        for shot in shots:
            assert by[shot] == (device.who, (60.0 + devices.index(device),))
    numbers = [entry.seq for entry in read_journal(tmp_path)]
    assert numbers == list(range(1, len(numbers) + 1))


def test_answer__wrong__refused_in_the_terminals_words(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        ada = Device(app, gate)
        (problem,) = ada.answer(3, fill="960")["problems"]
        assert problem.startswith('shot 3, "fill (%)": found 960; expected percent from 1 to 100')
        (problem,) = ada.answer(3, fill="1,250")["problems"]
        assert "write 1250 or 1.25" in problem or "write 1.25 or 1250" in problem
        assert session.typed(3) == {}
        missing = ada.post("accept", 3, values={})["problems"]
        assert ["an empty cell" in problem for problem in missing] == [True, True]


def test_answer__under_no_heading_or_for_no_shot__refused(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        ada, before = Device(app, gate), session.entries
        for heading in ("shot", "status", "made_at", "note", "pressure (bar)", "<b>"):
            (problem,) = ada.post("answer", 3, heading=heading, text="1")["problems"]
            assert "expected one of" in problem
        (problem,) = ada.post("answer", 99, heading="other", text="sink")["problems"]
        assert "no such shot" in problem
        for act in ("accept", "void", "note", "reopen", "later", "change", "skip", "no_part"):
            assert not ada.post(act, 99, text="why", heading="other")["taken"]
        assert session.entries == before


def test_doubt__asked_and_answered_on_the_page(tmp_path: Path) -> None:
    study = study_in(tmp_path, MASS)
    with served(tmp_path, study) as (app, gate, _):
        ada = Device(app, gate)
        warmed(ada)
        texts = {"mass 1 (g)": "2.1", "mass 2 (g)": "4", "flash (mm)": "0"}
        for heading, text in texts.items():
            assert ada.post("answer", 3, heading=heading, text=text)["taken"]
        reply = ada.post("accept", 3, values=texts)
        assert not reply["taken"] and "flash, or a wrong full mass" in reply["doubts"][0]
        other = ada.post("accept", 3, values=texts, sure=["something else"])
        assert other["doubts"] == reply["doubts"]
        assert ada.post("accept", 3, values=texts, sure=reply["doubts"])["taken"]
    assert read_runs(tmp_path, study)[2].fill == (2.1, 4.0)


def test_actual_settings__asked_when_wanted_and_limits_held(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with served(tmp_path, study) as (app, gate, _):
        ada = Device(app, gate)
        warmed(ada)
        assert ada.post("actual", text="on")["said"] == ["Actual settings are asked for."]
        fields = ada.state()["shot"]["fields"]
        assert fields[0]["heading"] == HEADINGS["pressure"]
        assert fields[0]["buttons"] == [{"value": "3", "text": "As planned: 3"}]
        assert "the limits of the press" in ada.answer(3, pressure="7.5")["problems"][0]
        assert ada.answer(3, pressure="3.1")["taken"]
        values = {HEADINGS["pressure"]: "3.1", "fill (%)": "96", "flash (mm)": "0"}
        ada.answer(3, fill="96")
        ada.answer(3, flash="0")
        assert ada.post("accept", 3, values=values)["taken"]
    assert read_runs(tmp_path, study)[2].actual == (3.1, None)


def test_weigh_later__waits_then_weighed_on_another_device(tmp_path: Path) -> None:
    study = study_in(tmp_path, MASS)
    with served(tmp_path, study) as (app, gate, session):
        ada, ben = Device(app, gate, "Ada"), Device(app, gate, "Ben")
        warmed(ada)
        assert "only masses missing" in ada.post("later", 3, values={})["problems"][0]
        ada.answer(3, flash="0")
        reply = ada.post("later", 3, values={"flash (mm)": "0"})
        assert reply["said"][0].endswith("Label its parts: 3-1   3-2")
        shown = ben.state(focus=3)
        assert shown["shot"]["shot"] == 4 and shown["waiting"][0]["shot"] == 3
        asked = [field["heading"] for field in shown["focus"]["fields"] if not field["answer"]]
        assert asked == ["mass 1 (g)", "mass 2 (g)", "other"]
        undone = ben.post("undo", seen=shown["undo"]["seq"])
        assert undone["said"] == ["Shot 3 does not wait for the balance any more."]
        ada.post("later", 3, values={"flash (mm)": "0"})
        ben.answer(3, mass1="1.9")
        ben.answer(3, mass2="3.9")
        texts = {"flash (mm)": "0", "mass 1 (g)": "1.9", "mass 2 (g)": "3.9"}
        assert ben.post("accept", 3, values=texts)["taken"]
        assert session.row(3).fill == (1.9, 3.9)
        assert session.row(3).by == "Ada"  # who made it
        assert session.row(4).outcome == "open"


def test_heavy_flash__skips_are_said_and_can_be_overruled(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path, GRADES)) as (app, gate, session):
        ada = Device(app, gate)
        warmed(ada)
        for heading, text in (("fill (%)", "100"), ("flash (grade)", "3")):
            assert ada.post("answer", 3, heading=heading, text=text)["taken"]
        values = {"fill (%)": "100", "flash (grade)": "3"}
        reply = ada.post("accept", 3, values=values)
        assert "Heavy flash. Now skipped" in reply["said"][0]
        shots = reply["offer"]["shots"]
        assert shots == [4, 5, 6, 7, 8] and reply["offer"]["act"] == "reopen"
        assert session.row(4).outcome == "skipped"
        seen = next(one["seen"] for one in ada.state()["done"] if one["shot"] == 4)
        assert ada.post("reopen", 4, shots=shots, seen=seen)["taken"]
        assert session.row(4).outcome == "open"


def test_void_undo_correct_skip__as_at_the_terminal(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        ada = Device(app, gate)
        warmed(ada)
        ada.record(3)

        def seen(shot: int) -> int:
            return int(next(one["seen"] for one in ada.state()["done"] if one["shot"] == shot))

        changed = ada.post("change", 3, seen=seen(3), heading="fill (%)", text="97")
        assert changed["said"] == ["shot 3: fill (%) 97"]
        assert ada.post("change", 3, seen=seen(3), heading="fill (%)", text="999")["problems"]
        assert "needs its reason" in ada.post("void", 3, seen=seen(3))["problems"][0]
        reply = ada.post("void", 3, seen=seen(3), text="wrong  \n setting")
        assert reply["offer"]["text"] == "Shot 3 is void. Make it again?"
        assert session.row(3).note == "wrong setting"
        undo = ada.state()["undo"]
        assert undo["text"].endswith("void of shot 3")
        assert "Nothing is undone" in ada.post("undo", seen=undo["seq"] - 1)["conflict"]
        assert ada.post("undo", seen=undo["seq"])["taken"]
        assert session.row(3).outcome == "ok" and session.row(3).fill == (97.0,)
        ada.post("skip", 4, seen=ada.state()["shot"]["seen"])
        ada.post("no_part", 5, seen=ada.state()["shot"]["seen"])
        assert [session.row(shot).outcome for shot in (4, 5)] == ["skipped", "no part"]
        for shot in (4, 1):
            problem = ada.post("change", shot, seen=seen(shot), heading="other", text="x")
            assert "no readings" in problem["problems"][0]


def test_notes__markup_and_formulas__kept_as_text(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    note = '<img src=x onerror=alert(1)> =1+2 "quoted", \u202e \0'
    with served(tmp_path, study) as (app, gate, _):
        ada = Device(app, gate, who="<b>Ada</b>")
        warmed(ada)
        seen = ada.state()["done"][0]["seen"]
        assert ada.post("note", 2, seen=seen, text=note)["taken"]
        assert ada.state()["done"][0]["note"] == note.replace("\0", "").strip()
        seen = ada.state()["done"][0]["seen"]
        (problem,) = ada.post("note", 2, seen=seen, text="x" * 501)["problems"]
        assert "found a text of 501 characters; expected at most 500" in problem
    assert read_runs(tmp_path, study)[1].note.startswith("<img")
    assert all(entry.who in ("", "<b>Ada</b>") for entry in read_journal(tmp_path))


def test_runs_csv__edited_beside_the_page__told_or_refused(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, session):
        ada = Device(app, gate)
        warmed(ada)
        edit(tmp_path, 2, {"note": "by hand"})
        reply = ada.record(3)
        assert reply["taken"] and reply["said"] == [
            "runs.csv was changed by hand; taken from it:",
            "shot 2: note by hand",
        ]
        edit(tmp_path, 3, {"fill (%)": "960"})
        reply = ada.record(4)
        assert not reply["taken"] and "found 960" in reply["problems"][0]
        assert session.row(4).outcome == "open"
        assert read((tmp_path / "runs.csv").read_bytes())[2]["fill (%)"] == "960"


def test_disk__full_while_a_page_records__told_and_taken_once_there_is_room(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = study_in(tmp_path)
    with served(tmp_path, study) as (app, gate, session):
        ada = Device(app, gate)
        warmed(ada)
        ada.answer(3, fill="96")

        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        before = session.entries
        reply = ada.answer(3, flash="0")
        assert not reply["taken"] and "make room on the disk" in reply["problems"][0]
        assert session.entries == before == read_journal(tmp_path)
        monkeypatch.undo()
        assert ada.record(3, fill="96")["taken"]
        monkeypatch.setattr(os, "replace", full)  # only runs.csv cannot be written
        reply = ada.record(4)
        assert "safe in the journal" in reply["problems"][0]
        assert ada.state()["shot"]["shot"] == 5
        monkeypatch.undo()
    assert [row.outcome for row in read_runs(tmp_path, study)[2:5]] == ["ok", "ok", "open"]


def test_soak__counted_for_all_devices_and_cut_short(tmp_path: Path) -> None:
    now = [0.0]
    with served(tmp_path, study_in(tmp_path), clock=lambda: now[0]) as (app, gate, _):
        ada, ben = Device(app, gate, "Ada"), Device(app, gate, "Ben")
        warmed(ada)
        for shot in (3, 4, 5):
            ada.record(shot)
        assert ada.state()["shot"]["soak"] == {"minutes": 14, "left_s": 0, "runs": False}
        assert ada.post("set", 6)["taken"]
        now[0] = 60.5
        assert ben.post("set", 6)["taken"]  # does not begin it anew
        assert ben.state()["shot"]["soak"] == {"minutes": 14, "left_s": 780, "runs": True}
        assert not ben.post("set", 5)["taken"]
        assert ben.post("cut", 5)["taken"]  # late, for a shot that is over
        assert ben.state()["shot"]["soak"] is not None
        now[0] = 840.0
        assert ben.state()["shot"]["soak"] is None
        now[0] = 100.0
        assert ben.post("cut", 6)["taken"]
        assert ada.state()["shot"]["soak"] is None


def test_state__nothing_new__said_in_one_word(tmp_path: Path) -> None:
    with served(tmp_path, study_in(tmp_path)) as (app, gate, _):
        ada = Device(app, gate)
        revision = ada.state()["revision"]
        url = f"/state?known={revision}"
        same = ada.client.get(url, base_url="http://127.0.0.1:8431").get_json()
        assert same == {"revision": revision, "same": True}
        ada.post("accept", 1)
        assert "shot" in ada.client.get(url, base_url="http://127.0.0.1:8431").get_json()


def test_state__melt_that_stands__told_without_an_entry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Acetal; polyplastics.com, Duracon, cautions in molding: 10 min at 230 degC at the most."""
    minutes = [0]

    def later() -> str:
        return (datetime.now(UTC) + timedelta(minutes=minutes[0])).isoformat()

    monkeypatch.setattr(web_bench, "now", later)
    card = find_card("acetal")
    with served(tmp_path, study_in(tmp_path), card=card) as (app, gate, _):
        ada = Device(app, gate)
        ada.post("accept", 1)

        def news(known: str) -> dict[str, Any]:
            url = f"/state?known={known}"
            found: dict[str, Any] = ada.client.get(url, base_url=f"http://{HOST}").get_json()
            return found

        fresh = ada.state()
        assert fresh["shot"]["stood"] == "" and news(fresh["revision"])["same"]
        minutes[0] = 59
        told = news(fresh["revision"])
        assert "Purge it before this shot" in told["shot"]["stood"]
        assert news(told["revision"])["same"]  # once, and not at every question


def test_all_made__page_says_so(tmp_path: Path) -> None:
    study: Study = study_in(tmp_path, EYE)
    with served(tmp_path, study) as (app, gate, _):
        ada = Device(app, gate)
        warmed(ada)
        for shot in range(3, 9):
            assert ada.record(shot)["taken"]
        shown = ada.state()
    assert shown["shot"] is None and shown["recorded"] == shown["total"] == 8
