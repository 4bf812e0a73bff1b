"""The command line: exit codes, what is written and what is said."""

import json
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from kit.__main__ import main
from kit.blanket import open_blanket
from kit.colour import ciede2000
from kit.colour.spaces import hex_to_lab
from kit.files import shared_folder
from tests.helpers.demos import own_demo
from tests.helpers.painted import BALLS, CARD, CENTRES, photo_bytes


@pytest.fixture
def folder(tmp_path):
    """A small blanket of six yarns."""
    made = tmp_path / "blanket"
    made.mkdir()
    (made / "stash.csv").write_text(
        "name,colours,grams,role\nPebble,#c8cdd0,50,\nSlate,#5b6770,50,\n"
        "Ink,#1d2733,50,\nMoss,#6b7a45,50,\nFern,#3e6b4a,50,\n"
        "Rain on Slate,#c8cdd0 50%; #5b6770 50%,50,bridge\n".replace(
            "#c8cdd0 50%; #5b6770 50%", '"#c8cdd0 50%, #5b6770 50%"'
        )
    )
    (made / "blanket.toml").write_text('name = "Hallway"\n')
    return made


def files(folder):
    return {path.name for path in folder.rglob("*") if path.is_file()}


def test_plan_writes_and_tells(folder, capsys):
    """`plan` ends with 0, a summary and the place of the page."""
    assert main(["plan", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "Hallway: 5 yarns by family" in said
    assert str(folder / "plan" / "plan.html") in said
    assert files(folder / "plan") == {"plan.html", "plan.json", "schedule.csv"}
    assert json.loads((folder / "plan/plan.json").read_text("utf-8"))["format"] == 2


def test_pictures_are_written_where_they_are_asked_for(folder):
    """With `--pictures` the fabric lies beside the page as it does in it; a later plan
    without them takes them away, and leaves what else lies there."""
    gauge = ["gauge.stitches_per_10cm=22", "gauge.rows_per_10cm=30"]
    knitted = ["--set", "size.width_cm=6", "size.length_cm=4", *gauge]
    assert main(["plan", str(folder), "--pictures", *knitted]) == 0
    drawn = files(folder / "plan") - {"plan.html", "plan.json", "schedule.csv"}
    assert drawn == {
        "fabric.png", "fabric-grey.png", "fabric-close.png", "fabric-across.png"
    }  # fmt: skip
    (folder / "plan" / "swatch.png").write_bytes(b"my own")
    (folder / "plan" / "run.png").write_bytes(b"of an older kit")
    assert main(["plan", str(folder), *knitted]) == 0
    assert {name for name in files(folder / "plan") if "png" in name} == {"swatch.png"}


def test_pictures_beside_no_plan_are_nobodys_to_take(folder, tmp_path):
    """Where no plan lay before, a picture of that name is the knitter's own."""
    own = tmp_path / "elsewhere"
    own.mkdir()
    (own / "run.png").write_bytes(b"of last summer")
    assert main(["plan", str(folder), "--out", str(own)]) == 0
    assert (own / "run.png").read_bytes() == b"of last summer"


def test_from_any_folder_to_a_reader_that_has_seen_enough(folder, tmp_path):
    """`python -m kit plan … | head -1` outside the checkout, in a shell of its own: the
    plan is written where that shell is, and nobody sees a traceback."""
    call = [sys.executable, "-m", "kit", "plan", str(folder), "--out", "made here"]
    pipe = subprocess.PIPE
    with subprocess.Popen(call, cwd=tmp_path, stdout=pipe, stderr=pipe) as plan:
        plan.stdout.close()
        complaints = plan.stderr.read()
    assert (plan.returncode, complaints) == (0, b"")
    assert (tmp_path / "made here" / "plan.html").is_file()


def test_a_place_that_cannot_be_written_is_told_first(folder, capsys, monkeypatch):
    """Before the plan is worked out, not after."""
    monkeypatch.setattr("kit.plan.plans.plan_blanket", None)
    (folder / "file").touch()
    assert main(["plan", str(folder), "--out", str(folder / "file" / "x")]) == 1
    assert "cannot be saved: Not a directory" in capsys.readouterr().err


def test_out_receives_the_files_directly(folder, tmp_path, no_pictures):
    """`--out DIR` is the folder of the files; nothing goes to FOLDER/plan."""
    out = tmp_path / "elsewhere"
    assert main(["plan", str(folder), "--out", str(out)]) == 0
    assert (out / "plan.json").is_file()
    assert not (folder / "plan").exists()


@pytest.mark.parametrize("by", ["value", "family", "smoothest"])
@pytest.mark.parametrize("layout", ["light-to-dark", "dark-to-light", "mirrored"])
def test_every_arrangement_in_every_layout(folder, by, layout, no_pictures):
    """Each combination is planned and says what it is."""
    settings = [f"colours.by={by}", f"colours.layout={layout}"]
    assert main(["plan", str(folder), "--set", *settings]) == 0
    made = json.loads((folder / "plan/plan.json").read_text("utf-8"))["arrangement"]
    assert (made["by"], made["layout"]) == (by, layout)


def test_shop_file_is_read(folder, tmp_path, no_pictures):
    """`--shop FILE` offers its skeins for bridging."""
    shop = tmp_path / "more.csv"
    shop.write_text("name,colours\nGrey Half,#8b969e\n")
    call = ["plan", str(folder), "--shop", str(shop), "--set", "colours.by=value"]
    assert main([*call, "colours.jump_limit=5"]) == 0
    made = json.loads((folder / "plan/plan.json").read_text("utf-8"))
    offered = [c for one in made["bridge_candidates"] for c in one["candidates"]]
    assert {"Grey Half"} <= {c["yarn"] for c in offered if c["from"] == "shop"}


@pytest.mark.parametrize(
    ("setting", "sentence"),
    [
        (
            "colours.by=smothest",
            'colours.by: No arrangement called "smothest". Did you mean "smoothest"? '
            "Known: value, family, smoothest.",
        ),
        (
            "colours.bye=value",
            'No key called "colours.bye". Did you mean "colours.by"?',
        ),
        ("colours.view=2", "colours.view: found 2, expected a number from 0 to 1."),
        ("value", '"value" is not of the form KEY=VALUE, as in colours.by=value.'),
        (
            'colours.accents=[["Pebble", "Slat"]]',
            'No yarn called "Slat". Did you mean "Slate"?',
        ),
    ],
)
def test_wrong_words_end_with_2(folder, setting, sentence, capsys):
    """An unknown key, value or name in `--set` is exit 2, a sentence, and no file."""
    before = files(folder)
    assert main(["plan", str(folder), "--set", setting]) == 2
    assert sentence in capsys.readouterr().err
    assert files(folder) == before


def test_faults_of_the_folder_end_with_1(folder, capsys):
    """Faults of all files are told together, on lines of their own; nothing written."""
    (folder / "stash.csv").write_text("name,colours,grams\nA,#123456,-5\nB,bluu,2\n")
    (folder / "blanket.toml").write_text('name = "x"\n[colours]\nby = "nice"\n')
    assert main(["plan", str(folder)]) == 1
    said = capsys.readouterr().err
    assert 'stash.csv, row 2 ("A"), grams: found -5, expected 0 or more' in said
    assert 'stash.csv, row 3 ("B"), colours: found bluu' in said
    assert 'blanket.toml, colours.by: No arrangement called "nice".' in said
    assert "Traceback" not in said
    assert not (folder / "plan").exists()


@pytest.mark.parametrize("command", ["plan", "check"])
@pytest.mark.parametrize("gone", ["folder", "stash.csv", "blanket.toml", "empty"])
def test_missing_and_empty_files(folder, command, gone, capsys):
    """A missing folder or file, or an empty one, is a sentence and exit 1."""
    if gone == "folder":
        shutil.rmtree(folder)
    elif gone == "empty":
        (folder / "stash.csv").write_text("")
    else:
        (folder / gone).unlink()
    assert main([command, str(folder)]) == 1
    said = capsys.readouterr().err
    assert ("stash.csv" if gone == "empty" else gone) in said
    assert not (folder / "plan").exists()


@pytest.mark.parametrize(
    "text", ["", "\n", "name,colours,grams\n", "name,colours\n,\n"]
)
@pytest.mark.parametrize("command", ["plan", "check"])
def test_an_empty_shop_list_is_none(folder, command, text, capsys, no_pictures):
    """Nothing stands in it yet: told, and the rest goes on."""
    (folder / "shop.csv").write_text(text)
    assert main([command, str(folder)]) == 0
    none = "shop.csv has no rows: nothing is taken from a shop."
    assert none in open_blanket(folder).stash.notes
    if command == "check":
        assert none in capsys.readouterr().out.splitlines()


def test_a_file_in_place_of_its_folder(folder, capsys):
    """The folder to give is named."""
    stash = folder / "stash.csv"
    assert main(["check", str(stash)]) == 1
    assert capsys.readouterr().err == (
        f"{stash} is a file. Give the folder that it lies in: {folder}.\n"
    )


@pytest.mark.parametrize(
    ("units", "usual"), [("metric", "400 m"), ("imperial", "437 yd")]
)
def test_check_tells_lengths_in_the_blankets_units(folder, units, usual, capsys):
    """The typical length of a yarn without a label."""
    (folder / "blanket.toml").write_text(f'name = "Hallway"\nunits = "{units}"\n')
    assert main(["check", str(folder)]) == 0
    assert (
        f"6 yarns have no label length: the typical {usual} per 100 g of fingering is "
        "assumed (common practice, no source): Fern, Ink, Moss, Pebble, Rain on Slate, "
        "Slate."
    ) in capsys.readouterr().out.splitlines()


def test_check_writes_nothing(folder, capsys):
    """`check` reads everything, says so, and leaves the folder as it was."""
    before = files(folder)
    assert main(["check", str(folder)]) == 0
    assert "Hallway: 6 yarns. No faults." in capsys.readouterr().out
    assert files(folder) == before


def test_a_failed_plan_leaves_the_last_one(folder, monkeypatch):
    """A plan that fails half-way leaves the files of the last plan whole."""
    assert main(["plan", str(folder)]) == 0
    before = {p.name: p.read_bytes() for p in (folder / "plan").iterdir()}

    def broken(plan, **_):
        raise OSError("no more pictures today")

    monkeypatch.setattr("kit.report.report.fabric_pictures", broken)
    with pytest.raises(OSError, match="no more pictures"):
        main(["plan", str(folder), "--set", "colours.by=value"])
    assert {p.name: p.read_bytes() for p in (folder / "plan").iterdir()} == before


@pytest.mark.parametrize("words", [[], ["knit"], ["plan"], ["plan", "a", "--up"]])
def test_a_call_without_sense_ends_with_2(words, capsys):
    """argparse's own exit for the call's words is 2."""
    with pytest.raises(SystemExit) as stop:
        main(words)
    assert stop.value.code == 2
    assert "usage" in capsys.readouterr().err


def test_demo_plans(tmp_path, capsys):
    """The README's first command ends well."""
    demo = shared_folder("data") / "reading-room"
    assert main(["plan", str(demo), "--out", str(tmp_path)]) == 0
    assert "Reading-room throw: 41 yarns by family" in capsys.readouterr().out


@pytest.fixture
def photo(tmp_path):
    """A painted photo of two flat balls and a card, and its regions."""
    (tmp_path / "balls.png").write_bytes(photo_bytes())
    (x, y), (left, top) = CENTRES[:2]
    (tmp_path / "regions.csv").write_text(
        "name,role,shape,x,y,width,height\n"
        f"Sage,,circle,{x},{y},80,80\nPebble,yarn,circle,{left},{top},80,80\n"
        f",grey card,rectangle,{CARD['x']},{CARD['y']},60,40\n"
    )
    return ["photo", str(tmp_path / "balls.png"), "--regions"]


def test_photo_tells_colours(photo, tmp_path, capsys):
    """Name, hex with share and limits, style; by the card that is marked, or not."""
    call = [*photo, str(tmp_path / "regions.csv")]
    assert main([*call, "--correction", "none"]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("Not corrected. Typical error ")
    (sage,) = (line for line in said if line.startswith("Sage: "))
    assert re.fullmatch(r"Sage: #[0-9a-f]{6} 100 % ± \d+\.\d; solid", sage)
    found, painted = (hex_to_lab(text) for text in (sage[6:13], BALLS[0]))
    assert ciede2000(found, painted) < 1
    assert main(call) == 0
    said = capsys.readouterr().out
    assert said.startswith("Grey card. Typical error ")
    assert sage not in said


def test_photo_finds_its_own_regions(photo, tmp_path, capsys):
    """Those the notebook wrote beside it; without them, where they are made."""
    assert main(photo[:2]) == 1
    assert capsys.readouterr().err.splitlines() == [
        "No balls are marked on balls.png yet: no balls-regions.csv lies beside it. "
        "Mark them in the notebook 1_stash, or name a file with --regions."
    ]
    (tmp_path / "regions.csv").rename(tmp_path / "balls-regions.csv")
    assert main(photo[:2]) == 0
    assert "Sage: #" in capsys.readouterr().out
    assert main(["photo", str(tmp_path / "none.png")]) == 1
    assert "none.png" in capsys.readouterr().err


def test_photo_adds_to_the_stash(photo, folder, tmp_path, capsys):
    """New names become rows without grams; known ones only where that is asked for."""
    call = [*photo, str(tmp_path / "regions.csv"), "--add", str(folder)]
    assert main(call) == 0
    said = capsys.readouterr().out
    assert "1 yarn is added to stash.csv." in said
    assert 'In stash.csv already, and left as they are: "Pebble".' in said
    rows = (folder / "stash.csv").read_text("utf-8").splitlines()
    assert rows[1].startswith("Pebble,#c8cdd0,50,")
    assert re.match(r"Sage,#[0-9a-f]{6},,", rows[-1])
    assert "colours from a photo, grey card, about ±" in rows[-1]
    assert main([*call, "--replace"]) == 0
    rows = (folder / "stash.csv").read_text("utf-8").splitlines()
    assert re.match(r"Pebble,#(?!c8cdd0)[0-9a-f]{6},50,", rows[1])


@pytest.mark.parametrize(
    ("text", "more", "sentence"),
    [
        ("name,shape,x,y,width\nSage,circle,9999,10,50\n", [], "outside the photo"),
        ("name,shape,x,y,width\n,circle,100,100,3\n", [], "region 1: "),
        ("name,shape,x,y,width\nSage,heart,1,1,5\n", [], 'regions.csv, row 2 ("Sage")'),
        (
            "name,shape,x,y,width\nSage,circle,100,100,50\n",
            ["--correction", "target"],
            "No target is marked on the photo.",
        ),
    ],
)
def test_faults_of_a_photo_end_with_1(
    photo, folder, tmp_path, capsys, text, more, sentence
):
    """A sentence on stderr, nothing on stdout, the stash as it was."""
    (tmp_path / "regions.csv").write_text(text)
    before = (folder / "stash.csv").read_bytes()
    call = [*photo, str(tmp_path / "regions.csv"), "--add", str(folder), *more]
    assert main(call) == 1
    told = capsys.readouterr()
    assert sentence in told.err
    assert told.out == ""
    assert (folder / "stash.csv").read_bytes() == before


def test_a_file_that_is_no_photo_ends_with_1(photo, tmp_path, capsys):
    """As does one that is missing."""
    (tmp_path / "balls.png").write_text("no picture")
    assert main([*photo, str(tmp_path / "regions.csv")]) == 1
    assert "not a picture" in capsys.readouterr().err
    (tmp_path / "balls.png").unlink()
    assert main([*photo, str(tmp_path / "regions.csv")]) == 1
    assert "There is no file" in capsys.readouterr().err


@pytest.mark.parametrize("more", [[], ["a.jpg", "--correction", "sun"]])
def test_a_photo_call_without_sense_ends_with_2(more):
    """The photo must be named, the correction be one there is."""
    with pytest.raises(SystemExit) as stop:
        main(["photo", *more])
    assert stop.value.code == 2


def test_version_is_told(capsys):
    """`--version` names the version of pyproject.toml, whatever else is missing."""
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    root = Path(__file__).parents[1]
    project = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]
    assert left.value.code == 0
    assert capsys.readouterr().out == f"shadepath {project['version']}\n"


@pytest.mark.parametrize("command", ["plan", "progress", "check", "photo", "open"])
def test_help_explains_every_word(command, capsys):
    """What stands behind a command's name, each word of it, is explained."""
    with pytest.raises(SystemExit):
        main([command, "--help"])
    told = capsys.readouterr().out
    listed = told.partition("\n\n")[2]
    bare = [line for line in listed.splitlines() if re.fullmatch(r"  -*\w[\w-]*", line)]
    assert not bare  # a name alone on its line has no explanation


@pytest.mark.parametrize(
    ("run_as", "said"),
    [("x/kit/__main__.py", "python -m kit"), ("bin/shadepath", "shadepath")],
)
def test_usage_names_what_was_typed(run_as, said, monkeypatch, capsys):
    """The usage line can be typed again as it stands."""
    monkeypatch.setattr("sys.argv", [run_as])
    with pytest.raises(SystemExit):
        main(["check", "--help"])
    assert capsys.readouterr().out.startswith(f"usage: {said} check [-h] FOLDER")


@pytest.mark.parametrize(
    ("units", "typed", "sentence"),
    [
        ("imperial", "32in", 'Length wished: 32 in, from "32in".'),
        ("imperial", "81 cm", 'Length wished: 31.9 in, from "81 cm".'),
        (
            "imperial",
            "81",
            'Length wished: 31.9 in, from "81" (a number without a unit is cm).',
        ),
        ("metric", "32 in", 'Length wished: 81.3 cm, from "32 in".'),
        ("metric", "all", "Length wished: until the yarn ends."),
    ],
)
def test_another_length_is_told_as_it_was_understood(
    tmp_path, units, typed, sentence, capsys, no_pictures
):
    """In the blanket's units, and before and after in the same."""
    folder = own_demo(tmp_path).parent / "pram-cover"
    path = folder / "blanket.toml"
    path.write_text(
        path.read_text("utf-8").replace('"imperial"', f'"{units}"'), "utf-8"
    )
    assert main(["progress", str(folder), "--length", typed]) == 0
    said = capsys.readouterr().out.splitlines()
    assert sentence in said
    (length,) = (line for line in said if line.startswith("  length: "))
    assert length.endswith(" in" if units == "imperial" else " cm")
    (left,) = (line for line in said if "left over of the yarns used: " in line)
    assert left.endswith(" oz" if units == "imperial" else " g")


def test_a_plan_of_the_rest_is_gone_back_on_as_it_says(tmp_path, capsys, no_pictures):
    """Its last lines name the folder to delete; deleted, all is as before."""
    folder = own_demo(tmp_path).parent / "pram-cover"
    assert main(["plan", str(folder)]) == 0
    capsys.readouterr()
    assert main(["progress", str(folder)]) == 0
    before = capsys.readouterr().out
    assert main(["progress", str(folder), "--length", "26 in"]) == 0
    back = 'To go back to the plan before, delete "plan-2".'
    assert back in capsys.readouterr().out
    assert main(["progress", str(folder)]) == 0
    assert capsys.readouterr().out != before
    shutil.rmtree(folder / "plan-2")
    assert main(["progress", str(folder)]) == 0
    assert capsys.readouterr().out == before


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("long", "found long, expected a number such as 120 or 47 in."),
        ("0", 'found 0, expected a length above 0 or "all"'),
        ("-3 in", "found -3 in, expected 0 or more."),
        (
            "1,234 in",
            "found 1,234 in, expected a number that can be read one way only.",
        ),
    ],
)
def test_a_length_without_sense_ends_with_2(folder, typed, sentence, capsys):
    """What was found and what was expected, before anything is read."""
    with pytest.raises(SystemExit) as ended:
        main(["progress", str(folder), f"--length={typed}"])
    assert ended.value.code == 2
    assert f"argument --length: {sentence}" in capsys.readouterr().err


