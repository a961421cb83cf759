"""Cluster: the same map through a dask scheduler, and what goes wrong with one."""

from __future__ import annotations

import os
import signal
import sys
import threading
from types import SimpleNamespace

import pytest
from numpy.testing import assert_array_equal

from spotdwell.base.errors import RunError
from spotdwell.console import cluster as clusters
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.maps.cube import OUTLINES, Axis
from spotdwell.maps.plan import MapPlan
from spotdwell.maps.run import map_of
from spotdwell.maps.store import load_cube

pytestmark = pytest.mark.compiled
distributed = pytest.importorskip("distributed")

BASE = scenario_of_shot("soft_tissue", "5 W", "1 mm", "2 ms", refinement=0.3)
AXES = (
    Axis("power", (5.0, 12.0, 25.0), "W", "list"),
    Axis("dwell", (1e-3, 2e-3, 4e-3, 8e-3), "ms", "list"),
)
PLAN = MapPlan(BASE, AXES)


def local(count: int):
    return distributed.LocalCluster(
        n_workers=count, threads_per_worker=1, dashboard_address=":0", silence_logs=50
    )


@pytest.fixture(scope="module")
def two_workers():
    with local(2) as cluster:
        yield cluster


def test_a_cluster_finds_what_this_process_finds_to_the_last_bit(two_workers, tmp_path):
    told = []
    progress = lambda *state: told.append(state)  # noqa: E731
    found = map_of(PLAN, tmp_path / "map.h5", cluster=two_workers.scheduler_address, progress=progress)
    own = map_of(PLAN, workers=1)
    for name in own.measures:
        assert_array_equal(found.measures[name], own.measures[name], err_msg=name)
    for name in OUTLINES:
        assert_array_equal(found.outlines[name], own.outlines[name], err_msg=name)
    assert_array_equal(found.word, own.word)
    assert [done for done, _, _ in told] == list(range(1, 13))
    assert not load_cube(tmp_path / "map.h5").missing.any()


def test_an_interrupt_takes_the_rest_back_and_what_came_is_kept(two_workers, tmp_path):
    path, address = tmp_path / "map.h5", two_workers.scheduler_address

    def stop(done, total, left):
        if done == 5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        map_of(PLAN, path, cluster=address, progress=stop)
    assert load_cube(path).missing.sum() == 12 - 5
    assert not map_of(PLAN, path, cluster=address).missing.any()


def test_workers_with_another_version_are_refused(two_workers, monkeypatch):
    monkeypatch.setattr(clusters, "metadata", SimpleNamespace(version=lambda name: "9.9"))
    with pytest.raises(RunError, match=r"workers have spotdwell .*Install version 9\.9"):
        next(clusters.stream(abs, [1], two_workers.scheduler_address))


def test_workers_that_die_end_the_map_with_what_came_kept(tmp_path):
    path = tmp_path / "map.h5"
    with local(1) as cluster:

        def kill(done, total, left):
            if done == 4:
                for worker in cluster.workers.values():
                    os.kill(worker.pid, signal.SIGKILL)
                threading.Thread(target=lambda: cluster.scale(0)).start()

        with pytest.raises(RunError, match=r"workers of the cluster died.*same again to go on"):
            map_of(PLAN, path, cluster=cluster.scheduler_address, progress=kill)
    assert 0 < load_cube(path).missing.sum() <= 12 - 4
    assert not map_of(PLAN, path, workers=1).missing.any()


def test_a_scheduler_without_workers_says_how_to_start_some(monkeypatch):
    monkeypatch.setattr(clusters, "PATIENCE", 0.5)
    with local(0) as cluster, pytest.raises(RunError, match=r"has no workers.*dask worker"):
        next(clusters.stream(abs, [1], cluster.scheduler_address))


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nowhere", "foo://127.0.0.1:8786"])
def test_a_cluster_that_is_not_there_says_how_to_start_one(address, monkeypatch):
    monkeypatch.setattr(clusters, "PATIENCE", 0.5)
    with pytest.raises(RunError, match=f"no cluster answers at {address}.*dask scheduler"):
        map_of(PLAN, cluster=address)


def test_a_missing_package_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(RunError, match=r"spotdwell\[cluster\]"):
        map_of(PLAN, cluster="tcp://127.0.0.1:8786")
