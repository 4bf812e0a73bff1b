"""The blanket folder: opened whole, planned, its choices changed and saved."""

import json
import shutil
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import blanket as module
from kit.blanket import (
    cautions,
    changed_toml,
    choose,
    name_faults,
    open_blanket,
    plan,
    plan_blanket,
    save_choices,
)
from kit.choices import ARRANGEMENTS, LAYOUTS, Choices, Size
from kit.errors import KitError
from kit.files import shared_folder
from kit.keys import read_settings
from kit.stash import read_stash
from kit.steps import largest_step, median_step
from tests.yarns import names, yarn

DEMO = shared_folder("data") / "reading-room"
SILVER = Path(__file__).parent / "silver" / "reading_room.json"

STASH = """name,colours,grams,family,role
Sage,#9caf88,50,,
Cream,#f4efe0,60,,
Coal,#222222,40,,
Plum,#5c3458,30,,
Stone,#8a8378,20,,bridge
"""
CHOICES = """# Our hall blanket
name = "Hall"          # short

[colours]   # what we like
by = "value"
bridges=0
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "stash.csv").write_text(STASH, encoding="utf-8")
    (tmp_path / "blanket.toml").write_text(CHOICES, encoding="utf-8")
    return tmp_path


def demo_below(place: Path) -> Path:
    """A copy of the demo without gauge and size: the colours alone, in no time."""
    shutil.copytree(DEMO, place / "demo")
    path = place / "demo" / "blanket.toml"
    text = path.read_text(encoding="utf-8")
    start, end = text.index("[gauge]"), text.index("[colours]")
    path.write_text(text[:start] + text[end:], encoding="utf-8")
    return place / "demo"


@pytest.fixture
def demo(tmp_path):
    return demo_below(tmp_path)


def refusal(act, *args, **keys) -> str:
    with pytest.raises(KitError) as caught:
        act(*args, **keys)
    return str(caught.value)


# --- opening --------------------------------------------------------------------------


def test_open(folder):
    """A folder with a stash and choices is a blanket; a shop list is welcome."""
    blanket = open_blanket(folder)
    assert repr(blanket) == "Blanket('Hall', 5 yarns)"
    assert blanket.shop is None
    (folder / "shop.csv").write_text("name,colours\nSage,#fff\nMist,#eee\n")
    assert names(open_blanket(folder).shop.yarns) == ["Sage (shop)", "Mist"]
    assert open_blanket(str(folder)).choices == blanket.choices


def test_another_shop_file(folder):
    """A shop file that is named is read instead of the folder's own."""
    (folder / "shop.csv").write_text("broken")
    other = folder / "wool shop.csv"
    other.write_text("name,colours\nMist,#eee\n")
    assert names(open_blanket(folder, shop_file=other).shop.yarns) == ["Mist"]
    missing = folder / "no.csv"
    said = refusal(open_blanket, folder, shop_file=missing)
    assert said == f"There is no file {missing}. Check its name and its folder."


def test_settings_win(folder):
    """A setting of the call wins over the file and leaves it alone."""
    blanket = open_blanket(folder, settings=read_settings(["colours.by=smoothest"]))
    assert blanket.choices.arranging.by == "smoothest"
    assert (folder / "blanket.toml").read_text(encoding="utf-8") == CHOICES


def test_no_folder(folder):
    """A folder that is not there, or is a file, is one sentence."""
    for path in (folder / "gone", folder / "stash.csv"):
        assert refusal(open_blanket, path) == f"There is no folder {path}."


def test_empty_folder(tmp_path):
    """Both missing files are named at once."""
    assert refusal(open_blanket, tmp_path).splitlines() == [
        f"There is no file {tmp_path / name}. Check its name and its folder."
        for name in ("stash.csv", "blanket.toml")
    ]


@pytest.mark.parametrize("text", ["", "\ufeff", "\n\n", " ,,\n"])
def test_empty_stash(folder, text):
    """An empty stash is said to be empty."""
    (folder / "stash.csv").write_text(text, encoding="utf-8")
    assert refusal(open_blanket, folder) == "stash.csv: The file is empty."


