"""A log that brings in others: names, units, shared places, rulings, and what goes wrong with them."""

import random

import pytest

from traverse.diagnostic import Severity
from traverse.log.items import Sight
from traverse.log.readings import Convention, North, Unit
from traverse.notation.read import read_log
from traverse.notation.tidy_text import tidy
from traverse.source import Source

A = """notation 1
traverse    Ilvane Valley, north side
date        2026-06-20
party       MO Mara Olsen, JT Jon Tell
grid        EPSG:25833
bearings    magnetic
declination 4.7 E, 2026, map margin
attitudes   dip-right
pace        JT double 100 m in 65, 66, 66, 67
control     Cairn 412350 E 4289020 N ±4 640 m ±5 gps

unit  Sh Reed Shale ; Jurassic
unit  Lt Larder Limestone ; Triassic

at Cairn
  unit  Lt
to 2  N47E 64p +3 back 228
along 31p
  contact Sh/Lt certain
at 2
  unit  Sh
  sample S1 grey
to 3  138 52p -2
at 3
  unit  Sh
  bed   300/28
  sight Horn 020
"""
B = """notation 1
traverse    Ilvane Valley, south side
date        2026-06-19
party       KB Kari Brun, MO Mons Orr
bearings    true
attitudes   dip-direction
distances   feet

unit  Rs Reed Shale ; Jurassic
unit  Ls Larder Limestone ; Triassic

at 1
  unit  Rs
  bed   050/31
to 2  143 200 -2
at 2
  unit  Rs
  sample S1 brown
  sight Horn 010
to 3  215 240
along 100
  contact Rs/Ls approximate
at 3
  unit  Ls
"""
CAMP = """notation 1
traverse Ilvane Valley, two parties
grid EPSG:25833
log  party-a.trav as A
log  party-b.trav as B
tie  A-3 to B-1
unit Sh Reed Shale ; Jurassic ; also B-Rs
unit Lt Larder Limestone ; Triassic ; also B-Ls
"""
PARTIES = {"party-a.trav": A, "party-b.trav": B}


def camp(text, files):
    def load(path):
        if path not in files:
            raise FileNotFoundError(path)
        return files[path].encode()

    return read_log(Source(name="camp.trav", text=text), load=load)


def told(text, files=PARTIES, severity=Severity.ERROR):
    return [
        (one.code, one.span.file, one.span.line)
        for one in camp(text, files).diagnostics
        if one.severity is severity
    ]


@pytest.fixture(scope="module")
def log():
    outcome = camp(CAMP, PARTIES)
    assert [one for one in outcome.diagnostics if one.severity is Severity.ERROR] == []
    return outcome.value.log


def test_names_get_the_letters_of_their_party(log):
    assert log.stations == ("A-Cairn", "A-2", "A-3", "B-1", "B-2", "B-3")
    assert [(leg.start, leg.end) for leg in log.legs] == [
        ("A-Cairn", "A-2"),
        ("A-2", "A-3"),
        ("B-1", "B-2"),
        ("B-2", "B-3"),
    ]
    assert [leg.index for leg in log.legs] == [0, 1, 2, 3]
    assert [one.index for one in log.addresses] == list(range(len(log.addresses)))
    assert all(item.address is log.addresses[item.address.index] for item in log.items)
    assert [log.party_of(name) for name in log.stations] == [0, 0, 0, 1, 1, 1]


def test_each_leg_keeps_the_heading_of_its_log(log):
    first, last = log.legs[0].conditions, log.legs[-1].conditions
    assert (first.bearings, last.bearings) == (North.MAGNETIC, North.TRUE)
    assert (first.convention, last.convention) == (Convention.DIP_RIGHT, Convention.DIP_DIRECTION)
    assert first.declination.value_deg == 4.7
    assert last.declination is None
    assert log.legs[-1].distance.unit is Unit.FEET
    assert first.pace.who == "JT"


