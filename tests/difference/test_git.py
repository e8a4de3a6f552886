"""Git itself drives `traverse diff`, and the hooks that run before a commit."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml
from pre_commit.clientlib import load_manifest

from tests.difference.test_between import LOG
from tests.thorough import THOROUGH
from traverse.__main__ import main
from traverse.command.versions import _revision

ROOT = Path(__file__).parents[2]
DRIVER = f'"{sys.executable}" -m traverse diff'


def within(folder, patch):
    """What runs git in a folder, as nobody has set it up."""
    patch.chdir(folder)
    for name in list(os.environ):
        if name.startswith("GIT_"):
            patch.delenv(name)
    patch.setenv("HOME", str(folder))
    patch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    patch.setenv("PYTHONPATH", str(ROOT))

    def run(*arguments, status=0, **variables):
        done = subprocess.run(
            ["git", *arguments], capture_output=True, text=True, check=False, env={**os.environ, **variables}
        )
        assert done.returncode == status, done.stderr
        return done.stdout

    return run


@pytest.fixture(scope="module")
def repository(tmp_path_factory):
    """Two commits of a log in a folder; each test has a copy."""
    folder = tmp_path_factory.mktemp("repository")
    with pytest.MonkeyPatch.context() as patch:
        committed(within(folder, patch), folder)
    return folder


@pytest.fixture
def git(repository, tmp_path, monkeypatch):
    """A repository with two commits of a log in a folder, and what runs git in it."""
    shutil.copytree(repository, tmp_path, symlinks=True, dirs_exist_ok=True)
    return within(tmp_path, monkeypatch)


def committed(run, folder):
    run("init", "-q", "--initial-branch=home")
    run("config", "user.name", "Mara Olsen")
    run("config", "user.email", "mara@example.org")
    day = folder / "days" / "day 1.trav"
    day.parent.mkdir()
    head = LOG.replace("declination 4.7 E, 2026, map margin\n", "use camp.trav\n")
    day.write_text(head, encoding="utf-8")
    camp = day.parent / "camp.trav"
    camp.write_text("notation 1\ndeclination 4.7 E, 2026, map margin\n", encoding="utf-8")
    run("add", "-A")
    run("commit", "-qm", "Day 1")
    day.write_text(head.replace("322/30", "322/40"), encoding="utf-8")
    camp.write_text("notation 1\ndeclination 6.7 E, 2026, map margin\n", encoding="utf-8")
    run("commit", "-qam", "Read again")


def driven(git):
    (Path.cwd() / ".gitattributes").write_text("*.trav diff=trav\n", encoding="utf-8")
    git("config", "diff.trav.command", DRIVER)


def test_git_shows_a_commit_in_the_words_of_the_trade(git):
    driven(git)
    shown = git("show", "--ext-diff", "--format=%s", "HEAD", "--", "days/day 1.trav")
    assert "Line 15, bed at 1: 322/40, was 322/30" in shown
    # The declination stands in a file that the log uses: it was read from each commit.
    assert "In camp.trav, line 2, declination: 6.7 E, was 4.7 E" in shown
    assert "3 attitudes at 1, 2 and 3 turned 2° clockwise" in shown
    assert "@@" not in shown  # as in a difference of text


@pytest.mark.thorough
def test_git_diff_holds_the_work_tree_against_the_last_commit(git):
    driven(git)
    day = Path("days/day 1.trav")
    day.write_text(day.read_text(encoding="utf-8").replace("319/33", "319/23"), encoding="utf-8")
    shown = git("diff", "--", "days")
    assert "bed at 3: 319/23, was 319/33" in shown
    assert "322/40" not in shown
    assert "declination" not in shown


def test_a_difference_of_lines_names_the_place_over_each_piece(git):
    page = (ROOT / "grammar" / "versions.md").read_text(encoding="utf-8")
    (pattern,) = re.findall(r'diff\.trav\.xfuncname "([^"]+)"', page)
    driven(git)
    git("config", "diff.trav.xfuncname", pattern)
    shown = git("log", "-1", "-p", "--format=", "-U0", "--no-ext-diff")
    assert "@@ at 1\n-  bed   322/30\n+  bed   322/40" in shown


@pytest.mark.thorough
def test_git_takes_the_environment_as_well_as_its_configuration(git):
    assert "bed at 1: 322/40, was 322/30" in git(
        "diff", "HEAD~1", "HEAD", "--", "days/day 1.trav", GIT_EXTERNAL_DIFF=DRIVER
    )


def test_what_is_new_taken_out_or_renamed_is_said_to_be(git):
    driven(git)
    Path("b.trav").write_text(LOG, encoding="utf-8")
    git("add", "b.trav")
    assert "b.trav: a new log" in git("diff", "--cached")
    git("commit", "-qm", "b")
    git("rm", "-q", "b.trav")
    assert "b.trav: taken out" in git("diff", "--cached")
    git("reset", "-q", "--hard")
    git("mv", "b.trav", "c.trav")
    Path("c.trav").write_text(LOG.replace("319/33", "319/23"), encoding="utf-8")
    shown = git("diff", "-M", "HEAD")
    assert "c.trav" in shown
    assert "bed at 3: 319/23, was 319/33" in shown


def test_a_log_with_errors_does_not_stop_git(git):
    driven(git)
    day, other = Path("days/day 1.trav"), Path("z.trav")
    other.write_text(LOG, encoding="utf-8")
    git("add", "z.trav")
    git("commit", "-qm", "z")
    day.write_text(day.read_text(encoding="utf-8").replace("N47E", "N95E"), encoding="utf-8")
    other.write_text(LOG.replace("319/33", "319/23"), encoding="utf-8")
    shown = git("diff")
    assert "days/day 1.trav has errors" in shown
    assert "bed at 3: 319/23, was 319/33" in shown


@pytest.mark.thorough
def test_a_log_that_is_not_merged_is_told_as_such(git):
    driven(git)
    git("checkout", "-qb", "other", "HEAD~1")
    day = Path("days/day 1.trav")
    day.write_text(day.read_text(encoding="utf-8").replace("322/30", "322/50"), encoding="utf-8")
    git("commit", "-qam", "other")
    git("merge", "-q", "home", status=1)
    assert "days/day 1.trav: not merged yet" in git("diff", "--cached")


@pytest.mark.parametrize(
    "name", ["HEAD~1:days/day 1.trav", "HEAD~1:./days/day 1.trav", "HEAD^{/Day 1}:days/day 1.trav"]
)
def test_revisions_are_read_with_the_files_they_name(git, capsys, name):
    assert main(["diff", name, "HEAD:days/day 1.trav", "--to", "json"]) == 0
    body = json.loads(capsys.readouterr().out)
    words = [edit["words"] for cause in body["causes"] for edit in cause["edits"]]
    assert words == ["declination: 6.7 E, was 4.7 E", "bed at 1: 322/40, was 322/30"]


@pytest.mark.thorough
def test_links_that_git_keeps_are_followed(git, capsys, monkeypatch):
    """A log and what it names, and its folder; the names count from where the log lies, as with files."""
    days = Path("days")
    (days / "camp.trav").rename(days / "kept.trav")
    (days / "camp.trav").symlink_to("kept.trav")
    Path("links").mkdir()
    Path("links/log.trav").symlink_to("../days/day 1.trav")
    Path("links/again.trav").symlink_to("log.trav")
    Path("folder").symlink_to("days")
    Path("round.trav").symlink_to("round.trav")
    git("add", "-A")
    git("commit", "-qm", "Links")
    for name in ("links/again.trav", "links/log.trav", "folder/day 1.trav", "days/day 1.trav"):
        assert main(["diff", "HEAD~2:days/day 1.trav", f"HEAD:{name}", "--to", "json"]) == 0
        body = json.loads(capsys.readouterr().out)
        words = [edit["words"] for cause in body["causes"] for edit in cause["edits"]]
        assert words == ["declination: 6.7 E, was 4.7 E", "bed at 1: 322/40, was 322/30"]
    monkeypatch.chdir("links")
    assert main(["diff", "HEAD:./log.trav", "HEAD:./again.trav", "--exit-code"]) == 0
    assert main(["diff", "HEAD:./log.trav", "HEAD:round.trav"]) == 2
    assert "no file round.trav" in capsys.readouterr().err


def test_a_revision_is_found_from_a_folder_below(git, capsys, monkeypatch):
    monkeypatch.chdir("days")
    assert main(["diff", "--exit-code", "HEAD~1:./day 1.trav", "day 1.trav"]) == 1
    assert "In camp.trav, line 2, declination: 6.7 E, was 4.7 E" in capsys.readouterr().out


def test_the_index_is_a_version_too(git, capsys):
    day = Path("days/day 1.trav")
    day.write_text(day.read_text(encoding="utf-8").replace("322/40", "322/41"), encoding="utf-8")
    git("add", "days")
    assert main(["diff", "HEAD:days/day 1.trav", ":days/day 1.trav"]) == 0
    assert "bed at 1: 322/41, was 322/40" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("HEAD~9:days/day 1.trav", "no revision 'HEAD~9'"),
        ("HEAD:days/day 2.trav", "has no file days/day 2.trav"),
        ("HEAD:days", "is no file"),
        ("--output=x:days/day 1.trav", "can't be read"),
        ("HEAD:../day 1.trav", "has no file"),
        ("$(touch made):days/day 1.trav", "no revision"),
    ],
)
def test_what_is_no_revision_is_told_and_nothing_is_run(git, capsys, name, said):
    assert main(["diff", "--", name, "days/day 1.trav"]) == 2
    assert said in capsys.readouterr().err
    assert not Path("made").exists()


def test_outside_a_repository_a_revision_is_told_to_be_none(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    (tmp_path / "a.trav").write_text(LOG, encoding="utf-8")
    assert main(["diff", "HEAD:a.trav", "a.trav"]) == 2
    assert "knows no revision 'HEAD' here" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("HEAD:a.trav", ("HEAD", "a.trav")),
        (":a.trav", ("", "a.trav")),
        ("HEAD^{/fix: bed}:a.trav", ("HEAD^{/fix: bed}", "a.trav")),
        ("C:\\days\\a.trav", None),
        ("c:/days/a.trav", None),
        ("a.trav", None),
        ("-x:a.trav", None),
    ],
)
def test_a_revision_is_told_from_a_file(name, parts):
    assert _revision(name) == parts


def test_a_new_log_comes_with_what_tells_git_of_it(git):
    assert main(["new", "tarn.trav"]) == 0
    git("add", "-A")
    assert git("check-attr", "diff", "eol", "--", "tarn.trav").split("\n")[:2] == [
        "tarn.trav: diff: trav",
        "tarn.trav: eol: lf",
    ]
    Path(".gitattributes").write_text("mine\n", encoding="utf-8")
    assert main(["new", "other.trav"]) == 0
    assert Path(".gitattributes").read_text(encoding="utf-8") == "mine\n"


# --- before a commit --------------------------------------------------------------------------------------------

HOOKS = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))


def test_both_hooks_take_logs_and_are_commands_of_the_program(git):
    assert [one["id"] for one in HOOKS] == ["traverse-check", "traverse-tidy"]
    assert [one["id"] for one in load_manifest(ROOT / ".pre-commit-hooks.yaml")] == [
        one["id"] for one in HOOKS
    ]
    Path("untidy.trav").write_text(LOG.replace("  bed   322/30", "bed 322/30"), encoding="utf-8")
    Path("bad.trav").write_text(LOG.replace("N47E", "N95E"), encoding="utf-8")
    for hook, failing in zip(HOOKS, ("bad.trav", "untidy.trav"), strict=True):
        program, *rest = hook["entry"].split()
        assert program == "traverse"
        assert main([*rest, failing]) == 1
        assert main([*rest, "days/day 1.trav"]) == 0


@THOROUGH
def test_pre_commit_runs_them_and_holds_back_what_is_wrong(git, tmp_path, monkeypatch):
    """The shipped list of hooks, by the program that reads it; the environment is this one, where the program is."""
    monkeypatch.setenv("PRE_COMMIT_HOME", str(tmp_path / "kept"))
    monkeypatch.setenv("PATH", f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    hooks = tmp_path / "hooks"
    hooks.mkdir()
    (hooks / ".pre-commit-hooks.yaml").write_bytes((ROOT / ".pre-commit-hooks.yaml").read_bytes())
    for call in (["init", "-q"], ["add", "-A"], ["commit", "-qm", "hooks"]):
        git("-C", str(hooks), "-c", "user.name=n", "-c", "user.email=n@example.org", *call)
    revision = git("-C", str(hooks), "rev-parse", "HEAD").strip()
    Path(".gitignore").write_text("hooks\nkept\n", encoding="utf-8")
    config = {
        "repos": [
            {
                "repo": str(hooks),
                "rev": revision,
                "hooks": [{"id": one["id"], "language": "system"} for one in HOOKS],
            }
        ]
    }
    Path(".pre-commit-config.yaml").write_text(json.dumps(config), encoding="utf-8")
    subprocess.run([sys.executable, "-m", "pre_commit", "install"], check=True, capture_output=True)
    git("add", ".gitignore", ".pre-commit-config.yaml")
    git("commit", "-qm", "Hooks")
    day = Path("days/day 1.trav")
    good = day.read_text(encoding="utf-8")
    day.write_text(good.replace("N47E", "N95E"), encoding="utf-8")
    git("commit", "-qam", "A slip", status=1)
    day.write_text(good.replace("  bed   322/40", "bed 322/41"), encoding="utf-8")
    git("commit", "-qam", "Not laid out", status=1)
    day.write_text(good.replace("322/40", "322/41"), encoding="utf-8")
    git("commit", "-qam", "Read again")
    assert git("log", "-1", "--format=%s") == "Read again\n"
