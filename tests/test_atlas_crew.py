"""Work on every processor: how many pieces are held, and whose workers do it."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import pytest

from sheltermap.atlas import crew


def taken_before_the_first_result(work, **how) -> int:
    """Return how many of ten pieces are taken when the first result comes."""
    taken = []

    def pieces():
        for number in range(10):
            taken.append(number)
            yield (number,)

    assert next(found := crew.results(work, pieces(), **how)) == 0
    count = len(taken)
    assert [*found] == [*range(1, 10)]
    return count


@pytest.mark.parametrize(("processors", "held"), [(3, 4), (None, 2)])
def test_as_many_pieces_are_held_as_there_are_workers_and_one_more(monkeypatch, processors, held):
    """Where nobody knows the number of processors there is one worker."""
    monkeypatch.setattr("os.cpu_count", lambda: processors)
    assert taken_before_the_first_result(int) == held


class Cluster:
    """A cluster's client that works at once: workers of two threads and of one."""

    def __init__(self) -> None:
        self.asked: list[bool] = []

    def nthreads(self) -> dict[str, int]:
        return {"a": 2, "b": 1}

    def submit(self, work, *piece, pure: bool):
        self.asked.append(pure)
        return SimpleNamespace(result=lambda: work(*piece), cancel=lambda: None)


def with_client(monkeypatch, default_client) -> None:
    """Make the package of clusters one with this default client."""
    monkeypatch.setitem(sys.modules, "distributed", SimpleNamespace(default_client=default_client))


def test_a_cluster_takes_as_many_pieces_as_its_threads(monkeypatch):
    """Three threads and one more; each is asked anew, since its data may have changed."""
    cluster = Cluster()
    with_client(monkeypatch, lambda: cluster)
    assert taken_before_the_first_result(int, afar=True) == 4
    assert cluster.asked == [False] * 10


def test_work_stays_here_unless_it_may_go_afar(monkeypatch):
    """What reads a file of this machine is not sent away."""
    cluster = Cluster()
    with_client(monkeypatch, lambda: cluster)
    assert [*crew.results(pow, [(2, 3), (3, 2)])] == [8, 9]
    assert cluster.asked == []


def test_work_stays_here_where_nobody_has_a_client(monkeypatch):
    """The package is not imported, or has no client, which it says by a ValueError."""

    def none():
        raise ValueError("No clients found")

    with_client(monkeypatch, none)
    assert [*crew.results(pow, [(2, 3)], afar=True)] == [8]
    monkeypatch.delitem(sys.modules, "distributed")
    assert [*crew.results(pow, [(2, 3)], afar=True)] == [8]
