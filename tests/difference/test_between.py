"""Two versions of a log: each change is told once, with what followed from it and from nothing else."""

import json
import re
from pathlib import Path

import pytest

from traverse.__main__ import main
from traverse.compile import compile_log
from traverse.difference.between import MOST_ALONE, Version, between
from traverse.difference.records import EditKind, FigureOf
from traverse.sheet.said.difference_words import edit_words, effect_words, sentence
from traverse.source import Source

LOG = """\
notation 1
traverse    Tarn Side, day 1
date        2026-07-14
party       MO Mara Olsen, JT Jon Tell
bearings    magnetic
declination 4.7 E, 2026, map margin
attitudes   dip-right
pace        JT double 100 m in 65, 66, 66, 67

unit  Sh Reed Shale ; Jurassic
unit  Ss Pike Sandstone ; Triassic

at 1
  unit  Ss
  bed   322/30

to 2  N47E 64p +3 back 228
along 31p
  contact Sh/Ss certain

at 2
  unit  Sh
  bed   320/34, 319/35
  hazard loose blocks above the path

to 3  138 52p -2
  unit  Sh
  bed   319/33

close 1  266 84p -1
covered 30p to 50p scree
  contact Sh/Ss inferred
"""


def version(text, name="day.trav", files=None):
    files = files or {}

    def load(path):
        try:
            return files[path].encode()
        except KeyError:
            raise FileNotFoundError(path) from None

    return Version(name=name, compiled=compile_log(Source(name=name, text=text), load=load), load=load)


def difference(first, second, **files):
    return between(
        version(first, "old.trav", files.get("was")), version(second, "new.trav", files.get("now"))
    )


def told(found):
    """What is said of each cause, by what was changed."""
    return {
        "; ".join(edit_words(edit) for edit in one.edits): [
            words.replace("\xa0", " ") for words in effect_words(one.effect, found.lengths)
        ]
        for one in found.causes
    }


def test_a_new_declination_is_told_once_with_all_that_it_turned():
    found = difference(LOG, LOG.replace("4.7 E", "9.7 E"))
    (cause,) = found.causes
    assert edit_words(cause.edits[0]) == "declination: 9.7 E, was 4.7 E"
    (turning,) = cause.effect.turnings
    assert turning.stations == ("1", "2", "3")
    assert turning.clockwise_deg == pytest.approx(5.0)
    assert [one.station for one in cause.effect.moves] == ["2", "3"]
    assert found.edits == ()
    assert "3 attitudes at 1, 2 and 3 turned 5° clockwise" in told(found)["declination: 9.7 E, was 4.7 E"]


def test_a_walk_turned_as_a_whole_closes_as_before_and_no_closure_is_told():
    (cause,) = difference(LOG, LOG.replace("4.7 E", "9.7 E")).causes
    assert cause.effect.closures == ()


def test_a_tie_that_misses_by_more_than_was_walked_is_no_1_in_0():
    page = "notation 1\ncontrol 1 0 E 0 N\ncontrol 3 0 E {} N\nbearings true\nat 1\nto 2 000 50m\nclose 3 000 50m\n"
    (said,) = told(difference(page.format(120), page.format(1100))).values()
    assert said[0].startswith("the tie 1 to 3 closes by more than the way (1000 m), was 1 in 5 (20 m)")


def test_a_station_moves_by_the_leg_that_was_read_anew_and_by_nothing_else():
    was, now = LOG.replace("138 52p", "138 25p"), LOG.replace("4.7 E", "9.7 E")
    found = difference(was, now)
    by_declination, by_leg = found.causes
    assert edit_words(by_declination.edits[0]).startswith("declination")
    assert edit_words(by_leg.edits[0]) == "leg 2–3: 138 52p -2, was 138 25p -2"
    assert by_leg.effect.turnings == ()
    # 27 double paces of 1.515 m, and what the adjustment of the loop, which closes then, takes of them.
    (third,) = [one for one in by_leg.effect.moves if one.station == "3"]
    assert third.distance_m == pytest.approx(27 * 1.515, abs=2.0)
    (closure,) = by_leg.effect.closures
    assert (closure.was.adjusted, closure.now.adjusted) == (False, True)
    whole = {one.station: one for one in found.whole.moves}
    for axis in ("east_m", "north_m"):
        parts = sum(
            getattr(one, axis) for cause in found.causes for one in cause.effect.moves if one.station == "3"
        )
        assert getattr(whole["3"], axis) == pytest.approx(parts, abs=1e-5)


