"""Names are data: nothing that is written or shown runs any of them.

In a real browser: tests/browser/test_hostile.py; in a real spreadsheet:
tests/trust/test_libreoffice.py.
"""

import csv
import io
import json
import ntpath
import re
import unicodedata
from pathlib import PurePosixPath, PureWindowsPath
from xml.etree import ElementTree

import ipywidgets
import pytest

import kit.widgets
from kit.blanket import open_blanket
from kit.blanket.stash_csv import csv_of, read_stash
from kit.files.cells import clean_text
from kit.files.csv_records import guard, unguard
from kit.files.folders import file_name
from kit.pictures import fabric_pictures, greys_svg, run_svg, shelf_svg
from kit.pictures.paper import png
from kit.pictures.shortlist import shortlist_svg
from kit.pictures.swatches import swatch
from kit.plan import plan_blanket
from kit.report import summary
from kit.report.report import plan_files
from kit.widgets.panel import Panel
from tests.trust.hostile import NAMES, SCRIPT, hostile_stash
from tests.trust.running import active_parts, shown_text

CHOICES = """
name = {name}
[gauge]
stitches_per_10cm = 20
rows_per_10cm = 26
[size]
width_cm = 12
length_cm = 30
[colours]
by = "value"
bridges = 0
[[sections]]
name = {name}
rows = 20
"""
WORST = f"</title></style><script>{SCRIPT}</script>\"'$\\frac{{1}}$=cmd\x1b[1m\uffff"


def toml_text(text):
    """As TOML writes it: its escapes are JSON's."""
    return json.dumps(text)


