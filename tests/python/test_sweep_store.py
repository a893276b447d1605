"""Stores: whole after any kill, the same bytes, refused where they are not ours."""

import hashlib
import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import numpy as np
import pytest
import samples
import underfoot as uf
import xarray as xr

INST = samples.installation()
CALL = {
    "axes": {"mounts.stiffness[z]": np.linspace(1e7, 4e7, 7), "mass": np.linspace(-1e4, 6e4, 9)},
    "outputs": ["mode_frequency", "transfer"],
    "frequencies": [10, 20],
    "chunk": 6,
}


def digest(root):
    """Every file of a store with the digest of its bytes."""
    files = sorted(p for p in Path(root).rglob("*") if p.is_file())
    return {str(p.relative_to(root)): hashlib.sha256(p.read_bytes()).hexdigest() for p in files}


def test_a_store_holds_the_numbers_of_the_run_in_memory(tmp_path):
    known = uf.sweep(INST, **CALL)
    found = uf.sweep(INST, **CALL, store=tmp_path / "x.zarr")
    for name in known.data_vars:
        assert found[name].dims == known[name].dims
        assert found[name].attrs == known[name].attrs
    for name in ("mode_frequency", "transfer"):
        assert found[name].values.tobytes() == known[name].values.tobytes()
    assert (found.failure.values == known.failure.values).all()
    assert (known.failure != "").sum() > 0
    assert found.attrs == known.attrs | {"axes": found.attrs["axes"]}
    for name in known.coords:
        np.testing.assert_array_equal(found[name], known[name])
        assert found[name].attrs == known[name].attrs


def test_any_reader_opens_it(tmp_path):
    uf.sweep(INST, **CALL, store=tmp_path / "x.zarr")
    found = xr.open_dataset(
        tmp_path / "x.zarr",
        engine="zarr",
        consolidated=False,
        chunks=None,
        drop_variables=["failure"],
    )
    assert found.mode_frequency.attrs["units"] == "Hz"


def test_samples_are_in_the_store(tmp_path):
    call = {"axes": {"mass": uf.uniform(4e4, 5e4)}, "outputs": "mode_frequency", "samples": 100}
    known = uf.sweep(INST, **call)
    found = uf.sweep(INST, **call, store=tmp_path / "x.zarr", chunk=16)
    np.testing.assert_array_equal(found.mass, known.mass)
    assert "mass" in found.coords
    assert found.mode_frequency.values.tobytes() == known.mode_frequency.values.tobytes()


SCRIPT = textwrap.dedent("""
    import sys
    sys.path.insert(0, "tests/python")
    import samples, underfoot as uf
    axes = {"mass": uf.uniform(4e4, 5e4), "mounts.stiffness[z]": uf.normal(15e6, 1e6)}
    uf.sweep(samples.installation(), axes, ["damping_ratio", "mode_frequency"], samples=3000,
             chunk=40, threads=2, store=sys.argv[1])
    print("done", flush=True)
""")


def launch(path):
    return subprocess.Popen([sys.executable, "-c", SCRIPT, str(path)], stdout=subprocess.PIPE)


def test_killed_at_any_moment_the_same_call_ends_with_the_same_bytes(tmp_path):
    known = tmp_path / "known.zarr"
    assert launch(known).communicate(timeout=300)[0] == b"done\n"
    path = tmp_path / "killed.zarr"
    random = np.random.default_rng(5)
    kills = 0
    started = time.time()
    while kills < 20 and time.time() - started < 120:
        child = launch(path)
        # From the start of the interpreter on: some fall into the making of the store.
        deadline = time.time() + 0.3 + random.uniform(0.0, 1.5)
        while time.time() < deadline and child.poll() is None:
            time.sleep(0.005)
        if child.poll() is not None:
            child.communicate()
            break
        os.kill(child.pid, signal.SIGKILL)
        child.communicate()
        kills += 1
    assert launch(path).communicate(timeout=300)[0] == b"done\n"
    assert kills > 0
    assert digest(path) == digest(known)
    assert not list(tmp_path.glob(".*.part"))


def test_a_store_half_done_is_completed_and_only_that(tmp_path):
    path = tmp_path / "x.zarr"
    uf.sweep(INST, **CALL, store=path)
    known = digest(path)
    (path / "failure/c/3/1").unlink()
    (path / "transfer/c/3/1/0/0/0").unlink()
    (path / "failure/c/5.0123.partial").write_text("torn")
    stays = (path / "failure/c/2/0").stat().st_mtime_ns
    uf.sweep(INST, **CALL, store=path)
    assert digest(path) == known
    assert (path / "failure/c/2/0").stat().st_mtime_ns == stays


@pytest.mark.parametrize(
    "change, words",
    [
        ({"frequencies": [10]}, "frequencies is"),
        ({"outputs": ["mode_frequency"]}, "outputs is"),
        ({"axes": {"mass": [1e4]}}, "axes is"),
        ({"chunk": 7}, "chunk is"),
    ],
)
def test_a_store_of_another_sweep_is_refused_with_what_differs(tmp_path, change, words):
    path = tmp_path / "x.zarr"
    uf.sweep(INST, **CALL, store=path)
    known = digest(path)
    with pytest.raises(uf.InvalidError, match=words):
        uf.sweep(INST, **{**CALL, **change}, store=path)
    with pytest.raises(uf.InvalidError, match="base is"):
        uf.sweep(samples.installation(7e6), **CALL, store=path)
    assert digest(path) == known


@pytest.mark.parametrize("key, value", [("0.1.0", "0.0.9"), ("x86_64", "y86_64")])
def test_another_version_or_instruction_set_is_refused(tmp_path, key, value):
    path = tmp_path / "x.zarr"
    uf.sweep(INST, **CALL, store=path)
    meta = path / "zarr.json"
    if key not in meta.read_text():
        pytest.skip(f"{key} is not what this machine writes")
    meta.write_text(meta.read_text().replace(key, value))
    with pytest.raises(uf.InvalidError, match="version is|instruction_set is"):
        uf.sweep(INST, **CALL, store=path)


def test_what_is_no_store_of_ours_is_refused_and_left_alone(tmp_path):
    import zarr

    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_text("mine")
    zarr.create_group(tmp_path / "foreign.zarr")
    for name in ("folder", "file", "foreign.zarr"):
        with pytest.raises(uf.InvalidError, match="no store of a sweep"):
            uf.sweep(INST, **CALL, store=tmp_path / name)
    assert (tmp_path / "file").read_text() == "mine"


def test_memory_stays_flat_with_a_store(tmp_path):
    code = (
        SCRIPT.replace(
            '["damping_ratio", "mode_frequency"], samples=3000',
            '"mode_frequency", samples=int(sys.argv[2])',
        )
        .replace("chunk=40", "chunk=16384")
        .replace(
            'print("done", flush=True)',
            "import resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)",
        )
    )

    def peak(count):
        run = subprocess.run(
            [sys.executable, "-c", code, str(tmp_path / f"{count}.zarr"), str(count)],
            capture_output=True,
            text=True,
            check=True,
        )
        return int(run.stdout)

    few, many = peak(100_000), peak(1_000_000)
    # In memory the difference would be 900 000 designs of 6 doubles: 43 000 kB and more.
    assert many - few < 20_000