def test_a_bed_read_anew_is_shown_with_what_it_was():
    found = difference(LOG, LOG.replace("bed   322/30", "bed   322/40"))
    (cause,) = found.causes
    assert edit_words(cause.edits[0]) == "bed at 1: 322/40, was 322/30"
    assert cause.edits[0].now_at.line == 15
    assert cause.effect.moves == cause.effect.turnings == ()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("  bed   319/33\n", "", "bed at 3, taken out: 319/33"),
        ("  rock  Shale\n", "  rock  Shale, dark\n", "rock at 3: Shale, dark, was Shale"),
        ("", "  note  path ends\n", "note at 3, new: path ends"),
        ("  rock  Shale\n", "  rock  Shale\n    | and thin sand\n", "rock at 3: Shale and thin sand, was Shale"),
        ("unit  Sh Reed Shale ; Jurassic\n", "unit  Sh Reed Shale ; Cretaceous\n", "unit: Sh Reed Shale ; Cretaceous, was Sh Reed Shale ; Jurassic"),
        ("along 31p\n", "along 40p\n", "along leg 1–2: 40p, was 31p"),
        ("JT Jon Tell", "JT Jon Teller", "party: MO Mara Olsen, JT Jon Teller, was MO Mara Olsen, JT Jon Tell"),
    ],
)  # fmt: skip
def test_every_line_that_says_another_thing_is_told(old, new, said):
    log = LOG.replace("  bed   319/33\n", "  bed   319/33\n  rock  Shale\n")
    if old:
        assert old in log
        now = log.replace(old, new, 1)
    else:
        now = log.replace("  rock  Shale\n", "  rock  Shale\n" + new)
    found = difference(log, now)
    edits = [*found.edits, *(edit for one in found.causes for edit in one.edits)]
    assert [edit_words(one) for one in edits] == [said]


def test_layout_comments_and_the_same_text_are_no_difference():
    same = difference(LOG, LOG)
    assert (same.none, same.same_text) == (True, True)
    laid = difference(
        LOG, LOG.replace("bed   322/30", "bed 322/30  # twice").replace("to 2  N47E", "to 2 N47E")
    )
    assert (laid.none, laid.same_text, laid.layout) == (True, False, True)


def test_blanks_within_a_reading_are_layout():
    loose = LOG.replace("138 52p -2", "138 52 p -2").replace("N47E", "N 47 E").replace("1 84p", "1 84 p")
    assert difference(LOG, loose).layout


def test_a_question_ends_with_its_mark_alone():
    assert sentence(["a warning gone: a reading to look at again?"]) == (
        "A warning gone: a reading to look at again?"
    )
    assert sentence(["one", "two"]) == "One; two."


def test_a_new_station_is_new_with_all_that_is_there():
    now = LOG + "\nat 2\nto 4  090 20p\n  bed 318/31\n  note ledge\n"
    found = difference(LOG, now)
    (cause,) = found.causes
    assert [edit.word for edit in cause.edits] == ["at", "to", "bed", "note"]
    assert cause.effect.new_stations == ("4",)
    back = difference(now, LOG)
    assert back.causes[0].effect.gone_stations == ("4",)


def test_a_contact_counted_anew_moves_on_its_leg_and_a_new_pace_moves_none():
    (along,) = difference(LOG, LOG.replace("along 31p", "along 40p")).causes
    (moved,) = along.effect.contacts
    assert moved.moved_m == pytest.approx(9 * 1.515, abs=0.2)
    assert moved.name == "contact Sh/Ss on leg 1–2"
    paced = difference(LOG, LOG.replace("65, 66, 66, 67", "60, 60, 60, 61"))
    assert all(one.effect.contacts == () for one in paced.causes)
    assert next(one.figure for one in paced.causes[0].effect.figures) is FigureOf.PACE


def test_another_rule_for_attitudes_is_one_cause():
    found = difference(LOG, LOG.replace("dip-right", "dip-left"))
    (cause,) = found.causes
    (turning,) = cause.effect.turnings
    assert abs(turning.clockwise_deg) == pytest.approx(180.0)
    assert "their dips to the other side" in " ".join(effect_words(cause.effect, found.lengths))


