"""Jobs on all cores of this machine. A job that kills its process costs that job alone.

Few jobs wait in memory at a time, whatever their number. Outcomes come as they are ready, in any order.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import connection, get_context, parent_process

from analyzer.library.work import Job, Outcome, audit_job, failed

Work = Callable[[Job], Outcome]
WAITING = 4
"""Jobs handed out for each worker, so that none is idle while outcomes are stored."""
KILLED = "the process that audited it was killed each time (too little memory?)"


def run_on_cores(jobs: Iterable[Job], workers: int, work: Work = audit_job) -> Generator[Outcome, None, None]:
    """Yield the outcome of every job, ``workers`` at a time; with one worker, in this process.

    Closing the generator, or an exception in whoever consumes it, lets jobs that run finish and drops the rest.
    """
    if workers == 1:
        yield from map(work, jobs)
        return
    waiting = iter(jobs)
    while suspects := (yield from _together(waiting, workers, work)):
        yield from _one_by_one(suspects, work)


def _together(jobs: Iterator[Job], workers: int, work: Work) -> Generator[Outcome, None, list[Job]]:
    """Yield outcomes until the jobs are at an end or a process is killed; return the jobs that were under way then."""
    running: dict[Future[Outcome], Job] = {}
    refused: list[Job] = []
    pool = _pool(workers)
    try:
        for job in jobs:
            refused = [job]
            running[pool.submit(work, job)] = job
            refused = []
            if len(running) >= WAITING * workers:
                yield from _finished(running)
        while running:
            yield from _finished(running)
    except BrokenProcessPool:
        return [*running.values(), *refused]
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    return []


def _finished(running: dict[Future[Outcome], Job]) -> Iterator[Outcome]:
    """Wait for one job or more, and yield what came of them."""
    for future in wait(running, return_when=FIRST_COMPLETED).done:
        outcome = future.result()  # raises before the job is struck off
        del running[future]
        yield outcome


def _one_by_one(jobs: list[Job], work: Work) -> Iterator[Outcome]:
    """Yield the outcomes of jobs of which one has killed its process: whichever does it again, now alone, is told."""
    pool = _pool(1)
    try:
        for job in jobs:
            try:
                yield pool.submit(work, job).result()
            except BrokenProcessPool:
                pool.shutdown()
                pool = _pool(1)
                yield failed(job, KILLED, lasting=False)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _pool(workers: int) -> ProcessPoolExecutor:
    # spawned, not forked: the same on every system, and no lock of this process is copied half-way
    return ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_start_worker)


def _start_worker() -> None:
    """Leave the interrupt key to the main process, and end when that is gone, however it ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    assert parent is not None
    threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)
