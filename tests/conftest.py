"""What several test files need."""

import gc
import os
import sys

# Matrices here are small, and each process of the tests has a core: a second thread only waits for the first.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from _pytest.doctest import DoctestModule
from _pytest.runner import runtestprotocol
from hypothesis import settings

from tests import thorough
from tests.once import Compared, Remembered
from traverse import compile as chain
from traverse.compare import against_key as comparing
from traverse.source import Source

# Hundreds of tests start a command; without its bytecode each would compile the program anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
# Nor are the tests to be compiled in each process of each run: that takes longer than to collect them.
sys.dont_write_bytecode = False
COMPILED_AFRESH = {"test_same_bytes", "test_fuzz", "test_python"}
# Logs and sheets are kept to be shared, and hold no circles worth looking for so often; what was looked through once stays.
gc.set_threshold(1_000_000, 1_000, 1_000)
chain.compile_log = comparing.compile_log = remembered = Remembered(chain.compile_log)
comparing.against_key = compared = Compared(comparing.against_key)
settings.register_profile("few", deadline=None, max_examples=25)
settings.register_profile("many", deadline=None, max_examples=400)


def pytest_addoption(parser):
    parser.addoption(
        "--share", help="thorough tests alone, of these so many: 3/8 is the third of eight shares"
    )


def pytest_configure(config):
    """Chance tries a few logs by default, and many where everything is run."""
    if config.option.share:
        config.option.markexpr = ""
    few = config.option.markexpr == "not thorough"
    settings.load_profile("few" if few else "many")
    thorough.everything(wanted=not few)
    config.pluginmanager.register(Examples())
    if hasattr(config, "workerinput") and config.option.durations is None and config.option.verbose <= 0:
        config.pluginmanager.register(OneReport())


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    """Before pytest leaves out what is thorough."""
    thorough.take_turns(items)
    if config.option.share:
        items[:], left_out = thorough.share_of(items, config.option.share)
        config.hook.pytest_deselected(items=left_out)


def pytest_collection_finish(session):
    """What was imported and collected stays: nothing in it is to be looked through again."""
    gc.freeze()


def pytest_runtest_setup(item):
    """Of some files what comes to the same twice shall be seen."""
    remembered.fresh = compared.fresh = item.path.stem in COMPILED_AFRESH


@pytest.fixture
def monkeypatch(monkeypatch):
    """What a test puts in the place of a part of the program shall be seen; where it stands changes no log."""

    def seen(put):
        def put_in_place(*args, **kwargs):
            remembered.fresh = compared.fresh = True
            return put(*args, **kwargs)

        return put_in_place

    for name in (
        "setattr",
        "delattr",
        "setitem",
        "delitem",
        "setenv",
        "delenv",
        "syspath_prepend",
        "context",
    ):
        setattr(monkeypatch, name, seen(getattr(monkeypatch, name)))
    return monkeypatch


class OneReport:
    """Of a test that passes a process tells the one that gathers that it did, and no more.

    That it begins, is set up, is put away and ends are four messages besides, of each of ten thousand tests.
    """

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_protocol(self, item, nextitem):
        for report in runtestprotocol(item, nextitem=nextitem, log=False):
            if report.when == "call" or not report.passed:
                item.ihook.pytest_runtest_logreport(report=report)
        return True


class Examples:
    """Looked for where there are any, in the program too: to find none takes two seconds of every process."""

    @pytest.hookimpl(wrapper=True)
    def pytest_collect_file(self, file_path):
        found = yield
        if file_path.suffix == ".py" and b">>>" not in file_path.read_bytes():
            return [one for one in found if not isinstance(one, DoctestModule)]
        return found


def _no_files(path):
    raise FileNotFoundError(path)


@pytest.fixture(scope="session")
def compile_text():
    """A log's text through the whole chain, with no file to `use`; a line that should not be there stops the test."""

    def compile_it(text, *, errors=False):
        compiled = chain.compile_log(Source(name="log.trav", text=text), load=_no_files)
        if not errors:
            assert not compiled.failed, [one.message for one in compiled.diagnostics]
        return compiled

    return compile_it


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Each process takes a stretch of the tests, so that what a file makes once is made in one of them."""
    from xdist.scheduler.worksteal import WorkStealingScheduling

    return WorkStealingScheduling(config, log)