def test_what_only_the_used_file_says_otherwise_is_told_at_its_line():
    head = LOG.replace("declination 4.7 E, 2026, map margin\n", "use camp.trav\n")
    camp = "notation 1\ndeclination 4.7 E, 2026, map margin\n"
    found = difference(head, head, was={"camp.trav": camp}, now={"camp.trav": camp.replace("4.7", "6.7")})
    (cause,) = found.causes
    assert cause.edits[0].now_at[:2] == ("camp.trav", 2)
    assert cause.effect.turnings[0].clockwise_deg == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("rename", "said"),
    [
        (lambda log: re.sub(r"\bSh\b", "Rs", log), ("unit", "Sh", "Rs")),
        (lambda log: log.replace("to 2 ", "to 2a ").replace("at 2\n", "at 2a\n"), ("station", "2", "2a")),
    ],
)
def test_what_is_only_called_otherwise_is_told_once(rename, said):
    found = difference(LOG, rename(LOG))
    assert [(one.what, one.was, one.now) for one in found.renamings] == [said]
    assert (found.causes, found.edits, found.whole.empty) == ((), (), True)
    assert not found.none


def test_what_was_changed_besides_is_told_by_the_new_name():
    now = LOG.replace("to 2 ", "to 2a ").replace("at 2\n", "at 2a\n").replace("320/34", "320/44")
    found = difference(LOG, now)
    assert [one.now for one in found.renamings] == ["2a"]
    assert told(found).keys() == {"bed at 2a: 320/44, was 320/34"}


def test_another_leg_to_another_station_is_no_new_name():
    now = LOG.replace("to 2  N47E 64p +3 back 228", "to 9  N80E 50p -1").replace("at 2\n", "at 9\n")
    found = difference(LOG, now)
    assert found.renamings == ()
    assert found.whole.new_stations == ("9",)
    assert found.whole.gone_stations == ("2",)


def test_changes_that_make_sense_only_together_are_told_together():
    """A unit taken out with all that names it: no line can go without the others."""
    now = LOG.replace("unit  Sh Reed Shale ; Jurassic\n", "unit  Qs Scree ; Quaternary\n").replace("Sh", "Qs")
    found = difference(LOG, now)
    assert found.whole is not None
    edits = [edit for one in found.causes for edit in one.edits] + list(found.edits)
    assert sum(edit.kind is EditKind.HEADING for edit in edits) in {1, 2}


def test_of_a_log_with_errors_the_lines_are_compared_and_it_is_said_why_no_more():
    found = difference(LOG, LOG.replace("N47E", "N95E").replace("322/30", "322/31"))
    assert found.whole is None
    assert found.causes == ()
    assert [edit_words(one) for one in found.edits] == [
        "bed at 1: 322/31, was 322/30",
        "leg 1–2: N95E 64p +3 back 228, was N47E 64p +3 back 228",
    ]
    assert "new.trav has errors" in found.notes[0]


def test_a_line_that_cannot_be_read_stands_as_typed():
    found = difference(LOG, LOG.replace("bed   322/30", "bed   322//30"))
    assert [edit_words(one) for one in found.edits] == ["bed at 1: 322//30, was 322/30"]


def test_more_changes_than_are_worked_out_alone_are_told_by_kind():
    legs = "".join(f"to {n}  0{n} 50p\n  bed 3{n}/30\n" for n in range(10, 30))
    was = LOG.split("at 1\n", maxsplit=1)[0] + "at 9\n" + legs
    now = was.replace(" 50p", " 60p").replace("4.7 E", "5.7 E")
    found = difference(was, now)
    assert len(found.causes) == 2 < MOST_ALONE
    assert len(found.causes[1].edits) == 20


def test_grids_that_have_nothing_in_common_are_said_to_have_nothing():
    was = LOG.replace("at 1\n", "control 1 412350 E 5289020 N\n\nat 1\n", 1).replace(
        "bearings", "grid EPSG:25833\nbearings", 1
    )
    found = difference(LOG, was)
    assert found.whole.other_frame
    assert found.walks is None
    assert found.whole.moves == ()


def test_what_one_change_does_and_the_next_undoes_is_not_told():
    """On the way a loop may fail that both logs close."""
    was = LOG.replace("138 52p", "138 51p").replace("266 84p", "266 83p")
    found = difference(was, LOG)
    assert all(not one.effect.sayings for one in found.causes)


def test_a_camp_is_told_by_the_logs_that_it_brings_in():
    party = "notation 1\ntraverse A\nbearings true\nattitudes dip-right\ncontrol 1 400000 E 5000000 N\ngrid EPSG:25833\nat 1\nto 2 090 100m\n  bed 000/30\n"
    head = "notation 1\ntraverse Camp\ngrid EPSG:25833\nlog party-a.trav as A\n"
    found = difference(
        head, head, was={"party-a.trav": party}, now={"party-a.trav": party.replace("100m", "120m")}
    )
    (cause,) = found.causes
    assert cause.edits[0].now_at[:2] == ("party-a.trav", 8)
    assert [one.station for one in cause.effect.moves] == ["A-2"]
    assert cause.effect.moves[0].distance_m == pytest.approx(20.0, abs=0.02)


