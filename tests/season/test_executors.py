"""Whoever reads the logs of a season, its files are the same bytes, and a process that ends takes no other log with it."""

import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tests.season.made import day, season
from traverse.season import through
from traverse.season.index_season import index_season
from traverse.season.one_log import one_log

OUTPUTS = ("season.html", "season.gpkg")
DEADLY = "kills whoever reads it"


@pytest.fixture(scope="module")
def logs(tmp_path_factory):
    """Eight logs, and their index as one process makes it."""
    folder = tmp_path_factory.mktemp("executors") / "logs"
    season(folder, 8)
    alone = folder.parent / "alone"
    index_season(folder, alone, processes=1)
    return folder, [(alone / one).read_bytes() for one in OUTPUTS]


def bytes_of(folder, name, **how):
    output = folder.parent / name
    assert index_season(folder, output, **how).read == 8
    return [(output / one).read_bytes() for one in OUTPUTS]


def test_two_processes_make_the_same_bytes(logs):
    folder, alone = logs
    assert bytes_of(folder, "processes", processes=2) == alone


@pytest.mark.thorough
def test_no_more_processes_are_begun_than_the_machine_has_processors(logs, monkeypatch):
    begun = []
    monkeypatch.setattr(through, "processors", lambda: 2)
    monkeypatch.setattr(through, "_pool", lambda count: begun.append(count) or ThreadPoolExecutor(count))
    folder, alone = logs
    assert bytes_of(folder, "bounded", processes=100_000) == alone
    assert begun == [2]


def test_threads_make_the_same_bytes(logs):
    folder, alone = logs
    with ThreadPoolExecutor(3) as executor:
        assert bytes_of(folder, "threads", executor=executor) == alone


@pytest.mark.thorough
def test_the_workers_of_a_cluster_make_the_same_bytes(logs):
    """A scheduler and two workers on this machine, as on many; each sees the folder."""
    from distributed import Client, LocalCluster

    folder, alone = logs
    cluster = LocalCluster(n_workers=2, threads_per_worker=1, processes=False, dashboard_address=None)
    with cluster, Client(cluster) as client:
        assert bytes_of(folder, "cluster", executor=client.get_executor()) == alone


def _deadly(work):
    if DEADLY in (Path(work.folder) / work.path).read_text("utf-8"):
        os._exit(9)
    return one_log(work)


def test_a_log_that_ends_its_process_is_told_and_all_others_are_read(tmp_path, monkeypatch):
    """As one that takes more memory than there is."""
    season(tmp_path, 12)
    (tmp_path / "deadly.trav").write_text(day(13, title=DEADLY), "utf-8")
    monkeypatch.setattr(through, "one_log", _deadly)
    found = index_season(tmp_path, processes=2)
    assert found.standing == {"counted": 12, "unreadable": 1}
    assert found.bad == (
        ("deadly.trav", "the process that read it was ended; the memory may not suffice for it"),
    )


def test_an_executor_that_fails_leaves_its_logs_to_this_machine(tmp_path):
    season(tmp_path, 3)
    executor = ThreadPoolExecutor(1)
    executor.shutdown()
    assert index_season(tmp_path, executor=executor).standing == {"counted": 3}
