"""Are the pins of constraints.txt known to be vulnerable? `python .ci/audit.py`

Asks the public advisory database by way of pip-audit. Exit 1 for a pin with a known
vulnerability, 0 otherwise; where the database could not be asked, that is said, and for
how many pins: an audit that did not happen is never reported as a clean one.
"""

import json
import subprocess
import sys
from pathlib import Path

PINS = Path(__file__).with_name("constraints.txt")
TIMEOUT_S = 300


def main() -> int:
    """Run pip-audit on the pins, say what came of it."""
    found, trouble = report()
    code, lines = verdict(found, pins(PINS.read_text("utf-8")), trouble)
    print("\n".join(lines))
    return code


def pins(text: str) -> list[str]:
    """`name==version` of every pin."""
    lines = (line.partition("#")[0].strip() for line in text.splitlines())
    return [line for line in lines if "==" in line]


def report() -> tuple[dict, str]:
    """pip-audit's report, and what stood in its way; {} where there is none."""
    call = [sys.executable, "-m", "pip_audit", "-r", str(PINS), "--no-deps"]
    call += ["--disable-pip", "--progress-spinner", "off", "-f", "json"]
    try:
        done = subprocess.run(call, capture_output=True, text=True, timeout=TIMEOUT_S)
        return json.loads(done.stdout), ""
    except subprocess.TimeoutExpired:
        return {}, "it did not answer in time"
    except ValueError:
        last = (done.stderr.strip() or "pip-audit said nothing").splitlines()[-1]
        return {}, last


def verdict(found: dict, asked: list[str], trouble: str = "") -> tuple[int, list[str]]:
    """The exit code and what to say of pip-audit's report.

    Parameters: the report as pip-audit writes it, the pins it was asked about, and why
    there is no report where it is empty.
    """
    known = [one for one in found.get("dependencies", []) if "vulns" in one]
    bad = [
        f"VULNERABLE {one['name']}=={one['version']}: {flaw['id']}, mended in "
        f"{', '.join(flaw.get('fix_versions', [])) or 'no version yet'}"
        for one in known
        for flaw in one["vulns"]
    ]
    n_unknown = len(asked) - len(known)
    lines = bad + [
        f"{len(known)} of {len(asked)} pins audited, {len(bad)} flaws known."
    ]
    if n_unknown:
        why = f" ({trouble})" if trouble else ""
        lines.append(
            f"NOT AUDITED: the advisory database could not be asked about {n_unknown} "
            f"pins{why}. This is no clean bill for them."
        )
    return (1 if bad else 0), lines


if __name__ == "__main__":
    sys.exit(main())