def test_heights_of_the_ground_that_are_others_are_a_change_without_a_line():
    log = LOG.replace("at 1\n", "control 1 412350 E 5289020 N\nterrain h.xyz\n\nat 1\n", 1).replace(
        "bearings", "grid EPSG:25833\nbearings", 1
    )

    def heights(up):
        return "".join(
            f"{412300 + 10 * i} {5288950 + 10 * j} {up + i}\n" for j in range(20) for i in range(30)
        )

    found = difference(log, log, was={"h.xyz": heights(100)}, now={"h.xyz": heights(100)})
    assert found.none
    found = difference(log, log, was={"h.xyz": heights(100)}, now={"h.xyz": heights(200)})
    words = [edit_words(edit) for one in (*found.causes, found) for edit in one.edits]
    assert words == ["h.xyz holds other figures"]
    both = difference(
        log, log.replace("322/30", "322/40"), was={"h.xyz": heights(100)}, now={"h.xyz": heights(200)}
    )
    assert "h.xyz holds other figures" not in [
        edit_words(edit) for one in both.causes for edit in one.edits if edit.word == "bed"
    ]


@pytest.fixture
def days(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "old.trav").write_text(LOG.replace("4.7 E", "5.7 E"), encoding="utf-8")
    (tmp_path / "new.trav").write_text(LOG, encoding="utf-8")
    return tmp_path


def test_exit_status_is_that_of_version_control(days, capsys):
    assert main(["diff", "old.trav", "new.trav"]) == 0
    assert main(["diff", "--exit-code", "old.trav", "new.trav"]) == 1
    assert main(["diff", "--exit-code", "new.trav", "new.trav"]) == 0
    (days / "bad.trav").write_text(LOG.replace("N47E", "N95E"), encoding="utf-8")
    assert main(["diff", "bad.trav", "new.trav"]) == 1
    said = capsys.readouterr()
    assert "N95E: a quadrant angle is 0 to 90" in said.err
    assert "Line 17, leg 1–2: N47E 64p +3 back 228, was N95E 64p +3 back 228" in said.out


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["new.trav"], "name two"),
        (["new.trav", "old.trav", "new.trav"], "name two"),
        (["-", "-"], "not two"),
        (["nothing.trav", "new.trav"], "can't be read"),
        (["new.trav", "old.trav", "-o", "a.txt"], "ends in .pdf"),
        (["new.trav", "old.trav", "-o", "new.trav"], "ends in .pdf"),
        (["", "new.trav"], "an empty name"),
    ],
)
def test_wrong_use_is_told(days, capsys, given, said):
    assert main(["diff", *given]) == 2
    assert said in capsys.readouterr().err


def test_the_json_holds_what_is_said_and_the_figures_of_it(days, capsys):
    assert main(["diff", "old.trav", "new.trav", "--to", "json"]) == 0
    body = json.loads(capsys.readouterr().out)
    assert body["difference"] == 1
    (cause,) = body["causes"]
    assert cause["edits"][0]["now_at"] == {"file": "new.trav", "line": 6}
    assert cause["attitudes"] == [
        {"stations": ["1", "2", "3"], "clockwise": -1.0, "apart": pytest.approx(0.57, abs=0.1)}
    ]
    assert "3 attitudes at 1, 2 and 3 turned 1° counter-clockwise" in cause["words"]
    assert body["same"] is False
    page = (Path(__file__).parents[2] / "grammar" / "versions.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `([\w`, ]+)` \| (.+) \|$", page, flags=re.MULTILINE))
    assert set(body) == {key for keys in rows for key in keys.split("`, `")}
    assert set(rows["causes"].partition(":")[0].split(", ")) == set(cause)
    assert set(rows["edits"].partition(": ")[2].split(", ")) == set(cause["edits"][0])
    assert set(cause) - set(body["whole"]) == {"edits"}


def test_nothing_that_moves_a_cursor_reaches_a_pager(days, capsys):
    (days / "esc.trav").write_text(LOG + "note \x1b[31mred\x1b[0m\n", encoding="utf-8")
    assert main(["diff", "new.trav", "esc.trav"]) in {0, 1}
    assert "\x1b" not in capsys.readouterr().out


def test_no_text_is_no_log(days, capsys):
    (days / "b.trav").write_bytes(b"\xff\xfe\x00\x01")
    assert main(["diff", "b.trav", "new.trav"]) == 1
    assert "is no text" in capsys.readouterr().err
