"""How long the kit takes to start: `python -m pytest -m bench -s tests/bench`.

Each is the best of five fresh Pythons, over one that imports pandas and nothing else.
"""

import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.bench

ROOT = Path(__file__).parents[2]
STARTS = {
    "import kit": ["-c", "import kit"],
    "python -m kit --help": ["-m", "kit", "--help"],
    "kit.open_blanket of the demo": [
        "-c",
        "import kit; kit.open_blanket(kit.shared_folder('data') / 'reading-room')",
    ],
    "python -m kit check of the demo": ["-m", "kit", "check", "data/reading-room"],
}


def seconds(words, times=5):
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, *words], check=True, cwd=ROOT, stdout=subprocess.DEVNULL
        )
        taken.append(time.perf_counter() - begun)
    return min(taken)


def test_starts(capsys):
    """Every start goes through; what it takes is printed as a share of pandas'."""
    pandas = seconds(["-c", "import pandas"])
    with capsys.disabled():
        for name, words in STARTS.items():
            print(f"\n{name}: {seconds(words) / pandas:.2f} of a Python with pandas")
