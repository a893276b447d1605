"""A real cluster of worker processes: the same bytes; a worker that dies costs its chunk only."""

import os
import signal
import threading
import time

import pytest
import samples
import underfoot as uf

distributed = pytest.importorskip("distributed")

INST = samples.installation()
CALL = {
    "axes": {"mass": uf.uniform(-1e4, 5e4), "mounts.stiffness[z]": uf.normal(15e6, 1e6)},
    "outputs": ["damping_ratio", "mode_frequency", "transmissibility"],
    "frequencies": [10, 20],
    "samples": 4000,
    "chunk": 50,
}
pytestmark = pytest.mark.filterwarnings("ignore")  # of the cluster's own machinery


@pytest.fixture(scope="module")
def client():
    with (
        distributed.LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            silence_logs=50,
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        client.wait_for_workers(2)
        yield client


def same(found, known):
    for name in CALL["outputs"]:
        assert found[name].values.tobytes() == known[name].values.tobytes()
    assert (found.failure.values == known.failure.values).all()
    assert (known.failure != "").any() and (known.failure == "").any()


def test_a_cluster_gives_the_same_bits(client):
    same(uf.sweep(INST, **CALL, client=client), uf.sweep(INST, **CALL))


def test_a_worker_killed_in_mid_run_costs_only_its_chunk(client):
    pids = client.run(os.getpid)
    assert len(set(pids.values())) == 2
    threading.Timer(0.5, lambda: os.kill(next(iter(pids.values())), signal.SIGKILL)).start()
    call = {**CALL, "samples": 12_000}
    found = uf.sweep(INST, **call, client=client)
    known = uf.sweep(INST, **call)
    for name in CALL["outputs"]:
        assert found[name].values.tobytes() == known[name].values.tobytes()
    deadline = time.time() + 30
    while set(client.run(os.getpid).values()) == set(pids.values()) and time.time() < deadline:
        time.sleep(0.1)
    assert set(client.run(os.getpid).values()) != set(pids.values()), "no worker was killed"


def test_a_cluster_fills_a_store(client, tmp_path):
    found = uf.sweep(INST, **CALL, client=client, store=tmp_path / "x.zarr")
    same(found, uf.sweep(INST, **CALL))


def test_a_client_without_workers_is_refused():
    with (
        distributed.LocalCluster(
            n_workers=0, processes=False, dashboard_address=None, silence_logs=50
        ) as cluster,
        distributed.Client(cluster) as client,
        pytest.raises(uf.InvalidError, match="has no workers"),
    ):
        uf.sweep(INST, **CALL, client=client)
    with pytest.raises(uf.InvalidError, match="distributed.Client"):
        uf.sweep(INST, **CALL, client="tcp://somewhere")
