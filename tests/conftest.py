"""What all tests share."""

import os

import pytest


@pytest.fixture(scope="session", autouse=True)
def no_waiting_for_the_disk():
    """No test pulls the plug: that files are synced is tested, the disk is not."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda number: None)
        yield