def test_empty_choices(folder):
    """An empty file of choices lacks a name and no more."""
    (folder / "blanket.toml").write_text("")
    said = "blanket.toml, name: found nothing, expected a value."
    assert refusal(open_blanket, folder) == said
    (folder / "blanket.toml").write_bytes(b'\xef\xbb\xbfname = "Hall"\r\n')
    assert open_blanket(folder).choices.name == "Hall"


def test_choices_in_another_encoding(folder):
    """A file that is not UTF-8 is said to be so."""
    (folder / "blanket.toml").write_bytes('name = "Été"'.encode("latin-1"))
    said = "blanket.toml: is not UTF-8 text; save it again as UTF-8."
    assert refusal(open_blanket, folder) == said


def test_faults_of_all_files_together(folder):
    """Every fault of every file is reported, each with its place."""
    (folder / "stash.csv").write_text("name,colours,grams\nSage,#9caf88,-5\n,#fff,1\n")
    (folder / "shop.csv").write_text("name,colours\nMist,#ggg\n")
    (folder / "blanket.toml").write_text('name = "A"\nunits = "feet"\nx = 1\n')
    with pytest.raises(KitError) as caught:
        open_blanket(folder)
    places = [(f.file, f.row, f.column) for f in caught.value.faults]
    assert places == [
        ("stash.csv", 2, "grams"),
        ("stash.csv", 3, "name"),
        ("shop.csv", 2, "colours"),
        ("blanket.toml", None, "units"),
        ("blanket.toml", None, ""),
    ]


def test_unknown_families_are_faults(folder):
    """A family that there is not is said with its row, not met in the middle."""
    text = STASH.replace("50,,", "50,greeens,").replace("60,,", "60,Creams,")
    (folder / "stash.csv").write_text(text.replace("40,,", "40,blue-ish,"))
    (folder / "shop.csv").write_text("name,colours,family\nMist,#eee,heathers\n")
    known = (
        "Known: reds, oranges, browns, yellows, olives, greens, teals, blues, "
        "purples, pinks, neutrals."
    )
    assert refusal(open_blanket, folder).splitlines() == [
        'stash.csv, row 2 ("Sage"), family: No family called "greeens". Did you mean '
        f'"greens"? {known}',
        'stash.csv, row 4 ("Coal"), family: No family called "blue-ish". Did you mean '
        f'"blues"? {known}',
        f'shop.csv, row 2 ("Mist"), family: No family called "heathers". {known}',
    ]


LISTED = {
    "accents": '[["Sage", "Creme"]]',
    "order": '["Creme"]',
    "locked": '["Creme"]',
    "bridges_kept": '[{ yarn = "Creme", after = "Sage", before = "Plum" }]',
}


@pytest.mark.parametrize("key", LISTED)
def test_unknown_yarns_are_faults(folder, key):
    """A name that no yarn has is a fault, with the nearest yarn."""
    text = CHOICES + f"{key} = {LISTED[key]}\n"
    (folder / "blanket.toml").write_text(text, encoding="utf-8")
    assert refusal(open_blanket, folder) == (
        f'blanket.toml, colours.{key}: No yarn called "Creme". Did you mean "Cream"? '
        "Known: Sage, Cream, Coal, Plum, Stone."
    )


def test_unknown_carried_yarn_is_a_fault(folder):
    """The same for a yarn carried along."""
    text = CHOICES + '[[carry]]\nyarn = "Mist"\n'
    (folder / "blanket.toml").write_text(text, encoding="utf-8")
    said = 'blanket.toml, carry: No yarn called "Mist". '
    assert refusal(open_blanket, folder).startswith(said)


def test_shop_yarns_are_known(folder):
    """A skein of the shop may be named; a broken shop list makes no name unknown."""
    kept = 'bridges_kept = [{ yarn = "Mist", after = "Sage", before = "Plum" }]\n'
    (folder / "blanket.toml").write_text(CHOICES + kept, encoding="utf-8")
    (folder / "shop.csv").write_text("name,colours\nMist,#eee\n")
    assert open_blanket(folder).choices.bridging.bridges_kept[0].yarn == "Mist"
    (folder / "shop.csv").write_text("name,colours\nMist,#ggg\n")
    with pytest.raises(KitError) as caught:
        open_blanket(folder)
    assert [fault.file for fault in caught.value.faults] == ["shop.csv"]