def test_spans_point_into_the_file_of_the_party(log):
    assert [(leg.span.file, leg.span.line) for leg in log.legs] == [
        ("party-a.trav", 17),
        ("party-a.trav", 23),
        ("party-b.trav", 15),
        ("party-b.trav", 20),
    ]


def test_units_are_matched_by_name_or_by_also(log):
    assert [unit.letters for unit in log.units] == ["Sh", "Lt"]
    assert {item.letters for item in log.items if hasattr(item, "letters")} == {"Sh", "Lt"}
    assert [(one.younger, one.older) for one in log.items if hasattr(one, "younger")] == [("Sh", "Lt")] * 2


def test_labels_and_initials_get_letters_only_where_they_clash(log):
    assert [item.label for item in log.items if hasattr(item, "label")] == ["A-S1", "B-S1"]
    assert [one.initials for one in log.heading.party] == ["A-MO", "JT", "KB", "B-MO"]
    other = camp(CAMP, {**PARTIES, "party-b.trav": B.replace("S1", "S2")}).value.log
    assert [item.label for item in other.items if hasattr(item, "label")] == ["S1", "S2"]


def test_a_landmark_of_both_is_one(log):
    assert {item.target for item in log.items if hasattr(item, "target")} == {"Horn"}


def test_the_heading_is_filled_from_the_logs(log):
    assert [day.date.day for day in log.heading.days] == [19, 20]
    assert log.heading.epsg == 25833
    assert [(one.letters, one.file, one.feet) for one in log.parties] == [
        ("A", "party-a.trav", False),
        ("B", "party-b.trav", True),
    ]


@pytest.mark.parametrize(
    ("theirs", "asked"),
    [
        ("Rs Reed Shale", True),
        ("Rs Reed Sh.", True),
        ("Rs Reedy Slate", False),
        ("Rs Upper Reed Shale", False),
    ],
)
def test_a_unit_of_a_like_name_that_nothing_joins_is_asked_about(theirs, asked):
    """By the words that would join it; `also` then answers it."""
    text = CAMP.replace(" ; also B-Rs", "")
    below = text.partition("unit Sh")[0]
    files = {**PARTIES, "party-b.trav": B.replace("Rs Reed Shale", theirs)}
    found = [one for one in camp(text, files).diagnostics if one.code == "unit-names-alike"]
    assert [(one.span.file, one.span.line) for one in found] == [("party-b.trav", 9)] * asked
    if asked:
        assert found[0].hints[0].startswith("`also B-Rs` on that `unit` line if")
        unlisted = [one for one in camp(below, files).diagnostics if one.code == "unit-names-alike"]
        typed = unlisted[0].hints[0].split("`")[1]
        assert typed == "unit Sh Reed Shale ; Jurassic ; also B-Rs"
        rest = [
            one.hints[0]
            for one in camp(f"{below}{typed}\n", files).diagnostics
            if one.code == "unit-names-alike"
        ]
        assert not any("B-Rs" in hint for hint in rest)


def test_a_control_with_the_same_figures_is_one_place_and_one_fix():
    line = "control     Cairn 412350 E 4289020 N ±4 640 m ±5 gps\n"
    b = B.replace("distances", line + "distances").replace("at 1\n", "at Cairn\n")
    text = CAMP.replace("tie  A-3 to B-1\n", "")
    log = camp(text, {**PARTIES, "party-b.trav": b}).value.log
    assert [one.name for one in log.controls] == ["Cairn"]
    assert log.stations == ("Cairn", "A-2", "A-3", "B-2", "B-3")
    other = {**PARTIES, "party-b.trav": b.replace("412350", "412450")}
    assert [one.name for one in camp(text, other).value.log.controls] == ["A-Cairn", "B-Cairn"]
    # Of two logs nothing says which is wrong: told where the later one is brought in.
    assert told(text, other, Severity.WARNING) == [("control-differs", "camp.trav", 5)]


