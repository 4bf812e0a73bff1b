"""Through a real spreadsheet and back: `python -m pytest -m long -k libreoffice`.

Needs LibreOffice Calc (`apt-get install --no-install-recommends libreoffice-calc`);
skipped where there is none.
"""

import random
import shutil
import subprocess
import zipfile

import pytest

from kit.blanket.choices_toml import read_choices
from kit.blanket.stash_csv import csv_of, read_stash
from kit.plan import plan
from kit.report.schedule_csv import schedule_csv
from tests.trust.hostile import hostile_stash

pytestmark = pytest.mark.long

# Comma, quotation mark, UTF-8: the tokens of LibreOffice's text import.
AS_CSV = "Text - txt - csv (StarCalc):44,34,76"


@pytest.fixture(scope="module")
def convert(tmp_path_factory):
    """Open a file in LibreOffice and save it in another format; the new file."""
    program = shutil.which("soffice")
    if not program:
        pytest.skip("LibreOffice Calc is not installed")
    home = tmp_path_factory.mktemp("office")

    def convert(path, kind, *, more=""):
        out = path.parent / f"as {kind.partition(':')[0]}"
        subprocess.run(
            [
                *(program, f"-env:UserInstallation={home.as_uri()}", "--headless"),
                *([f"--infilter={AS_CSV}{more}"] if path.suffix == ".csv" else []),
                *("--convert-to", kind, "--outdir", str(out), str(path)),
            ],
            check=True,
            capture_output=True,
            timeout=120,
        )
        (made,) = out.iterdir()
        return made

    return convert


def stash_text(n=300, seed=1):
    """A stash.csv as the kit writes it: drawn colours, amounts and hostile names."""
    rng = random.Random(seed)
    rows = ["name,colours,grams,metres_per_100g,metres,notes"]
    for k in range(n):
        n_colours = rng.randint(1, 3)
        colours = ", ".join(f"#{rng.randrange(1 << 24):06x}" for _ in range(n_colours))
        # Three digits behind the point could mean thousands: such a CSV is refused.
        n_digits = rng.choice([0, 1, 3, 4, 5])
        digits = f"{rng.randrange(10**n_digits):0{n_digits}}{k % 9 + 1}"
        digits = digits[-n_digits - 1 :]
        grams = rng.choice(["", "1e2", f"{rng.randrange(500)}.{digits}"])
        rows.append(f'Yarn {k},"{colours}",{grams},{rng.randint(50, 900)},,x')
    stash = read_stash("\n".join(rows).encode())
    return csv_of(stash)


def facts(stash):
    return [(y.mix, y.grams, y.metres, y.label.metres_per_100g) for y in stash.yarns]


@pytest.mark.parametrize("kind", ["xlsx", "ods", f"csv:{AS_CSV}"])
def test_no_colour_and_no_number_changes(convert, tmp_path, kind):
    """Written by the kit, opened and saved by LibreOffice, read: the same yarns."""
    path = tmp_path / "stash.csv"
    path.write_text(stash_text(), encoding="utf-8")
    before = read_stash(path.read_bytes())
    after = read_stash(convert(path, kind).read_bytes())
    assert facts(after) == facts(before)
    assert [y.name for y in after.yarns] == [y.name for y in before.yarns]


# With "detect special numbers" and, last, "evaluate formulas": as careless as it can be
# opened.
CARELESS = ",1,,0,false,true,false,false,false,-1,true"


def n_formulas(book):
    with zipfile.ZipFile(book) as parts:
        sheets = [n for n in parts.namelist() if n.startswith("xl/worksheets/sheet")]
        return sum(parts.read(name).count(b"<f") for name in sheets)


def test_nothing_that_is_written_runs(convert, tmp_path):
    """Hostile names: no cell of the opened file is a formula; all names come back."""
    before = read_stash(hostile_stash())
    path = tmp_path / "stash.csv"
    path.write_text(csv_of(before), encoding="utf-8", newline="")
    book = convert(path, "xlsx", more=CARELESS)
    assert n_formulas(book) == 0
    after = read_stash(book.read_bytes())
    assert len(after.yarns) == len(before.yarns)


def test_the_schedule_does_not_run_either(convert, tmp_path):
    """schedule.csv of a plan with hostile names, opened in the same way."""
    made = plan(read_stash(hostile_stash()), read_choices('name = "=1+1"'))
    path = tmp_path / "schedule.csv"
    path.write_text(schedule_csv(made), encoding="utf-8", newline="")
    assert n_formulas(convert(path, "xlsx", more=CARELESS)) == 0


def test_the_spreadsheet_would_run_them(convert, tmp_path):
    """The two checks above can fail: unguarded, the same cell is a formula."""
    path = tmp_path / "raw.csv"
    path.write_text("name,colours\n=1+1,#fff\n")
    assert n_formulas(convert(path, "xlsx", more=CARELESS)) == 1