def test_twins_are_named_apart(folder):
    """The second of two equal names is named as it is told apart."""
    (folder / "stash.csv").write_text("name,colours\nSage,#9caf88\nSage,#222\n")
    order = 'order = ["Sage (2)", "Sage"]\n'
    (folder / "blanket.toml").write_text(CHOICES + order, encoding="utf-8")
    found = plan_blanket(open_blanket(folder))
    assert names(found.design.laid.yarns) == ["Sage (2)", "Sage"]


def test_name_faults_of_known_names():
    """Choices that name nobody, or yarns that there are, have no faults."""
    assert name_faults(Choices("A"), [yarn("a", 50)]) == []


# --- planning -------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["bridge", "leave out"])
def test_no_yarn_to_arrange(role):
    """Where no row is to be used, that is said."""
    stash = read_stash(f"name,colours,role\nSage,#9caf88,{role}\n".encode())
    assert refusal(plan, stash, Choices("A")) == (
        "stash.csv, role: No yarn to arrange: every row is held back, left out or "
        "carried along."
    )


def test_colours_alone(folder):
    """Without gauge and size the plan is the colours, and says so once."""
    found = plan_blanket(open_blanket(folder))
    assert found.fabric is None
    assert names(found.design.laid.yarns) == ["Cream", "Sage", "Plum", "Coal"]
    alone = [line for line in found.assumed if "colour design alone" in line]
    assert len(alone) == 1
    assert sum(line.startswith("[colours] by default") for line in found.assumed) == 1


@pytest.mark.parametrize("by", ARRANGEMENTS)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_rows_of_the_stash_do_not_matter(demo, by, layout):
    """The demo's rows backwards give the same plan; only unnumbered tags differ."""
    words = [f"colours.by={by}", f"colours.layout={layout}"]
    blanket = open_blanket(demo, settings=read_settings(words))
    stash = blanket.stash
    backwards = replace(stash, yarns=stash.yarns[::-1])
    shop = blanket.shop.yarns
    one, two = (
        plan(stash, blanket.choices, shop=shop).design,
        plan(backwards, blanket.choices, shop=shop[::-1]).design,
    )
    assert names(one.laid.yarns) == names(two.laid.yarns)
    assert (one.steps, one.bridges) == (two.steps, two.bridges)
    assert one.suggestions == two.suggestions
    assert one.arrangement == two.arrangement


def test_the_last_plans_are_remembered(demo):
    """The same files and choices give the plan that was made of them, and no other;
    it is the one that is found when all is worked out anew."""
    blanket = open_blanket(demo)
    made = plan_blanket(blanket)
    other = plan_blanket(choose(blanket, by="value"))
    assert plan_blanket(open_blanket(demo)) is made
    assert names(other.design.laid.yarns) != names(made.design.laid.yarns)
    shop = blanket.shop.yarns
    assert plan(blanket.stash, blanket.choices, shop=shop) == made
    (demo / "shop.csv").unlink()
    assert plan_blanket(open_blanket(demo)) is not made


def demo_numbers(folder) -> dict[str, dict]:
    """What is frozen of the demo: the largest and median step, the bridge, the ends."""
    found = {}
    for by in ARRANGEMENTS:
        for layout in LAYOUTS:
            words = [f"colours.by={by}", f"colours.layout={layout}"]
            blanket = open_blanket(folder, settings=read_settings(words))
            design = plan_blanket(blanket).design
            best = design.arrangement.best
            found[f"{by}, {layout}"] = {
                "order": names(design.before.yarns),
                "bridges": [
                    [bridge.after.name, bridge.yarn.name, bridge.before.name]
                    for bridge in design.bridges
                ],
                "largest_before": round(largest_step(design.steps_before), 4),
                "largest": round(largest_step(design.steps), 4),
                "median": round(median_step(design.steps), 4),
                "best_possible": best and round(best.largest, 4),
            }
    return found


