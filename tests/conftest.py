"""What all tests share."""

import gc
import os

import pytest
from hypothesis import settings

settings.register_profile("untimed", deadline=None)  # a busy machine is no fault
settings.load_profile("untimed")

collect_ignore = ["conftest.py"]  # for doctests: one of this name is enough

# Before numpy comes in: workers beside each other only wait for each other's threads.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")


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
