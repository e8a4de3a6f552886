"""What goes wrong outside the log: streams that end, files in the way, a fault of the program itself."""

import errno
import io
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests import called
from traverse.__main__ import main
from traverse.command.files import LogFiles

LOG = "notation 1\nbearings true\nat 1\nto 2 090 50m\nto 3 180 50m\nclose 1 315 71m\n"
WRONG = LOG.replace("090", "N95E")


@pytest.fixture
def day(tmp_path):
    (tmp_path / "day.trav").write_text(LOG)
    return tmp_path / "day.trav"


def process(*arguments, **options):
    return subprocess.run(
        [sys.executable, "-m", "traverse", *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
        **options,
    )


def run(*arguments, cwd=None):
    """As `process`, within this one."""
    done = called.traverse(*arguments, cwd=cwd)
    return subprocess.CompletedProcess(arguments, done.returncode, done.stdout.decode(), done.stderr.decode())


def shell(line, folder):
    return subprocess.run(["bash", "-c", line], cwd=folder, capture_output=True, text=True, check=False)


def test_a_fault_of_the_program_has_its_own_status_and_one_sentence(day, monkeypatch, capsys):
    def breaks(*_, **__):
        raise ZeroDivisionError("float division by zero")

    monkeypatch.setattr("traverse.command.export.compile_log", breaks)
    assert main(["export", str(day), "--to", "json"]) == 3
    told = capsys.readouterr().err
    assert "Traceback" not in told
    assert "a fault of this program, not of your page (ZeroDivisionError: float division by zero)" in told
    details = Path(told.rsplit(" ", 1)[1].strip())
    assert "ZeroDivisionError" in details.read_text()
    details.unlink()


def test_a_fault_at_one_log_does_not_end_the_others(day, monkeypatch, capsys):
    from traverse.command import drawing

    real = drawing.compile_log

    def breaks(source, **options):
        if "first" in source.name:
            raise RecursionError
        return real(source, **options)

    first = day.with_name("first.trav")
    first.write_text(LOG)
    monkeypatch.setattr(drawing, "compile_log", breaks)
    assert main(["sheet", str(first), str(day)]) == 3
    assert not first.with_suffix(".pdf").exists()
    assert day.with_suffix(".pdf").exists()
    assert "first.trav: a fault of this program" in capsys.readouterr().err


class FullDisk(io.StringIO):
    """A stream that takes nothing more, in a file of its own."""

    def __init__(self, file):
        super().__init__()
        self.file = file

    def fileno(self):
        return self.file.fileno()

    def write(self, text):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.mark.parametrize(
    "arguments", [("check",), ("export", "--to", "csv", "--table", "legs"), ("tidy", "--check")]
)
def test_a_full_output_is_said_and_no_fault(day, monkeypatch, capsys, arguments):
    if arguments[0] == "tidy":
        day.write_text(LOG.replace("to 2 ", "to 2      "))
    with day.with_name("out").open("w") as file:
        full = FullDisk(file)
        full.buffer = full
        monkeypatch.setattr(sys, "stdout", full)
        assert main([arguments[0], str(day), *arguments[1:]]) == 2
    told = capsys.readouterr().err.splitlines()
    assert told[-1] == f"traverse: standard output: can't be written: {os.strerror(errno.ENOSPC)}"
    assert "fault of this program" not in " ".join(told)


def test_a_pipe_that_ends_keeps_the_status(day):
    day.write_text(WRONG)
    found = shell(f"{sys.executable} -m traverse check day.trav | true; echo ${{PIPESTATUS[0]}}", day.parent)
    assert found.stdout.strip() == "1"


@pytest.mark.every(2)
@pytest.mark.parametrize(("closed", "status"), [(">&-", "2"), ("2>&-", "0"), (">&- 2>&-", "2")])
def test_closed_streams_are_no_fault(day, closed, status):
    """What is asked for has nowhere to go where stdout is closed."""
    found = shell(f"{sys.executable} -m traverse check day.trav {closed}; echo $? >status", day.parent)
    assert (day.parent / "status").read_text().strip() == status
    assert "Traceback" not in found.stderr


@pytest.mark.parametrize(
    "name",
    ["x" * 400 + ".trav", "loop.trav", "folder.trav", b"caf\xe9.trav".decode("utf-8", "surrogateescape")],
)
@pytest.mark.parametrize("command", ["check", "sheet", "export", "tidy"])
def test_names_that_lead_nowhere_are_said(tmp_path, name, command):
    if name == "loop.trav":
        (tmp_path / name).symlink_to("loop.trav")
    if name == "folder.trav":
        (tmp_path / name).mkdir()
    more = ("--to", "json") if command == "export" else ()
    found = called.traverse(command, tmp_path / name, *more)
    assert found.returncode == 2
    assert b"Traceback" not in found.stderr
    assert found.stderr.count(b"\n") == 1


def test_nothing_that_was_read_is_replaced(tmp_path, capsys):
    camp, day = tmp_path / "camp.txt", tmp_path / "day.trav"
    camp.write_text("notation 1\nunit Ss Pike Sandstone ; Triassic\n")
    day.write_text(LOG.replace("at 1", "use camp.txt\nat 1"))
    before = camp.read_bytes(), day.read_bytes()
    for way in (["json"], ["csv", "--table", "legs"]):
        assert main(["export", str(day), "--to", *way, "-o", str(camp)]) == 2
        assert "is what the log was read from; give it another name" in capsys.readouterr().err
    assert main(["export", str(day), "--to", "json", "-o", str(day)]) == 2
    assert main(["sheet", str(day), "-o", str(day)]) == 2
    assert (camp.read_bytes(), day.read_bytes()) == before


def test_two_logs_of_one_name_do_not_share_a_sheet(day, capsys):
    other = day.with_suffix(".txt")
    other.write_text(LOG)
    assert main(["sheet", str(day), str(other)]) == 2
    assert "would both make" in capsys.readouterr().err
    assert not day.with_suffix(".pdf").exists()


def test_a_log_from_a_pipe_that_uses_a_file_of_its_name_is_whole_in_its_sheet(tmp_path):
    (tmp_path / "log.trav").write_text("notation 1\nunit Ss Pike Sandstone ; Triassic\n")
    log = LOG.replace("at 1", "use log.trav\nat 1")
    found = subprocess.run(
        [sys.executable, "-m", "traverse", "sheet", "-", "-o", "out.pdf"],
        cwd=tmp_path,
        input=log.encode(),
        check=False,
    )
    assert found.returncode == 0
    assert main(["extract", str(tmp_path / "out.pdf"), "-o", str(tmp_path / "back")]) == 0
    assert {file.read_text() for file in (tmp_path / "back").iterdir()} == {
        log,
        "notation 1\nunit Ss Pike Sandstone ; Triassic\n",
    }


def test_what_a_killed_run_left_is_swept(day):
    left = day.with_name(".day.pdf-abc123.tmp")
    left.write_bytes(b"half")
    os.utime(left, (0, 0))
    other = day.with_name(".other.pdf-abc123.tmp")
    other.write_bytes(b"half")
    assert main(["sheet", str(day)]) == 0
    assert not left.exists()
    assert other.exists()


def test_tables_are_written_together_or_not_at_all(day, capsys):
    folder = day.with_name("tables")
    folder.mkdir()
    (folder / "notes.csv").mkdir()
    assert main(["export", str(day), "--to", "csv", "-o", str(folder)]) == 2
    assert "is a folder" in capsys.readouterr().err
    assert [one.name for one in folder.iterdir()] == ["notes.csv"]


def test_a_pipe_that_nobody_writes_to_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "day.trav")
    found = process("check", tmp_path / "day.trav", timeout=20)
    assert found.returncode == 2
    assert "is a pipe" in found.stderr