def test_demo_is_as_it_was(demo):
    """The demo's plan does not change unnoticed.

    Our own frozen results: no proof that they are right. Where a change is meant, write
    the file anew with `python -m tests.test_blanket` and say why in the changelog.
    """
    frozen = json.loads(SILVER.read_text(encoding="utf-8"))["plans"]
    found = demo_numbers(demo)
    assert set(found) == set(frozen)
    for way, then in frozen.items():
        now = found[way]
        for key in ("order", "bridges"):
            assert now[key] == then[key], way
        for key in ("largest_before", "largest", "median", "best_possible"):
            assert now[key] == pytest.approx(then[key], abs=2e-4), (way, key)


def test_demo_shows_what_it_is_for(demo):
    """The demo has a bridge that helps, an accent, an odd one out and a gap to fill."""
    found = plan_blanket(open_blanket(demo))
    design = found.design
    (bridge,) = design.bridges
    assert bridge.largest_after < bridge.largest_before - 3
    assert [one.role for one in design.laid.yarns].count("accent") == 1
    assert sum(step.accent for step in design.steps) == 2
    beside = [{one.after.name, one.before.name} for one in design.suggestions]
    assert any("Deckhand's Whistle" in pair for pair in beside)
    assert any(one.sought for one in design.suggestions)
    assert "Raffle Prize" not in names(design.laid.yarns)


# --- cautions -------------------------------------------------------------------------


def test_cautions():
    """Three calm lines; washing says more only where these yarns give a reason."""
    pale = yarn("pale", (85, 0, -10))
    sleep, washing, loose = cautions([pale])
    assert sleep == (
        "A blanket is not for a baby's sleep space unless the local health service "
        "says so; follow its advice."
    )
    assert washing == "Wash by the gentlest label among the yarns used."
    assert "choking risk" in loose
    wool = replace(pale, label=replace(pale.label, fibre="wool"))
    superwash = replace(wool, label=replace(wool.label, care="Superwash"))
    assert "pucker" in cautions([wool, superwash])[1]
    assert "pucker" not in cautions([wool])[1]
    for lab in ((30, 0, 0), (50, 50, 20)):
        assert "bleeding" in cautions([pale, yarn("x", lab)])[1]
        left_out = yarn("x", lab, role="leave out")
        assert "bleeding" not in cautions([pale, left_out])[1]


# --- choices changed ------------------------------------------------------------------


def test_choose_saves_nothing(folder):
    """Other choices give another blanket; neither the first nor its file changes."""
    blanket = open_blanket(folder)
    other = choose(blanket, by="family", value_slack="none")
    assert other.choices.arranging.by == "family"
    assert other.choices.judging == blanket.choices.judging
    assert blanket.choices.arranging.by == "value"
    assert (folder / "blanket.toml").read_text(encoding="utf-8") == CHOICES
    assert choose(other, by=None).choices.arranging.by == "family"  # the default


def test_choices_add_up(folder):
    """One change after the other keeps the first, and settings of the call."""
    blanket = open_blanket(folder, settings=read_settings(["colours.view=1"]))
    both = choose(choose(blanket, by="smoothest"), layout="mirrored")
    assert both.choices.arranging.by == "smoothest"
    assert both.choices.laying.layout == "mirrored"
    assert both.choices.judging.view == 1


def test_wrong_choice_is_said(folder):
    """A wrong value, key or yarn is refused in words, and the file stays."""
    blanket = open_blanket(folder)
    for act in (choose, lambda b, **changes: save_choices(b, changes)):
        assert refusal(act, blanket, by="smothest") == (
            'colours.by: No arrangement called "smothest". Did you mean "smoothest"? '
            "Known: value, family, smoothest."
        )
        assert refusal(act, blanket, bye="value").startswith(
            'No key called "colours.bye". Did you mean "colours.by"?'
        )
        assert refusal(act, blanket, order=["Creme"]).startswith(
            'blanket.toml, colours.order: No yarn called "Creme". Did you mean "Cream"?'
        )
    assert (folder / "blanket.toml").read_text(encoding="utf-8") == CHOICES


