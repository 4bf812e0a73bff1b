"""The audit of CI's pins: a flaw fails, silence is never taken for health."""

import importlib.util
import tomllib
from pathlib import Path

import pytest

CI = Path(__file__).resolve().parent.parent.parent / ".ci"
pytestmark = pytest.mark.skipif(not CI.is_dir(), reason="a copy without .ci")

PINS = ["pillow==13.0.0", "jinja2==3.1.6"]
# As pip-audit 2.10 writes it, shortened.
FLAW = {"id": "PYSEC-0000-1", "fix_versions": ["13.0.1"], "aliases": []}
CLEAN = {"name": "jinja2", "version": "3.1.6", "vulns": []}
FLAWED = {"name": "pillow", "version": "13.0.0", "vulns": [FLAW]}
SKIPPED = {"name": "pillow", "skip_reason": "Dependency could not be audited"}


@pytest.fixture(scope="module")
def audit():
    spec = importlib.util.spec_from_file_location("audit", CI / "audit.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    ("found", "code", "said"),
    [
        (
            [FLAWED, CLEAN],
            1,
            [
                "VULNERABLE pillow==13.0.0: PYSEC-0000-1, mended in 13.0.1",
                "2 of 2 pins audited, 1 flaws known.",
            ],
        ),
        (
            [{**FLAWED, "vulns": []}, CLEAN],
            0,
            ["2 of 2 pins audited, 0 flaws known."],
        ),
        (
            [SKIPPED, CLEAN],
            0,
            [
                "1 of 2 pins audited, 0 flaws known.",
                "NOT AUDITED: the advisory database could not be asked about 1 pins. "
                "This is no clean bill for them.",
            ],
        ),
    ],
)
def test_verdicts(audit, found, code, said):
    """Flaws fail the step; what was skipped is counted as not audited."""
    assert audit.verdict({"dependencies": found}, PINS) == (code, said)


def test_no_report(audit):
    """Where the database was out of reach, that is what is said."""
    assert audit.verdict({}, PINS, "no route") == (
        0,
        [
            "0 of 2 pins audited, 0 flaws known.",
            "NOT AUDITED: the advisory database could not be asked about 2 pins "
            "(no route). This is no clean bill for them.",
        ],
    )


def test_all_pins_are_asked_about(audit):
    """Every pin of the constraints; and what the kit and its tests need has one."""
    asked = audit.pins((CI / "constraints.txt").read_text("utf-8"))
    named = {pin.partition("==")[0] for pin in asked}
    project = tomllib.loads((CI.parent / "pyproject.toml").read_text("utf-8"))[
        "project"
    ]
    extras = project["optional-dependencies"]
    needed = [*project["dependencies"], *extras["test"], *extras["browser"]]
    assert {need.partition(">=")[0] for need in needed} <= named
    assert all(">=" in need for need in needed)
    assert len(named) == len(asked) > 50