@pytest.mark.parametrize(
    ("to", "words"),
    [("gone.trav", "a link to gone.trav, where no file is"), ("../gone.trav", "a link leads out")],
)
def test_a_link_that_leads_nowhere_is_not_called_missing(tmp_path, to, words):
    (tmp_path / "dead.trav").symlink_to(to)
    with pytest.raises(OSError, match=words):
        LogFiles(str(tmp_path / "day.trav")).load("dead.trav")


@pytest.mark.parametrize(
    "line",
    ["controls loop.csv ±5 gps", "use loop.csv", "terrain loop.csv", "log loop.csv as B"],
)
def test_a_link_to_itself_is_told_at_the_line_that_names_it(tmp_path, line):
    (tmp_path / "loop.csv").symlink_to("loop.csv")
    log = tmp_path / "day.trav"
    bearing = "090" if line.startswith("terrain") else "400"
    log.write_text(
        f"notation 1\ntraverse Lannock Edge\n{line}\nbearings true\nat 1\nto 2 {bearing} 100m level\n",
        encoding="utf-8",
    )
    found = run("check", log)
    assert found.returncode == 1
    assert ":3:" in found.stderr
    assert "loop.csv can't be read: a link that leads back to itself" in found.stderr
    # What else is wrong is told as well; heights are read once the page is free of errors.
    assert (":6:" in found.stderr) == (not line.startswith("terrain"))
    assert "Traceback" not in found.stderr