def test_save_keeps_remarks_and_the_last_file(folder):
    """Changed keys change in place; remarks, order and spacing stay; .bak is kept."""
    blanket = open_blanket(folder)
    saved = save_choices(blanket, {"by": "smoothest", "layout": "mirrored"})
    assert saved.choices.arranging.by == "smoothest"
    assert saved.choices.laying.layout == "mirrored"
    text = (folder / "blanket.toml").read_text(encoding="utf-8")
    assert text == (
        CHOICES.replace('by = "value"', 'by = "smoothest"') + 'layout = "mirrored"\n'
    )
    assert (folder / "blanket.toml.bak").read_text(encoding="utf-8") == CHOICES
    assert open_blanket(folder) == saved
    taken = save_choices(saved, {"by": None})
    assert taken.choices.arranging.by == "family"
    assert "by =" not in (folder / "blanket.toml").read_text(encoding="utf-8")


def test_save_keeps_edits_made_before(folder):
    """What was edited since the blanket was opened is kept, and is in the result."""
    blanket = open_blanket(folder)
    edited = CHOICES.replace("bridges=0", "bridges=2  # mine")
    (folder / "blanket.toml").write_text(edited, encoding="utf-8")
    saved = save_choices(blanket, {"by": "family"})
    assert saved.choices.bridging.bridges == 2
    assert "bridges=2  # mine" in (folder / "blanket.toml").read_text(encoding="utf-8")


def test_save_keeps_edits_made_meanwhile(folder, monkeypatch):
    """A file that changes while it is being saved is read again: both changes stand."""
    blanket, path = open_blanket(folder), folder / "blanket.toml"
    real = module.read_choices

    def slow(text, **keys):
        path.write_text('name = "By another hand"', encoding="utf-8")
        return real(text, **keys)

    monkeypatch.setattr(module, "read_choices", slow)
    saved = save_choices(blanket, {"by": "family"})
    assert (saved.choices.name, saved.choices.arranging.by) == (
        "By another hand",
        "family",
    )
    text = path.read_text(encoding="utf-8")
    assert text == 'name = "By another hand"\n\n[colours]\nby = "family"\n'


def test_save_gives_way_in_the_end(folder, monkeypatch):
    """A file that another program changes without end is left to it, and said so."""
    blanket, path = open_blanket(folder), folder / "blanket.toml"
    real, n_changes = module.read_choices, []

    def restless(text, **keys):
        n_changes.append(1)
        path.write_text(f'name = "Change {len(n_changes)}"', encoding="utf-8")
        return real(text, **keys)

    monkeypatch.setattr(module, "read_choices", restless)
    assert refusal(save_choices, blanket, {"by": "family"}) == (
        f"{path} was not saved: another program has changed it since it was read. "
        "Read it again and make the change once more."
    )
    assert path.read_text(encoding="utf-8") == f'name = "Change {len(n_changes)}"'
    assert not (folder / "blanket.toml.bak").exists()


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (b"name = ", "blanket.toml: cannot be read as TOML: "),
        (b'name = "A"\ncolours = 3\n', "blanket.toml, colours: found 3, expected a ta"),
        (b"[colours]\n", "blanket.toml, name: found nothing, expected a value."),
        (b'name = "\xe9"', "blanket.toml: is not UTF-8 text; save it again as UTF-8."),
    ],
)
def test_save_refuses_a_broken_file(folder, broken, said):
    """A file broken since it was opened is not saved over, and what ails it is said."""
    blanket = open_blanket(folder)
    (folder / "blanket.toml").write_bytes(broken)
    assert refusal(save_choices, blanket, {"by": "family"}).startswith(said)
    assert (folder / "blanket.toml").read_bytes() == broken


def test_save_without_the_file(folder):
    """A file taken away meanwhile is missed in words."""
    blanket = open_blanket(folder)
    (folder / "blanket.toml").unlink()
    said = f"There is no file {folder / 'blanket.toml'}. Check its name and its folder."
    assert refusal(save_choices, blanket, {"by": "family"}) == said


# --- changed text ---------------------------------------------------------------------