@pytest.mark.parametrize(
    ("theirs", "names"),
    [
        ("412357 E 4289024 N ±4 647 m ±5", ["Cairn", "Cairn"]),
        ("412357 E 4289024 N ±4 700 m ±5", ["A-Cairn", "B-Cairn"]),
        ("412357 E 4289024 N 647 m", ["Cairn", "Cairn"]),
        ("412370 E 4289024 N 647 m", ["A-Cairn", "B-Cairn"]),
        ("38.74 N 16.0 E ±4 640 m ±5", ["A-Cairn", "B-Cairn"]),
    ],
)
def test_fixes_of_one_name_that_agree_within_what_they_state_are_one_place(theirs, names):
    """8 m apart, of 5.7 m by both errors, and 7 m of 7.1 m in height: each fix counts. One without error is held against the other's."""
    b = B.replace("distances", f"control Cairn {theirs} gps\ndistances").replace("at 1\n", "at Cairn\n")
    b = b.replace("feet", "metres").replace("bearings ", "grid EPSG:25833\nbearings ")
    text = CAMP.replace("tie  A-3 to B-1\n", "")
    files = {"party-a.trav": A, "party-b.trav": b}
    log = camp(text, files).value.log
    assert [one.name for one in log.controls] == names
    wanted = [] if names[0] == names[1] else [("control-differs", "camp.trav")]
    assert [one[:2] for one in told(text, files, Severity.WARNING) if one[0] == "control-differs"] == wanted


def test_figures_of_a_known_point_that_most_logs_have_are_the_ones_it_is_held_against():
    """C and B have one figure, A another: A's line is told, although it is read first."""
    line = "control     Cairn 412450 E 4289020 N ±4 640 m ±5 gps\n"
    b = B.replace("distances", line + "distances").replace("at 1\n", "at Cairn\n")
    text = CAMP.replace("tie  A-3 to B-1\n", "").replace(
        "log  party-b.trav as B\n", "log  party-b.trav as B\nlog  party-c.trav as C\n"
    )
    found = camp(text, {**PARTIES, "party-b.trav": b, "party-c.trav": b + "# another page\n"}).diagnostics
    (one,) = [one for one in found if one.code == "control-differs"]
    assert one.span.file == "party-a.trav"
    assert "in party-b.trav, line 7 and in 1 other log" in one.message


def differing(other, *rows):
    """A camp of two logs with a known point Cairn of one name and other figures, and rows of its own."""
    line = "control     Cairn 412450 E 4289020 N ±4 640 m ±5 gps\n"
    b = B.replace("distances", line + "distances").replace("at 1\n", "at Cairn\n")
    text = CAMP.replace("tie  A-3 to B-1\n", "".join(f"{row}\n" for row in rows))
    return text + other, {**PARTIES, "party-b.trav": b}


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("tie B-Cairn to Cairn", ("B-Cairn", "A-Cairn")),
        ("tie A-Cairn to Cairn", ("A-Cairn", "B-Cairn")),
        ("tie Cairn to B-3", ("A-Cairn", "B-3")),
    ],
)
def test_a_known_point_whose_figures_differ_keeps_the_camp_from_nothing(typed, meant):
    """What the camp file calls by the one name is a place where two stood, whatever its figures."""
    text, files = differing("", typed)
    assert [(tie.first, tie.second) for tie in camp(text, files).value.log.ties] == [meant]
    assert not told(text, files)
    section = "section A-A' from Cairn to A-3\n"
    ruled = "ruling Cairn unit Sh HG 2026-06-21 seen again\n"
    log = camp(*differing(section + ruled, typed)).value.log
    assert [one.stations for one in log.sections] == [("A-Cairn", "A-3")]
    assert [one.station for one in log.rulings] == ["A-Cairn"]


def test_a_ruling_names_a_shared_known_point_as_its_party_does():
    line = "control     Cairn 412350 E 4289020 N ±4 640 m ±5 gps\n"
    b = B.replace("distances", line + "distances").replace("at 1\n", "at Cairn\n")
    text = CAMP.replace("tie  A-3 to B-1\n", "") + "ruling B-Cairn bed 060/31 HG 2026-06-21 read again\n"
    log = camp(text, {**PARTIES, "party-b.trav": b}).value.log
    assert [one.station for one in log.rulings] == ["Cairn"]
    # Read as B writes attitudes, by dip direction.
    assert [item.readings[0].strike_deg for item in log.items if hasattr(item, "readings")][-1] == 330.0


