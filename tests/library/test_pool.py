import multiprocessing
import os
from contextlib import closing

import pytest

from analyzer.library.pool import KILLED, WAITING, run_on_cores
from analyzer.library.work import File, Job, Outcome


def job(key):
    return Job(key, File("a.vtt", b""), File("a.yaml", b""))


def work(given):
    """Says where it ran; one job kills its process, as running out of memory does."""
    if given.key == "poison":
        os._exit(9)
    return Outcome(given.key, "", {"classes": str(os.getpid()).encode()})


def test_one_worker_is_this_process():
    outcomes = list(run_on_cores(map(job, "abc"), 1, work))
    assert [outcome.key for outcome in outcomes] == ["a", "b", "c"]
    assert {outcome.lines["classes"] for outcome in outcomes} == {str(os.getpid()).encode()}


def test_a_job_that_kills_its_process_costs_that_job_alone():
    keys = [*map(str, range(12)), "poison", *map(str, range(12, 20))]
    outcomes = list(run_on_cores(map(job, keys), 2, work))
    assert sorted(outcome.key for outcome in outcomes) == sorted(keys)
    assert [(o.key, o.reason) for o in outcomes if o.reason] == [("poison", KILLED)]
    assert str(os.getpid()).encode() not in {outcome.lines.get("classes") for outcome in outcomes}
    assert not multiprocessing.active_children()


def test_few_jobs_are_taken_ahead_and_none_after_the_end():
    taken = []

    def jobs():
        for number in range(100):
            taken.append(number)
            yield job(str(number))

    with closing(run_on_cores(jobs(), 2, work)) as outcomes:
        next(outcomes)
    assert len(taken) <= 2 * WAITING
    assert not multiprocessing.active_children()


def test_an_exception_of_the_work_is_not_swallowed():
    with pytest.raises(ZeroDivisionError, match="division"):
        list(run_on_cores([job("a"), job("b")], 2, divide))


def divide(given):
    return 1 // 0