TEXTS = [
    'name = "A"\n',
    'name = "A"',
    "# only a remark\n",
    'name = "A"\n[colours]',
    'name = "A"\n\n[colours]  # ours\nby = "value"   # mine\n\n\n[pace]\nuse="all"\n',
    'name = "A"\r\n[colours]\r\nby = "value"  # mine\r\n\r\n[pace]\r\nuse = "all"\r\n',
    'name = "A"\ncolours.by = "value"\n',
    'name = "A"\ncolours = { by = "value" }  # short\n',
    'name="A"\n[pace]\nuse="all"\n[[carry]]\nyarn="x"  # soft\n',
    'name = "A"\n[colours]\norder = [\n  "A", # first\n  "B",\n]\n# end\n',
    'name="A"\n[colours]\nview=1\n[[colours.bridges_kept]]\nyarn="a"\nafter="b"\n'
    'before="c"\n[pace]\nuse="all"\n',
]
VALUES = {
    "by": ["value", "smoothest", None],
    "view": [0, 0.25, None],
    "value_slack": ["none", 8, None],
    "order": [["A", 'B "C"'], [], None],
    "accents": [[["A", "B"]], None],
    "bridges_kept": [[{"yarn": "a", "after": "b", "before": "c"}], [], None],
}


@given(
    st.sampled_from(TEXTS),
    st.fixed_dictionaries(
        {}, optional={k: st.sampled_from(v) for k, v in VALUES.items()}
    ),
)
@settings(max_examples=200, deadline=None)
def test_changed_text_says_what_it_should(text, changes):
    """The text means what it did with the keys changed; remarks and lines stay."""
    changed = changed_toml(text, changes)
    meant = tomllib.loads(text)
    table = meant.pop("colours", {})
    table |= changes
    table = {key: value for key, value in table.items() if value is not None}
    says = tomllib.loads(changed)
    assert says.pop("colours", {}) == table
    assert says == meant
    ends = {line[len(line.rstrip("\r\n")) :] for line in changed.splitlines(True)}
    assert ends <= ({"\r\n"} if "\r\n" in text else {"\n", ""})
    kept = [line for line in text.splitlines() if not is_about(line, changes)]
    lines = iter(changed.splitlines())
    assert all(line in lines for line in kept)  # all there, in the same order


def is_about(line: str, changes) -> bool:
    """Whether a line may change: it states a changed key, or a list that is changed."""
    stated = (
        line.replace("colours.", "").replace("colours = {", "").split("=")[0].strip()
    )
    listed = (
        ("bridges_kept", "yarn", "after", "before") if "bridges_kept" in changes else ()
    )
    in_order = "order" in changes and line.strip(" ],")[:1] in ('"', "")
    return (
        stated.strip("[] ") in (*changes, *listed)
        or in_order
        or "colours = {" in line
        or (line.strip().startswith("[[colours") and bool(listed))
    )


def test_nothing_changed_is_the_same_text():
    """No change and no text that is not there already."""
    for text in TEXTS:
        assert changed_toml(text, {}) == text
        assert changed_toml(text, {"jump_limit": None}) == text


def test_saved_tables_stay_in_their_brackets():
    """A kept bridge is written on one line, as the format shows it."""
    kept = [{"yarn": "a", "after": "b", "before": "c"}]
    assert changed_toml('name = "A"\n', {"bridges_kept": kept}) == (
        'name = "A"\n\n[colours]\n'
        'bridges_kept = [{yarn = "a", after = "b", before = "c"}]\n'
    )


# --- tables other than [colours] ------------------------------------------------------

FABRICS = [
    'name = "A"',
    'name = "A"\n[gauge]\nstitches_per_10cm = 20\nrows_per_10cm = 30 # r\n'
    '[gauge.swatch]\nwidth_cm=15\nlength_cm=15\ngrams=9\n[colours]\nby="value"\n',
    'name = "A"\n[[sections]] # one\nname = "x" # mine\nrows = 4\n\n# two\n'
    '[[sections]]\nname = "y"\nrows = 6\nrows_per_10cm = 40 # dense\n\n[pace]\n',
    'name = "A"\nsections = [{name="x", rows=4}]\n[size]\nwidth_cm=1\n'
    'length_cm="all" # until\n',
    'name = "A"\r\nsize.width_cm = 3\r\nsize.length_cm = 4\r\n[[carry]]\r\n'
    'yarn="M"\r\n',
]
SWATCH = {"width_cm": 15, "length_cm": 15, "grams": 9.1}
MOSS, PLAIN = {"name": "moss", "rows": 3}, {"name": "plain", "rows": 9}
FABRIC_VALUES = {
    "size.width_cm": [120, 1.5, None],
    "size.length_cm": ["all", 150, None],
    "gauge.swatch": [SWATCH, None],
    "gauge.rows_per_10cm": [28, None],
    "sections": [[MOSS], [MOSS | {"rows_per_10cm": 40}, PLAIN, MOSS], [], None],
    "carry": [[{"yarn": "M", "rows": [1, 60]}], [{"yarn": "N", "section": "x"}], None],
    "units": ["imperial", None],
    "colours.view": [0.5, None],
    "by": ["smoothest", None],
}


