"""Jobs on a Dask cluster the user names: the same work as on the cores of this machine, and the same bytes.

A job carries its files with it and an outcome its results, so that workers need no folder in common, only this
package in the same version. A job whose worker is lost runs again on another.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from typing import Any

from analyzer import __version__
from analyzer.library.folders import missing_extra
from analyzer.library.pool import KILLED, WAITING, Work
from analyzer.library.work import Job, Outcome, audit_job, failed
from analyzer.model.errors import AnalyzerError

PATIENCE_S = 20
"""How long to wait for the scheduler to answer, and for a first worker."""


def run_on_cluster(jobs: Iterable[Job], address: str, work: Work = audit_job) -> Generator[Outcome, None, None]:
    """Yield the outcome of every job, as they are ready; ``address`` is the scheduler's (``tcp://host:8786``).

    Closing the generator, or an exception in whoever consumes it, drops the jobs that are left.

    Raises
    ------
    AnalyzerError
        When Dask is not installed, the cluster does not answer, has no worker, or has another version of this package.
    """
    client = _connected(address)
    running: dict[Any, Job] = {}
    suspects: list[Job] = []

    def outcome(future: Any) -> Iterator[Outcome]:
        job = running.pop(future)
        found = _outcome(future, job, address)
        if found is None:
            suspects.append(job)
        else:
            yield found

    try:
        most = WAITING * _check_workers(client, address)
        from distributed import as_completed

        finished = as_completed(loop=client.loop)
        for job in jobs:
            future = client.submit(work, job, pure=False)
            running[future] = job
            finished.add(future)
            if len(running) >= most:
                yield from outcome(next(finished))
        for future in finished:
            yield from outcome(future)
        for job in suspects:  # a lost worker is blamed on all jobs that waited there: each gets one of its own
            yield _outcome(client.submit(work, job, pure=False), job, address) or failed(job, KILLED, lasting=False)
    finally:
        client.cancel(list(running))
        client.close()


def _outcome(future: Any, job: Job, address: str) -> Outcome | None:
    """Wait for an outcome and return it; None when workers were lost over it, more often than the cluster allows."""
    from distributed import KilledWorker

    error = future.exception()
    if error is None:
        found: Outcome = future.result()
        return found
    if isinstance(error, KilledWorker):
        return None
    raise AnalyzerError(address, job.key, f"{type(error).__name__}: {error}", "see the workers' logs") from error


def _connected(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError as error:
        raise missing_extra("cluster", "distributed") from error
    try:
        return Client(address, timeout=PATIENCE_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise AnalyzerError(
            address, "", "no cluster answers", "give a scheduler's address, as in tcp://host:8786"
        ) from error


def _check_workers(client: Any, address: str) -> int:
    """Return how many jobs the workers take at a time, after making sure that they work alike."""
    try:
        client.wait_for_workers(1, timeout=PATIENCE_S)
        versions = client.run(_version)
    except TimeoutError as error:
        raise AnalyzerError(address, "", "the cluster has no worker", "start one, then again") from error
    except ImportError as error:
        found = "a worker has not installed this package"
        raise AnalyzerError(address, "", found, f"install version {__version__} on all of them") from error
    odd = sorted({version for version in versions.values() if version != __version__})
    if odd:
        found = f"a worker has version {', '.join(odd)} of this package"
        raise AnalyzerError(address, "", found, f"install version {__version__} on all of them")
    return sum(client.ncores().values())


def _version() -> str:
    return __version__
