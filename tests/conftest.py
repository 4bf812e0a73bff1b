"""What all tests share.

python -m pytest --hypothesis-profile=many        a thousand drawn examples each
"""

import gc
import os

import pytest
from hypothesis import settings

# No deadline: a busy machine is no fault.
settings.register_profile("few", deadline=None, max_examples=30)
settings.register_profile("many", deadline=None, max_examples=1000)
settings.load_profile("few")

collect_ignore = ["conftest.py"]  # for doctests: one of this name is enough

# Before numpy comes in: workers beside each other only wait for each other's threads.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")


def pytest_ignore_collect(collection_path, config):
    """What a run leaves out whole is not even imported: it brings in a browser."""
    apart = collection_path.name
    left_out = f"not {apart}" in config.getoption("markexpr")
    return True if apart in ("browser", "bench") and left_out else None


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """A file's tests stay together, so that what they share is worked out once."""
    from xdist.scheduler import LoadFileScheduling

    return LoadFileScheduling(config, log)


@pytest.hookimpl(trylast=True)
def pytest_collection_finish():
    """What is imported stays to the end: nothing of it need be looked through again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def no_waiting_for_the_disk():
    """No test pulls the plug: that files are synced is tested, the disk is not."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda number: None)
        yield


@pytest.fixture
def rng():
    """Numbers by lot, the same ones every time."""
    import numpy as np

    return np.random.default_rng(2005)


@pytest.fixture
def no_pictures(monkeypatch):
    """Plans without their pictures, which take their time and are tested elsewhere."""
    monkeypatch.setattr("kit.report.report.fabric_pictures", lambda plan, **_: {})