def test_of_a_known_point_that_no_log_taking_part_has_nothing_is_tied():
    text, files = differing("", "tie A-3 to B-3", "tie A-2 to Cairn")
    broken = {name: f"{log}to 4 999 3p\n" for name, log in files.items()}
    outcome = camp(text, {**files, "party-b.trav": broken["party-b.trav"]})
    assert [one.code for one in outcome.diagnostics if one.severity is Severity.ERROR and one.span.file == "camp.trav"] == []  # fmt: skip
    assert [(tie.first, tie.second) for tie in outcome.value.log.ties] == [("A-2", "A-Cairn")]
    both = camp(text, broken)
    assert [one.code for one in both.diagnostics if one.severity is Severity.ERROR and one.span.file == "camp.trav"] == []  # fmt: skip


def test_a_tie_in_the_log_of_a_party_joins_it():
    b = B + "tie 1 to A-3\n"
    log = camp(CAMP.replace("tie  A-3 to B-1\n", ""), {**PARTIES, "party-b.trav": b}).value.log
    assert [(tie.first, tie.second) for tie in log.ties] == [("B-1", "A-3")]


def test_days_of_one_party_keep_names_and_numbers_go_on():
    second = A[: A.index("at Cairn")] + "at 3\nto 4 200 40p\n  sample S2\nclose Cairn 290 58p\n"
    files = {"one.trav": A, "sub/two.trav": second}
    text = "notation 1\ntraverse Two days\nlog one.trav\nlog sub/two.trav\nsection A-A' from Cairn to 4\n"
    log = camp(text, files).value.log
    assert told(text, files) == []
    assert log.stations == ("Cairn", "2", "3", "4")
    assert [one.name for one in log.controls] == ["Cairn"]
    assert [unit.letters for unit in log.units] == ["Sh", "Lt"]
    taken = {**files, "sub/two.trav": second.replace("to 4", "to 2").replace("S2", "S1")}
    outcome = camp(text, taken)
    assert [one.message for one in outcome.diagnostics if one.severity is Severity.ERROR][:1] == [
        "station 2 exists (one.trav, line 17)"
    ]


def test_use_in_a_party_s_folder_is_sought_there():
    units = "notation 1\nunit Sh Reed Shale ; Jurassic\nunit Lt Larder Limestone ; Triassic\n"
    a = A.replace(
        "unit  Sh Reed Shale ; Jurassic\nunit  Lt Larder Limestone ; Triassic\n", "use units.trav\n"
    )
    files = {"a/party.trav": a, "a/units.trav": units}
    text = "notation 1\nlog a/party.trav as A\n"
    assert told(text, files) == []
    assert told(text, {**files, "a/units.trav": "notation 1\nunit Sh\n"})[0][1:] == ("a/units.trav", 2)
    assert told(text.replace("a/", "b/"), {"b/party.trav": a})[0] == ("use-missing", "b/party.trav", 12)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (CAMP + "log party-c.trav as a\n", ("letters-taken", "camp.trav", 9)),
        (CAMP + "log party-a.trav as C\n", ("log-twice", "camp.trav", 9)),
        (CAMP + "log linked.trav as C\n", ("log-twice", "camp.trav", 9)),
        (CAMP + "log gone.trav as C\n", ("log-missing", "camp.trav", 9)),
        (CAMP + "log camp.trav as C\n", ("log-circle", "camp.trav", 9)),
        (CAMP + "tie A-33 to B-2\n", ("unknown-station", "camp.trav", 9)),
        (CAMP + "section A-A' from A-2 to B-33\n", ("unknown-station", "camp.trav", 9)),
        (CAMP.replace("tie  A-3 to B-1\n", ""), ("loose-piece", "party-b.trav", 12)),
        (CAMP.replace(" ; also B-Rs", "").replace("Sh Reed", "Rs Red"), ("two-meanings", "party-b.trav", 9)),
        (CAMP.replace("25833", "25832"), ("two-grids", "party-a.trav", 5)),
        ("notation 1\nuse c.trav\n" + CAMP[11:], ("used-file", "c.trav", 2)),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_once_where_it_stands(text, expected):
    files = {**PARTIES, "party-c.trav": B, "linked.trav": A, "c.trav": "notation 1\nlog party-c.trav as D\n"}
    assert told(text, files) == [expected]