def test_a_sheet_goes_to_a_pipe_by_its_path_and_to_what_a_link_points_to(day):
    found = shell(
        f"{sys.executable} -m traverse export day.trav --to json -o /dev/stdout | head -c 1; ln -s real.json link.json; "
        f"{sys.executable} -m traverse export day.trav --to json -o link.json",
        day.parent,
    )
    assert (found.stdout, found.stderr) == ("{", "")
    assert (day.parent / "link.json").is_symlink()
    assert (day.parent / "real.json").read_text().startswith("{")


def test_of_thousands_of_mistakes_the_first_hundred_are_told_and_the_rest_counted(tmp_path, capsys):
    (tmp_path / "day.trav").write_text(LOG + "blah\n" * 5000)
    assert main(["check", str(tmp_path / "day.trav")]) == 1
    told = capsys.readouterr()
    assert told.err.count("can't be\n") == 100
    assert "and more of the kind: 901 errors" in told.err


COMMANDS = (
    *(["check"], ["sheet"], ["tidy"], ["net"], ["section"], ["form"], ["extract"], ["new"]),
    *(["export", "--to", "json"], ["export", "--to", "csv"], ["sheet", "--blank"]),
    ["exercise", "-o", "copies"],
)


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
@pytest.mark.parametrize("name", ["", ".", "..", "sub"])
def test_a_folder_or_nothing_in_place_of_a_file_is_wrong_use(command, name, tmp_path, monkeypatch, capsys):
    (tmp_path / "sub").mkdir()
    monkeypatch.chdir(tmp_path / "sub" if name == ".." else tmp_path)
    assert main([*command, name]) == 2
    told = capsys.readouterr().err
    assert ("empty name" if not name else f"traverse: {name}: is ") in told
    assert told.count("\n") == 1


@pytest.mark.parametrize(
    "command", [one for one in COMMANDS if one[0] not in {"check", "tidy", "new", "exercise"}]
)
def test_an_empty_name_of_the_output_is_refused(command, day, monkeypatch, capsys):
    monkeypatch.chdir(day.parent)
    assert main([*command, "day.trav", "-o", ""]) == 2
    assert "--output: an empty name" in capsys.readouterr().err
    assert [one.name for one in day.parent.iterdir()] == ["day.trav"]


def test_a_folder_among_logs_does_not_end_the_others(day, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["sheet", ".", "day.trav"]) == 2
    assert (tmp_path / "day.pdf").exists()


def test_bytes_that_are_no_text_are_shown_by_what_stands_before_them(day, capsys):
    day.write_bytes(LOG.encode() + b"# beck at Caf\xe9\n")
    assert main(["check", str(day)]) == 1
    told = " ".join(capsys.readouterr().err.split())
    assert "day.trav:7:14" in told
    assert "behind `# beck at Caf`" in told


@pytest.mark.parametrize(
    "words",
    [
        ("diff", "H\x1b[31m:x", "{log}"),
        ("sheet", "{log}", "-o", "x\x1b[31m/y.pdf"),
        ("extract", "{log}", "-o", "x\x1b[31m"),
        ("season", "e\x1b[31m"),
        ("check", "e\x1b[31m\u202e.trav"),
        ("check", "{log}"),
        ("check", "{log}", "--e\x1b[31m"),
    ],
)
def test_no_name_or_title_is_a_command_to_the_terminal(day, words):
    """ECMA-48 begins a command with ESC; U+202E turns what follows it (Unicode Standard Annex 9)."""
    day.write_text(LOG.replace("bearings", "traverse Tarn\u202edale\nbearings"))
    (day.parent / "e\x1b[31m").mkdir()
    found = run(*(one.format(log=day) for one in words), cwd=day.parent)
    said = found.stdout + found.stderr
    assert said
    assert "Traceback" not in said
    assert not {"\x1b", "\u202e"} & set(said)


def test_a_name_that_is_no_text_is_a_name_all_the_same(day):
    """As files from old archives have; `surrogateescape` of PEP 383 is how Python hands them on."""
    name = os.fsdecode(os.fsencode(day.parent) + b"/caf\xe9.trav")
    Path(name).write_text(LOG)
    for command, called_by in (
        (["sheet", name], run),
        (["diff", name, str(day), "--to", "json"], run),
        (["check", name], process),
    ):
        done = called_by(*command)
        assert done.returncode == 0, done.stderr