@pytest.mark.parametrize("typed", ["few", "0", "2.5", "-4", ""])
def test_rows_without_sense_end_with_2(folder, typed, capsys):
    """No name of a function, but what was found and what was expected."""
    with pytest.raises(SystemExit) as ended:
        main(["progress", str(folder), f"--rows-per-colour={typed}"])
    assert ended.value.code == 2
    sentence = f"found {typed or 'nothing'}, expected a whole number of rows above 0"
    assert f"argument --rows-per-colour: {sentence}" in capsys.readouterr().err


def test_a_setting_may_name_its_unit(folder, no_pictures):
    """`--set size.width_cm=28in`, with blanks or without."""
    words = ["gauge.stitches_per_10cm=22", "gauge.rows_per_10cm=30"]
    words += ["size.width_cm=28in", "size.length_cm=36 in"]
    assert main(["plan", str(folder), "--set", *words]) == 0
    fabric = json.loads((folder / "plan/plan.json").read_text("utf-8"))["fabric"]
    assert fabric["width_cm"] == pytest.approx(28 * 2.54, abs=10 / 22)


def test_a_ball_that_is_used_up_stops_no_plan(folder):
    """It is left out, and told; everything is written."""
    stash = folder / "stash.csv"
    stash.write_text(stash.read_text().replace("Slate,#5b6770,50", "Slate,#5b6770,0"))
    words = ["gauge.stitches_per_10cm=22", "gauge.rows_per_10cm=30"]
    words += ["size.width_cm=28in", "size.length_cm=12in"]
    assert main(["plan", str(folder), "--set", *words]) == 0
    data = json.loads((folder / "plan/plan.json").read_text("utf-8"))
    assert "Slate" not in data["arrangement"]["order"]
    told = 'stash.csv, row 3 ("Slate"): nothing is left of it, so it is left out.'
    assert told in data["assumed"]