def test_logs_that_bring_in_each_other_are_refused():
    files = {"a.trav": "notation 1\nlog b.trav\n", "b.trav": "notation 1\nlog a.trav\nat 1\n"}
    assert told("notation 1\nlog a.trav as A\n", files) == [("log-circle", "b.trav", 2)]


def test_a_log_with_errors_is_told_of_and_the_rest_goes_on():
    files = {**PARTIES, "party-b.trav": B.replace("143 200", "N95E 200")}
    outcome = camp(CAMP, files)
    found = {(one.span.file, one.severity) for one in outcome.diagnostics}
    assert found == {("camp.trav", Severity.WARNING), ("party-b.trav", Severity.ERROR)}
    (said,) = [one for one in outcome.diagnostics if one.code == "log-left-out"]
    assert said.message == "party-b.trav has 1 error and takes no part; the rest goes on without it"
    assert outcome.value.left_out >= {"party-b.trav"}
    assert outcome.value.log.stations == ("A-Cairn", "A-2", "A-3")
    assert outcome.value.log.ties == ()


def test_a_ruling_counts_and_what_it_settles_is_struck_out():
    ruling = "ruling A-3 bed 319/30 HG 2026-06-21 read again, the other was a joint\n"
    log = camp(CAMP + ruling, PARTIES).value.log
    (bed,) = [item for item in log.items if hasattr(item, "readings")]
    assert (bed.address.station, bed.written, bed.span.file) == ("A-3", "319/30", "camp.trav")
    assert bed.readings[0].strike_deg == 319.0  # as A writes it: the camp file does not say
    assert bed.conditions.bearings is North.MAGNETIC
    (one,) = log.rulings
    assert (one.who, one.date.isoformat(), one.why) == (
        "HG",
        "2026-06-21",
        "read again, the other was a joint",
    )
    assert one.instead_of == ("bed 300/28 at A-3", "bed 050/31 at B-1")  # tied: one place
    assert [omitted.written for omitted in log.omitted] == ["bed 300/28", "bed 050/31"]
    with_error = CAMP.replace("B-1\n", "B-1 ±3 m\n")
    assert camp(with_error + ruling, PARTIES).value.log.rulings[0].instead_of == ("bed 300/28 at A-3",)


def test_a_fault_between_units_goes_by_the_order_of_the_camp():
    b = B.replace("contact Rs/Ls approximate", "fault Ls/Rs certain").replace(
        "unit  Rs Reed Shale ; Jurassic\nunit  Ls Larder Limestone ; Triassic\n",
        "unit  Ls Larder Limestone ; Triassic\nunit  Rs Reed Shale ; Jurassic\n",
    )
    log = camp(CAMP, {**PARTIES, "party-b.trav": b}).value.log
    assert [(one.younger, one.older) for one in log.items if hasattr(one, "younger")][1:] == [("Sh", "Lt")]


def test_a_contact_within_what_is_one_unit_here_is_asked_about_and_counts_for_nothing():
    b = B.replace("Rs/Ls", "Rs/Qs").replace("unit  Ls Lar", "unit  Qs Quarry Shale ; Jurassic\nunit  Ls Lar")
    text = CAMP.replace("also B-Rs", "also B-Rs, B-Qs")
    files = {**PARTIES, "party-b.trav": b}
    assert told(text, files, Severity.WARNING) == [("contact-within", "party-b.trav", 23)]
    assert len([one for one in camp(text, files).value.log.items if hasattr(one, "younger")]) == 1