@pytest.mark.every(2)
@pytest.mark.parametrize("command", ["check -", "sheet -", "tidy -", "extract -"])
def test_a_closed_input_is_wrong_use(day, command):
    done = shell(f"{sys.executable} -m traverse {command} <&-", day.parent)
    assert done.returncode == 2
    assert "standard input: is closed" in done.stderr


@pytest.mark.every(3)
@pytest.mark.parametrize(
    "command",
    [
        "sheet day.trav -o -",
        "export day.trav --to json",
        "export --schema",
        "tidy - <day.trav",
        "extract day.pdf -o -",
    ],
)
def test_what_was_to_go_to_a_closed_output_is_not_lost_in_silence(day, command):
    if "day.pdf" in command:
        assert run("sheet", str(day), "-o", str(day.parent / "day.pdf")).returncode == 0
    done = shell(f"{sys.executable} -m traverse {command} >&-", day.parent)
    assert done.returncode == 2
    assert "standard output: is closed; name a file with -o" in done.stderr


@pytest.mark.parametrize("call", ["export --schema", "--version"])
def test_what_finds_no_room_is_told(day, call):
    done = shell(f"{sys.executable} -m traverse {call} >/dev/full", day.parent)
    assert (done.returncode, "Traceback" in done.stderr) == (2, False)
    assert "standard output: can't be written" in done.stderr


@pytest.mark.every(2)
@pytest.mark.parametrize("command", ["check", "sheet"])
def test_messages_that_nobody_hears_leave_the_status(day, command):
    day.write_text(
        LOG.replace("to 2", "rock loose talk about a bed\nto 2", 1).replace("at 1", "at 1\nunit Zz", 1)
    )
    heard = run(command, str(day))
    assert heard.stderr
    done = shell(f"{sys.executable} -m traverse {command} {day.name} 2>/dev/full", day.parent)
    assert done.returncode == heard.returncode


@pytest.mark.parametrize("day_of_build", ["banana", "1.5", "9" * 20])
def test_a_day_of_builds_that_is_none_stops_no_sheet(day, monkeypatch, day_of_build):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", day_of_build)
    done = run("sheet", str(day), "-o", str(day.parent / "day.pdf"))
    assert (done.returncode, os.environ["SOURCE_DATE_EPOCH"]) == (0, day_of_build)


STOPPED = """
import os, signal, sys
class Key:
    def find_spec(self, name, *_):
        if name == {when!r}:
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Key())
sys.argv = ["traverse", "check", {log!r}]
from traverse.__main__ import process
process()
"""


@pytest.mark.parametrize("when", ["argparse", "traverse.command", "traverse.notation.read"])
def test_a_key_that_stops_it_brings_no_traceback_however_early(day, when):
    """Before the command line is read, before the command has begun, and within it."""
    # Tests that run in the background of a shell hand on that keys are ignored.
    heard = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    code = heard + STOPPED.format(when=when, log=str(day))
    found = subprocess.run([sys.executable, "-S", "-c", PATHS + code], capture_output=True, check=False)
    assert found.returncode in {-signal.SIGINT, 130}
    assert (found.stdout, found.stderr) == (b"", b"")


PATHS = f"import sys; sys.path[:] = {sys.path!r}\n"


def test_a_key_that_is_ignored_stays_ignored(day):
    """As in the background of a shell."""
    code = "import signal; signal.signal(signal.SIGINT, signal.SIG_IGN)\n"
    code += STOPPED.format(when="traverse.notation.read", log=str(day))
    found = subprocess.run([sys.executable, "-S", "-c", PATHS + code], capture_output=True, check=False)
    assert found.returncode == 0, found.stderr
    assert b"3 stations" in found.stdout


@pytest.mark.parametrize("line", ["use camp.trav", "log camp.trav as C"])
def test_what_is_there_and_is_no_file_is_not_called_missing(line, tmp_path, capsys):
    (tmp_path / "camp.trav").mkdir()
    (tmp_path / "day.trav").write_text(f"notation 1\n{line}\nat 1\n", encoding="utf-8")
    assert main(["check", str(tmp_path / "day.trav")]) == 1
    said = capsys.readouterr().err
    assert "camp.trav can't be read: is no file" in said
    assert "no file camp.trav" not in said


@pytest.mark.parametrize("command", ["check", "sheet", "tidy"])
def test_two_logs_from_standard_input_are_refused(command, capsys):
    assert main([command, "-", "a.trav", "-"]) == 2
    assert "one log can come from standard input, not two" in capsys.readouterr().err
