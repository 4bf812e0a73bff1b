"""The blanket folder: opened whole, planned, its choices changed and saved."""

import pytest

from kit.blanket import folder as module
from kit.blanket.choices import Choices, Size
from kit.blanket.choices_toml import read_settings
from kit.blanket.folder import (
    choose,
    name_faults,
    open_blanket,
    open_without_gone,
    save_choices,
)
from kit.errors import KitError
from kit.needles.log import read_log
from kit.plan import plan_blanket
from tests.helpers.yarns import names, yarn

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


def test_a_number_is_of_one_yarn_alone(folder):
    """A skein of the shop has none that is on a ball's tag: a log may say either."""
    rows = "".join(f"{name},#eee\n" for name in ("Mist", "Fog", "Haze", "Rime"))
    (folder / "shop.csv").write_text("name,colours\n" + rows)
    blanket = open_blanket(folder)
    owned = [yarn.no for yarn in blanket.stash.yarns]
    sold = [yarn.no for yarn in blanket.shop.yarns]
    assert owned == [1, 2, 3, 4, 5]
    assert len({*owned, *sold}) == 9
    yarns = (*blanket.stash.yarns, *blanket.shop.yarns)
    log = read_log(b"row,what,yarn\n4,joined,1\n", yarns)
    assert log.notes[0].yarn == "Sage"


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
    gone, stash = folder / "gone", folder / "stash.csv"
    assert refusal(open_blanket, gone) == f"There is no folder {gone}."
    assert refusal(open_blanket, stash) == (
        f"{stash} is a file. Give the folder that it lies in: {folder}."
    )


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


def test_colours_alone(folder):
    """Without gauge and size the plan is the colours, and says so once."""
    found = plan_blanket(open_blanket(folder))
    assert found.fabric is None
    assert names(found.design.laid.yarns) == ["Cream", "Sage", "Plum", "Coal"]
    alone = [line for line in found.assumed if "colour design alone" in line]
    assert len(alone) == 1
    assert sum(line.startswith("[colours] by default") for line in found.assumed) == 1


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


# --- yarns that are gone --------------------------------------------------------------

FIVE = "name,colours,role\nA,#fff,\nB,#999,\nC,#555,\nD,#222,\nX,#777,bridge\n"
GONE = """name = "Hall"
[colours]
by = "value"  # mine
order = ["B", "gone", "A", "C", "D"]
locked = ["gone", "A", ["C", "gone"], ["C", "D"]]
left_out = ["lost"]
accents = [["gone", "A"], ["A", "C"]]
bridges_kept = [
  { yarn = "X", after = "gone", before = "A" },
  { yarn = "X", after = "A", before = "C" },
]
"""


@pytest.fixture
def outdated(tmp_path):
    (tmp_path / "stash.csv").write_text(FIVE, "utf-8")
    (tmp_path / "blanket.toml").write_text(GONE, "utf-8")
    return tmp_path


def test_gone_yarns_are_passed_over_and_told(outdated):
    """The rest of each list holds; nothing is written until something is saved."""
    blanket, changes, said = open_without_gone(outdated)
    assert said == (
        'No longer in the stash, so passed over here: "gone", "lost". blanket.toml '
        "names them until the next change is saved.",
    )
    run = plan_blanket(blanket).design.arrangement.yarns
    assert [one.name for one in run] == ["B", "A", "C", "D"]
    assert changes == {
        "colours.order": ["B", "A", "C", "D"],
        "colours.locked": ["A", ["C", "D"]],
        "colours.left_out": None,
        "colours.accents": [["A", "C"]],
        "colours.bridges_kept": [{"yarn": "X", "after": "A", "before": "C"}],
    }
    path = outdated / "blanket.toml"
    assert path.read_text("utf-8") == GONE
    save_choices(blanket, changes)
    assert "gone" not in path.read_text("utf-8")
    assert "# mine" in path.read_text("utf-8")
    assert open_without_gone(outdated)[1:] == ({}, ())


def test_other_faults_stay_faults(outdated):
    """A fault of another kind, or of another key, is raised as ever."""
    for more in ("view = 7\n", '[[carry]]\nyarn = "gone"\n'):
        (outdated / "blanket.toml").write_text(GONE + more, "utf-8")
        with pytest.raises(KitError):
            open_without_gone(outdated)
    (outdated / "blanket.toml").write_text('name = "A"\n', "utf-8")
    assert open_without_gone(outdated)[1:] == ({}, ())