def test_tidy_lays_out_a_camp_file_without_its_logs():
    text = CAMP + "\nruling A-3 bed 319/30 HG 2026-06-21 read again, the other was a joint\n"
    outcome = tidy(Source(name="camp.trav", text=text))
    assert outcome.diagnostics == ()
    assert "log party-a.trav as A\n" in outcome.value


def test_camps_bring_in_camps():
    files = {f"n/{name}": text for name, text in PARTIES.items()}
    files["n/camp.trav"] = CAMP
    log = camp("notation 1\nlog n/camp.trav as N\n", files).value.log
    assert log.stations == ("N-A-Cairn", "N-A-2", "N-A-3", "N-B-1", "N-B-2", "N-B-3")
    assert [item.label for item in log.items if hasattr(item, "label")] == ["A-S1", "B-S1"]


@pytest.mark.parametrize("seed", range(40))
def test_no_camp_file_stops_the_reader(seed):
    """Lines exchanged, cut and doubled: errors, never a traceback."""
    rng = random.Random(seed)  # noqa: S311
    rows = [
        *CAMP.splitlines(),
        "ruling A-3 bed 319/30 HG 2026-06-21 why",
        "ruling B-1 unit Sh HG 2026-06-21 why",
    ]
    head, body = rows[:1], rows[1:]
    rng.shuffle(body)
    body = [row[: rng.randrange(len(row) + 1)] if rng.random() < 0.2 else row for row in body]
    a, b = (text.splitlines() for text in (A, B))
    for text in (a, b):
        for _ in range(rng.randrange(3)):
            del text[rng.randrange(1, len(text))]
    files = {"party-a.trav": "\n".join(a), "party-b.trav": "\n".join(b)}
    outcome = camp("\n".join([*head, *body, rng.choice(body)]), files)
    assert all(one.hints for one in outcome.diagnostics if one.severity is Severity.ERROR)


def test_a_party_that_is_left_out_renames_no_control_that_it_shares():
    """The camp file is right with it, and must stay so without it, or with an error in its log."""
    other = B.replace("at 1\n", "control Cairn 412350 E 4289020 N ±4 640 m ±5 gps\n\nat Cairn\n", 1)
    third = A.replace("at Cairn", "at 1").replace("control     Cairn", "control     Tor")
    camp = """notation 1
traverse Ilvane Valley, three parties
grid EPSG:25833
log  party-a.trav as A
log  party-b.trav as B
log  party-c.trav as C
tie  Cairn to C-1
"""
    files = {"party-a.trav": A, "party-b.trav": other, "party-c.trav": third}
    for logs, aside in (
        (files, ()),
        (files, ("party-a.trav",)),
        ({**files, "party-a.trav": f"{A}to 4 999 3p\n"}, ()),
    ):
        found = read_log(
            Source(name="camp.trav", text=camp),
            load=lambda path, logs=logs: logs[path].encode(),
            aside=frozenset(aside),
        )
        assert [one for one in found.diagnostics if one.code == "unknown-station"] == []
        assert "Cairn" in found.value.log.stations


def test_a_party_that_is_left_out_renames_no_landmark_that_it_sighted_too():
    files = {"party-a.trav": A, "party-b.trav": f"{B}at 1\nsight Horn 311\n"}
    for logs, aside in (
        (files, ()),
        (files, ("party-b.trav",)),
        ({**files, "party-b.trav": f"{files['party-b.trav']}to 4 999 3p\n"}, ()),
    ):
        found = read_log(
            Source(name="camp.trav", text=CAMP),
            load=lambda path, logs=logs: logs[path].encode(),
            aside=frozenset(aside),
        )
        targets = [item.target for item in found.value.log.items if isinstance(item, Sight)]
        assert targets
        assert set(targets) == {"Horn"}
