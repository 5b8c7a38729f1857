import dask
import psutil
import pytest
from distributed import LocalCluster

from analyzer.library import cluster as cluster_module
from analyzer.library.cluster import run_on_cluster
from analyzer.library.folders import open_folder
from analyzer.library.pool import KILLED, run_on_cores
from analyzer.library.run import Asked, audit_library
from analyzer.model.errors import AnalyzerError
from tests.library.conftest import results
from tests.library.test_pool import divide, job, work

pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore::ResourceWarning:distributed"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),  # sockets of the workers we kill
]


@pytest.fixture(scope="module")
def cluster():
    """Two workers, processes of their own, that are started anew when they die."""
    with (
        dask.config.set({"distributed.scheduler.allowed-failures": 0, "distributed.worker.daemon": True}),
        LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0") as made,
    ):
        yield made


def workers():
    """The workers' processes."""
    children = psutil.Process().children(recursive=True)
    return [child for child in children if "spawn_main" in " ".join(child.cmdline())]


def test_a_cluster_gives_the_bytes_of_this_machine_though_a_worker_is_killed(cluster, made_classes, tmp_path):
    killed = []

    def kill_one(progress):
        if not killed:
            victim = max(workers(), key=lambda process: process.cpu_times().user)
            victim.kill()
            killed.append(victim.pid)

    asked = Asked(kinds=("json", "html"))
    source = open_folder(str(made_classes))
    audit_library(source, open_folder(str(tmp_path / "here")), asked, lambda jobs: run_on_cores(jobs, 1))
    there = audit_library(
        source,
        open_folder(str(tmp_path / "there")),
        asked,
        lambda jobs: run_on_cluster(jobs, cluster.scheduler_address),
        kill_one,
    )
    assert killed
    assert (there.audited, len(there.failed)) == (5, 1)
    assert results(tmp_path / "there") == results(tmp_path / "here")


def test_a_job_that_kills_every_worker_costs_that_job_alone(cluster):
    keys = ["a", "poison", "b", "c"]
    outcomes = list(run_on_cluster(map(job, keys), cluster.scheduler_address, work))
    assert sorted(outcome.key for outcome in outcomes) == sorted(keys)
    assert [(o.key, o.reason) for o in outcomes if o.reason] == [("poison", KILLED)]


def test_what_the_work_raises_is_told(cluster):
    with pytest.raises(AnalyzerError, match="a: ZeroDivisionError: integer division or modulo by zero"):
        list(run_on_cluster([job("a")], cluster.scheduler_address, divide))


def test_workers_of_another_version_are_refused(cluster, monkeypatch):
    monkeypatch.setattr(cluster_module, "__version__", "9.9.9")
    with pytest.raises(AnalyzerError, match=r"a worker has version .* install version 9\.9\.9 on all of them"):
        list(run_on_cluster([job("a")], cluster.scheduler_address, work))


def test_no_cluster_is_told(monkeypatch):
    monkeypatch.setattr(cluster_module, "PATIENCE_S", 1)
    with pytest.raises(AnalyzerError, match=r"tcp://127\.0\.0\.1:1: no cluster answers; give a scheduler's address"):
        list(run_on_cluster([job("a")], "tcp://127.0.0.1:1", work))
    with pytest.raises(AnalyzerError, match="no cluster answers"):
        list(run_on_cluster([job("a")], "nothere://x", work))


def test_a_cluster_without_workers_is_told(monkeypatch):
    monkeypatch.setattr(cluster_module, "PATIENCE_S", 1)
    with (
        LocalCluster(n_workers=0, processes=False, dashboard_address=":0") as empty,
        pytest.raises(AnalyzerError, match="the cluster has no worker"),
    ):
        list(run_on_cluster([job("a")], empty.scheduler_address, work))