def hostile_folder(folder, names=NAMES):
    """A blanket in which everything that may hold text is hostile."""
    (folder / "stash.csv").write_bytes(hostile_stash(names, also=WORST))
    (folder / "shop.csv").write_bytes(hostile_stash(names))
    toml = CHOICES.format(name=toml_text(WORST))
    (folder / "blanket.toml").write_text(toml, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return hostile_folder(tmp_path_factory.mktemp("hostile"))


@pytest.fixture(scope="module")
def plan(folder):
    return plan_blanket(open_blanket(folder))


@pytest.fixture(scope="module")
def files(plan):
    """The plan's files but its pictures, which take their time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("kit.report.report.fabric_pictures", lambda plan, **_: {})
        return plan_files(plan)


def names_of(plan):
    return [yarn.name for yarn in plan.stash.yarns]


def test_there_are_enough(plan):
    """At least 34 kinds of malice reach the plan, each as one yarn."""
    assert len(NAMES) > 34
    assert len(set(names_of(plan))) == len(NAMES)


def test_names_come_whole(plan):
    """Names are what was typed, in one line, without marks that cannot be seen."""
    for name, typed in zip(names_of(plan), NAMES, strict=True):
        clean = clean_text(unguard(typed))[0]
        assert name == clean or re.fullmatch(re.escape(clean) + r" \(\d\)", name)
        assert not any(unicodedata.category(c) == "Cc" for c in name)


def test_the_page_runs_nothing(files):
    """plan.html has no script, no handler, no address of another host."""
    assert active_parts(files["plan.html"].decode()) == []


def test_the_page_shows_every_name(plan, files):
    """What is made harmless is still legible, letter by letter."""
    text = shown_text(files["plan.html"].decode())
    for name in names_of(plan):
        if len(name) < 60:
            assert " ".join(name.split()) in text


def test_the_finder_finds():
    """The check above can fail: the same names unescaped are found out."""
    n_found = sum(bool(active_parts(f"<p title='x'>{name}</p>")) for name in NAMES)
    assert n_found >= 12


def svgs(plan):
    yarns, design = plan.stash.yarns, plan.design
    yield run_svg(design, limit=25)
    yield from (shortlist_svg(one, limit=25, view=0.5) for one in design.suggestions)
    yield shelf_svg(yarns)
    yield shelf_svg(yarns, by="family")
    yield greys_svg(yarns)
    for yarn in yarns:
        yield swatch(yarn, 0, 0, 50, 50)


def test_drawings_run_nothing(plan):
    """Every SVG is well-formed XML with no active part; names are in it as text."""
    drawings = list(svgs(plan))
    for svg in drawings:
        ElementTree.fromstring(svg)
        assert active_parts(svg) == []
    assert any("&lt;script&gt;" in svg for svg in drawings)


DRAWN = [name for name in NAMES if not name.startswith(("<", "&", "]"))]


def check_pictures(plan):
    """Whole PNGs, and no letter left undrawn: warnings are errors here, and matplotlib
    warns of letters that it lacks."""
    images = fabric_pictures(plan, every=True)
    assert len(images) == 4
    for image in images.values():
        data = png(image)
        assert data.startswith(b"\x89PNG\r\n\x1a\n")
        assert data[-8:-4] == b"IEND"


def test_pictures_are_drawn(tmp_path):
    """Mathtext, long names, other scripts."""
    names = DRAWN[9:13] + DRAWN[-18:-8]
    check_pictures(plan_blanket(open_blanket(hostile_folder(tmp_path, names))))


@pytest.mark.long
def test_every_picture_is_drawn(plan):
    """The same with all names."""
    check_pictures(plan)


def cells_of(data):
    text = data.decode("utf-8-sig")
    return [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]


LIVE = tuple("=+-@\t\r＝＋－＠")


def is_number(cell):
    return cell.lstrip("+-").replace(".", "").replace(",", "").isdigit() or cell == "-"


def test_tables_are_safe_for_spreadsheets(plan, files):
    """No cell of schedule.csv or stash.csv would run, however blanks lead it."""
    for data in (files["schedule.csv"], csv_of(plan.stash).encode()):
        live = [c for c in cells_of(data) if c.lstrip(" \xa0").startswith(LIVE)]
        assert [cell for cell in live if not is_number(cell)] == []


def test_tables_can_be_undone(plan):
    """What was put in front of a formula comes off again: the stash reads the same."""
    again = read_stash(csv_of(plan.stash).encode())
    assert again.yarns == plan.stash.yarns
    assert again.table == plan.stash.table
    assert all(unguard(guard(name)) == name for name in NAMES)


def test_plan_json_holds_the_names(plan, files):
    """Exactly, in plain JSON."""
    made = json.loads(files["plan.json"])
    assert [yarn["name"] for yarn in made["yarn"]] == names_of(plan)
    assert made["name"] == plan.choices.name


def test_nothing_said_moves_a_terminal(plan):
    """The summary has no control character: no colours, no bells, no overwriting."""
    said = "\n".join([*summary(plan), *plan.assumed, *plan.cautions])
    marks = {c for c in said if unicodedata.category(c) == "Cc"}
    assert marks <= {"\n"}


@pytest.mark.parametrize("name", [*NAMES, "a\0b", "..", ".", "", " ", "a" * 300])
def test_file_names_stay_in_the_folder(name):
    """On POSIX and on Windows a name becomes one plain part of a path."""
    made = file_name(name)
    assert PurePosixPath("folder", made).parent == PurePosixPath("folder")
    windows = PureWindowsPath("folder", f"{made}.csv")
    assert windows.parent == PureWindowsPath("folder")
    if hasattr(ntpath, "isreserved"):  # Python 3.13
        assert not ntpath.isreserved(windows)
    else:
        assert not windows.is_reserved()
    assert len(made.encode()) < 100


# --- controls -------------------------------------------------------------------------


def widgets_in(widget):
    """A widget and all below it, once."""
    seen, waiting = {}, [widget]
    while waiting:
        one = waiting.pop()
        if id(one) in seen:
            continue
        seen[id(one)] = one
        for value in one._trait_values.values():
            values = value if isinstance(value, list | tuple) else [value]
            waiting += [v for v in values if isinstance(v, ipywidgets.Widget)]
    return list(seen.values())


RAW = (ipywidgets.HTML, ipywidgets.HTMLMath)


def check_widgets(root):
    """No widget that takes markup holds a name; drawings have no active part."""
    every = widgets_in(root)
    assert len(every) > 10
    for one in every:
        if isinstance(one, RAW):
            assert active_parts(one.value) == []
            assert SCRIPT not in one.value
        if isinstance(one, ipywidgets.Image) and one.format == "svg+xml" and one.value:
            assert active_parts(bytes(one.value).decode()) == []


def still_is_quiet(part):
    """The picture for readers without a kernel runs nothing either."""
    bundle = part._repr_mimebundle_()
    data = bundle[0] if isinstance(bundle, tuple) else bundle
    for kind, value in data.items():
        if kind.startswith("text/html") or kind == "image/svg+xml":
            assert active_parts(value) == []


@pytest.mark.parametrize("name", ["StashDesk", "ColourDesk", "FabricDesk"])
def test_controls_run_nothing(folder, name):
    """The desks of the notebooks, opened on the hostile blanket."""
    made = getattr(kit.widgets, name)(folder)
    roots = [w for w in vars(made).values() if isinstance(w, ipywidgets.Widget)]
    every = ipywidgets.VBox(roots)
    check_widgets(every)
    for root in roots:
        if isinstance(root, Panel):
            still_is_quiet(root)