@given(
    st.sampled_from(FABRICS),
    st.fixed_dictionaries(
        {}, optional={k: st.sampled_from(v) for k, v in FABRIC_VALUES.items()}
    ),
)
@settings(max_examples=200, deadline=None)
def test_any_table_is_changed(text, changes):
    """Dotted keys change their own table and no other; remarks elsewhere stay."""
    says = tomllib.loads(changed_toml(text, changes))
    meant = tomllib.loads(text)
    for key, value in changes.items():
        table, _, name = (key if key != "by" else "colours.by").rpartition(".")
        inside = meant.setdefault(table, {}) if table else meant
        inside |= {name: value}
        if value is None:
            del inside[name]
    assert {k: v for k, v in says.items() if v != {}} == {
        k: v for k, v in meant.items() if v != {}
    }


def test_changed_sections_keep_their_remarks():
    """Sections that stay keep what is noted beside them; one more is put last."""
    changed = changed_toml(FABRICS[2], {"sections": [MOSS, PLAIN, MOSS]})
    assert changed == (
        'name = "A"\n[[sections]] # one\nname = "moss" # mine\nrows = 3\n\n# two\n'
        '[[sections]]\nname = "plain"\nrows = 9\n\n'
        '[[sections]]\nname = "moss"\nrows = 3\n\n[pace]\n'
    )


def test_other_tables_are_chosen_and_saved(folder):
    """A trial and a saved change agree; what does not go together is refused."""
    blanket = open_blanket(folder)
    changes = {"size.width_cm": 120, "size.length_cm": "all", "strands.most": 4}
    tried, saved = choose(blanket, **changes), save_choices(blanket, changes)
    assert tried == saved == open_blanket(folder)
    assert saved.choices.making.size == Size(120.0, None)
    assert choose(saved, **{"size.length_cm": 90}).choices.making.size.length_cm == 90
    before = (folder / "blanket.toml").read_bytes()
    assert refusal(choose, saved, **{"strands.least": 5}) == (
        "strands.least: found 5, expected no more than strands.most (4)."
    )
    assert refusal(choose, saved, **{"size.length_cm": None}) == (
        "size.length_cm: found nothing, expected a value."
    )
    assert refusal(save_choices, saved, {"size.length_cm": None}) == (
        "blanket.toml, size.length_cm: found nothing, expected a value."
    )
    assert (folder / "blanket.toml").read_bytes() == before


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        made = demo_below(Path(place))
        note = (
            "Our own frozen results of data/reading-room, colours alone: no proof, "
            "only so that a change is noticed. dE00, four decimals."
        )
        frozen = {"note": note, "plans": demo_numbers(made)}
    text = json.dumps(frozen, ensure_ascii=False, indent=1) + "\n"
    SILVER.write_text(text, encoding="utf-8")


def test_which_way_of_sharing_suits():
    """A mirrored plan tells both ways' largest step and names the smaller one's."""
    told = {}
    for way in ("halve", "pair"):
        wished = {"colours.layout": "mirrored", "colours.sharing": way}
        made = plan_blanket(open_blanket(DEMO, settings=wished))
        (said,) = (line for line in made.assumed if "suits this stash" in line)
        told[way] = largest_step(made.fabric_steps)
        assert f"leaves a largest step between stripes of {told[way]:.1f};" in said
        suits = said.split('sharing = "')[1].split('"')[0]
    assert suits == min(told, key=lambda way: told[way])
