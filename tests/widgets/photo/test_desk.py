"""The photo desk and its picker, their traits set as a page would set them."""

import csv
import io
from zlib import crc32

import pytest

from kit.colour import ciede2000
from kit.colour.notation import read_colour
from kit.colour.spaces import hex_to_lab
from kit.photo import read_regions
from kit.widgets.photo.desk import PhotoDesk
from kit.widgets.photo.picker import PhotoPicker
from kit.widgets.stash.desk import StashDesk
from tests.helpers.demos import own_demo
from tests.helpers.painted import (
    BALLS,
    CARD,
    CENTRES,
    PAPER,
    disc,
    painted,
    photo_bytes,
)
from tests.helpers.shelves import draw_nothing

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")

NOT_ADDED = "Nothing was added: stash.csv is as it was."
HOSTILE = "<img src=x onerror=alert(1)>"


@pytest.fixture(autouse=True)
def quick(request, monkeypatch):
    """Greys, balls that are looked for and the stash's shelf only where a test is about
    them."""
    about = request.node.name
    nothing = lambda *_, **__: (b"", b"")  # noqa: E731
    if "shelf" not in about:
        draw_nothing(monkeypatch)
    if "grey" not in about:
        monkeypatch.setattr("kit.widgets.photo.desk.grey_pictures", nothing)
    if "suggestions" not in about:
        none = lambda photo: ()  # noqa: E731
        monkeypatch.setattr("kit.widgets.photo.colours.suggest_regions", none)


@pytest.fixture
def folder(tmp_path):
    """The demo's stash with one painted photo and none of its own."""
    folder = own_demo(tmp_path)
    photos = folder / "photos"
    photos.mkdir(exist_ok=True)
    for old in photos.iterdir():
        old.unlink()
    (photos / "balls.png").write_bytes(photo_bytes())
    return folder


@pytest.fixture
def stash(folder):
    return StashDesk(folder)


@pytest.fixture
def desk(stash):
    return PhotoDesk(stash)


def rows(folder):
    with (folder / "stash.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: row for row in csv.DictReader(file)}


def kept(folder, name="balls"):
    """The regions file as its own reader has it."""
    path = folder / "photos" / f"{name}-regions.csv"
    return read_regions(path.read_bytes())


def said(lines):
    text = " ".join(label.value for label in lines.children)
    return text.replace("\xa0", " ")


def mark(desk, *regions):
    """What the page sends after a region came, went, moved or got a name."""
    desk.picker.set_state({"regions": list(regions)})


def off(found, painted_hex):
    """How far the first colour found is from what was painted, dE00."""
    lab = read_colour(found["runs"][0][0])[0]
    return float(ciede2000(hex_to_lab(painted_hex), lab))


def upload(desk, name, data):
    sent = {"name": name, "type": "image/png", "size": len(data), "last_modified": 0}
    desk.upload.set_state({"value": [sent | {"content": memoryview(data)}]})


# --- the picker -----------------------------------------------------------------------


@pytest.mark.parametrize(
    "wrong",
    [
        {"id": "x1"},
        {"shape": "heart"},
        {"role": "sun"},
        {"x": float("nan")},
        {"x": None},
        {"width": 0},
        {"name": 7},
    ],
)
def test_what_is_no_region_is_not_taken(wrong):
    """A page is not trusted: such a one is left out, the sound one stays."""
    picker = PhotoPicker()
    picker.set_state({"regions": [disc(0), {**disc(1), **wrong}]})
    assert [one["id"] for one in picker.regions] == ["r1"]


def test_ids_are_told_apart_and_corners_are_four():
    """The last of two equal ids wins; what is no place is no corner."""
    picker = PhotoPicker()
    picker.set_state({"regions": [disc(0), {**disc(1), "id": "r1"}]})
    assert [one["x"] for one in picker.regions] == [CENTRES[1][0]]
    picker.set_state({"corners": [[1, 2], "x", [3], [5, 6], *[[7, 8]] * 4]})
    assert picker.corners == [[1, 2], [5, 6], [7, 8], [7, 8]]


# --- opening --------------------------------------------------------------------------


def test_a_photo_opens_cleaned_with_suggestions(desk):
    """The first of photos/ is open; its picture is a PNG of pixels and nothing else."""
    from PIL import Image

    picker = desk.picker
    assert (picker.size, picker.title) == ([600, 450], "balls.png")
    with Image.open(io.BytesIO(picker.picture)) as shown:
        assert (shown.format, shown.info) == ("PNG", {})
    assert said(desk.messages).startswith("Open: ")
    assert len(picker.suggested) == 6
    for ball, (x, y) in zip(picker.suggested, CENTRES, strict=True):
        assert abs(ball["x"] - x) < 4
        assert abs(ball["y"] - y) < 4
    assert "Chair Leg" in picker.names
    assert said(desk.ready) == "No ball is marked on the photo yet."


def test_colours_come_beside_each_region(desk):
    """Each flat ball has the colour that was painted, in a swatch and in words."""
    mark(desk, *(disc(k) for k in range(6)))
    for k, colour in enumerate(BALLS):
        found = desk.picker.found[f"r{k + 1}"]
        assert off(found, colour) < 1  # 8 bits, and the estimator's own rounding
        assert "solid, L* " in found["words"]
        assert desk.table.rows[k][0] == str(k + 1)


def test_only_what_changed_is_measured(desk, monkeypatch):
    """A moved region is taken anew, a named one is not, a removed one is forgotten."""
    import kit.widgets.photo.colours as module

    taken = []

    def counted(photo, region, correction, _sample=module.sample):
        taken.append((region.x, region.y))
        return _sample(photo, region, correction)

    monkeypatch.setattr(module, "sample", counted)
    mark(desk, disc(0), disc(1), disc(2))
    assert taken == [*CENTRES[:3]]
    taken.clear()
    mark(desk, disc(0), disc(1, x=320.0), disc(2, name="Ink"))
    assert taken == [(320.0, CENTRES[1][1])]
    mark(desk, disc(0))
    assert list(desk.picker.found) == ["r1"]
    assert list(desk.samples) == ["r1"]


@pytest.mark.parametrize(
    ("region", "sentence"),
    [
        (disc(0, x=600.0, y=450.0), "outside the photo"),
        (disc(0, width=4.0, height=4.0), "pixels, expected 40 or more"),
    ],
)
def test_a_bad_region_is_told_beside_it(desk, folder, region, sentence):
    """The sentence stands with the region, the others have their colours."""
    mark(desk, region, disc(1))
    assert sentence in desk.picker.found["r1"]["wrong"]
    assert off(desk.picker.found["r2"], BALLS[1]) < 1
    assert sentence in desk.table.rows[0][-1]
    assert "Without colours, and left out: 1." in said(desk.ready)
    assert len(kept(folder).yarns) == 2


def test_what_nobody_foresaw_is_told_beside_it(desk, monkeypatch):
    """An error in measuring one region stops no other and is no traceback."""
    import kit.widgets.photo.colours as module

    def broken(photo, region, correction, _sample=module.sample):
        if region.name == "Sage":
            raise ZeroDivisionError("by nought")
        return _sample(photo, region, correction)

    monkeypatch.setattr(module, "sample", broken)
    mark(desk, disc(0, name="Sage"), disc(1))
    assert desk.picker.found["r1"] == {
        "wrong": "This did not work (ZeroDivisionError: by nought)."
    }
    assert off(desk.picker.found["r2"], BALLS[1]) < 1


# --- what a photo can be --------------------------------------------------------------


def bad_photos():
    """Bytes that are no photo to measure, each with a word of its sentence."""
    jpeg = photo_bytes(kind="JPEG")
    png = photo_bytes(kind="PNG")
    header = b"IHDR" + (60_000).to_bytes(4, "big") * 2 + png[24:29]
    bomb = png[:12] + header + crc32(header).to_bytes(4, "big") + png[33:]
    return {
        "text.jpg": (b"hello, no picture", "not a picture"),
        "cut.jpg": (jpeg[: len(jpeg) // 3], "ends too early"),
        "bomb.png": (bomb, "too large"),
        "inks.jpg": (photo_bytes(kind="JPEG", mode="CMYK"), "printing inks"),
        "phone.heic": (b"\0\0\0\x18ftypheic" + b"\0" * 40, "HEIC"),
        "empty.png": (b"", "empty"),
    }


def test_a_bad_photo_is_told_and_nothing_lost(desk, folder):
    """What was open stays open with its regions; each sentence says what is wrong."""
    mark(desk, disc(0, name="Sage"))
    for name, (data, _) in bad_photos().items():
        (folder / "photos" / name).write_bytes(data)
    desk.again.click()
    for name, (_, word) in bad_photos().items():
        desk.photo.value = folder / "photos" / name
        assert word in said(desk.messages)
        assert desk.photo.value == folder / "photos" / "balls.png"
        assert desk.picker.title == "balls.png"
        assert desk.picker.regions == [disc(0, name="Sage")]
        assert kept(folder).yarns[0].name == "Sage"


def test_a_bad_first_photo_leaves_the_desk_waiting(folder):
    """Nothing is open; a good photo can be chosen all the same."""
    (folder / "photos" / "a.png").write_bytes(b"no picture")
    desk = PhotoDesk(StashDesk(folder))
    assert "not a picture" in said(desk.messages)
    desk.photo.value = folder / "photos" / "balls.png"
    assert desk.picker.title == "balls.png"


def test_no_photo_yet(folder):
    """The way is said; after looking again the photo is there."""
    data = (folder / "photos" / "balls.png").read_bytes()
    (folder / "photos" / "balls.png").unlink()
    desk = PhotoDesk(StashDesk(folder))
    assert said(desk.messages).startswith("No photo yet. Copy one into ")
    assert desk.picker.picture == b""
    desk.add.click()
    assert said(desk.added).startswith("There is no photo yet")
    (folder / "photos" / "balls.png").write_bytes(data)
    desk.again.click()
    assert desk.picker.title == "balls.png"


def test_a_small_upload_is_kept_cleaned(desk, folder):
    """Its copy holds pixels alone; its name is made safe; regions go beside it."""
    from PIL import Image

    data = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "at our house"  # ImageDescription
    exif[0x8825] = {1: "N", 2: (51.0, 30.0, 0.0)}  # GPS
    painted().save(data, "JPEG", exif=exif, quality=95)
    upload(desk, "../my balls.jpg", data.getvalue())
    new = folder / "photos" / "my-balls.png"
    assert desk.photo.value == new
    raw = new.read_bytes()
    assert b"our house" not in raw
    with Image.open(new) as image:
        assert dict(image.getexif()) == {}
    mark(desk, disc(0))
    assert len(kept(folder, "my-balls").yarns) == 1
    upload(desk, "my balls.jpg", data.getvalue())
    assert desk.photo.value == folder / "photos" / "my-balls-2.png"


def test_a_large_upload_is_told(desk, folder):
    """More than 8 MB: the folder is the way."""
    before = sorted((folder / "photos").iterdir())
    upload(desk, "big.jpg", b"x" * 8_100_000)
    told = said(desk.messages)
    assert told.startswith(
        '"big.jpg" has 8.1 MB; an upload may have 8 MB. Copy it into '
    )
    assert told.endswith("then look for photos again.")
    assert sorted((folder / "photos").iterdir()) == before
    assert desk.picker.title == "balls.png"


# --- correction -----------------------------------------------------------------------


def card(**more):
    return {**disc(5), **CARD, "id": "r9", "role": "grey card", **more}


def test_marking_a_card_corrects_at_once(desk):
    """The choice follows the mark, and goes back with it; colours follow both."""
    mark(desk, disc(0))
    before = desk.picker.found["r1"]["runs"]
    assert desk.way.value == "none"
    mark(desk, disc(0), card())
    assert desk.way.value == "grey card"
    assert desk.correction.kind == "grey card"
    assert said(desk.way_lines).startswith("Grey card. Typical error")
    assert desk.picker.found["r9"]["words"] == "in use"
    # By hand: #5f5f5f is 0.114 of linear light, and the card returns 0.18.
    brighter = desk.picker.found["r1"]["runs"]
    lab_before, lab = (read_colour(runs[0][0])[0] for runs in (before, brighter))
    light = [((lab_[0] + 16) / 116) ** 3 for lab_ in (lab_before, lab)]
    assert light[1] / light[0] == pytest.approx(0.18 / 0.1144, rel=0.03)
    desk.way.value = "none"
    assert desk.picker.found["r1"]["runs"] == before
    assert desk.picker.found["r9"]["words"] == "marked, not in use"
    desk.way.value = "grey card"
    mark(desk, disc(0))
    assert desk.way.value == "none"
    assert desk.picker.found["r1"]["runs"] == before


def test_a_card_that_is_none_is_told(desk):
    """A green thing marked as grey card: the sentence, and no correction."""
    mark(desk, disc(0), card(x=float(CENTRES[1][0]), y=float(CENTRES[1][1])))
    assert "is not grey" in said(desk.way_lines)
    assert "No correction is in use now." in said(desk.way_lines)
    assert desk.correction.kind == "none"
    assert off(desk.picker.found["r1"], BALLS[0]) < 1


def test_a_correction_without_its_mark_is_told(desk):
    """Each button says what to mark first."""
    mark(desk, disc(0))
    for way in ("grey card", "white paper", "target"):
        desk.way.value = way
        assert said(desk.way_lines).startswith(f"No {way} is marked on the photo.")


def test_white_paper_and_a_missing_target(desk, folder):
    """Paper corrects as well; four corners without patches are told."""
    paper = {**card(), **PAPER, "role": "white paper"}
    mark(desk, disc(0), paper)
    assert desk.way.value == "white paper"
    assert desk.correction.kind == "white paper"
    desk.picker.set_state({"corners": [[25, 25], [300, 25], [300, 200]]})
    assert desk.way.value == "white paper"  # three corners are no target yet
    assert kept(folder).target == ()
    desk.picker.set_state({"corners": [[25, 25], [300, 25], [300, 200], [25, 200]]})
    assert desk.way.value == "target"
    assert "No correction is in use now." in said(desk.way_lines)
    assert len(kept(folder).target) == 4


# --- the regions file -----------------------------------------------------------------


def test_regions_come_back(desk, stash, folder):
    """A new desk on the same folder has regions, names, card and colours again."""
    mark(desk, disc(0, name="Sage"), disc(1, name="=Rust"), card())
    again = PhotoDesk(stash)
    assert [one["name"] for one in again.picker.regions] == ["Sage", "=Rust", ""]
    assert again.way.value == "grey card"
    assert again.picker.found == {
        k.replace("r9", "r3"): v for k, v in desk.picker.found.items()
    }
    assert again.table.rows == desk.table.rows


def test_a_faulty_regions_file_is_told_and_kept(folder):
    """It is not shown, and becomes .bak before the first new region is saved."""
    path = folder / "photos" / "balls-regions.csv"
    path.write_text("name,shape,x,y,width\nSage,heart,1,2,3\n", encoding="utf-8")
    faulty = path.read_bytes()
    desk = PhotoDesk(StashDesk(folder))
    assert "balls-regions.csv" in said(desk.messages)
    assert "becomes balls-regions.csv.bak" in said(desk.messages)
    assert path.read_bytes() == faulty
    mark(desk, disc(0))
    mark(desk, disc(0), disc(1))
    assert len(kept(folder).yarns) == 2
    assert path.with_name("balls-regions.csv.bak").read_bytes() == faulty


def test_regions_changed_elsewhere_stay(desk, folder):
    """Another program's change is not written over; the sentence says what to do."""
    mark(desk, disc(0))
    path = folder / "photos" / "balls-regions.csv"
    elsewhere = path.read_bytes() + b"Mine,,circle,150,150,50,50\n"
    path.write_bytes(elsewhere)
    mark(desk, disc(0), disc(1))
    assert "another program has changed it" in said(desk.messages)
    assert path.read_bytes() == elsewhere


# --- into the stash -------------------------------------------------------------------


def test_yarns_are_added_and_the_shelf_follows(desk, stash, folder):
    """Named ones become rows with blank grams; one press takes all back."""
    before = (folder / "stash.csv").read_bytes()
    mark(desk, disc(0, name="Sage"), disc(1, name=HOSTILE), disc(2))
    assert said(desk.ready) == "New for the stash: 2. Without a name, and left out: 1."
    desk.add.click()
    assert said(desk.added) == (
        "2 yarns are added to stash.csv. Their grams are blank: weigh them. "
        '"Undo the last change" takes it back.'
    )
    new = rows(folder)
    assert (new["Sage"]["no"], new["Sage"]["grams"]) == ("46", "")
    assert off({"runs": [[new["Sage"]["colours"], 1]]}, BALLS[0]) < 1
    assert new["Sage"]["style"] == "solid"
    assert new["Sage"]["notes"].startswith(
        "colours from a photo, not corrected, about ±"
    )
    assert new[HOSTILE]["no"] == "47"
    assert [row[1] for row in stash.table.table.rows[-2:]] == ["Sage", HOSTILE]
    assert HOSTILE in desk.picker.names
    assert b"<img" not in bytes(stash.shelf.image.value)
    desk.add.click()
    assert said(desk.added) == "No yarn on the photo has a new name: nothing was added."
    stash.undo.click()
    assert (folder / "stash.csv").read_bytes() == before
    assert said(desk.ready).startswith("New for the stash: 2.")


def test_a_ball_that_is_just_being_measured_is_added_too(desk, folder, monkeypatch):
    """Acts may come from another thread amid a measurement: nothing is left out."""
    from kit.widgets.photo import colours as photo_colours

    real, added = photo_colours.sample, []

    def interrupted(*words):
        if not added:
            added.append(True)
            desk.add.click()
        return real(*words)

    monkeypatch.setattr(photo_colours, "sample", interrupted)
    mark(desk, disc(0, name="Sage"), disc(1, name="Rust"))
    assert added
    assert {"Sage", "Rust"} <= set(rows(folder))


def test_a_name_that_is_there_gets_new_colours_on_demand(desk, folder):
    """It is told; adding leaves it; the other button changes colours alone."""
    before = rows(folder)["Chair Leg"]
    mark(desk, disc(0, name="chair  leg"), disc(1, name="Rust"))
    assert 'Already in stash.csv: "chair leg".' in said(desk.ready)
    desk.add.click()
    assert rows(folder)["Chair Leg"] == before
    assert "Rust" in rows(folder)
    assert desk.renew.description == "Replace their colours (2)"
    desk.renew.click()
    after = rows(folder)["Chair Leg"]
    assert off({"runs": [[after["colours"], 1]]}, BALLS[0]) < 1
    changed = {column for column in after if after[column] != before[column]}
    assert changed == {"colours", "style", "notes"}


def test_equal_names_are_told_and_nothing_added(desk, folder):
    """Two balls of one name: which is meant must be said."""
    before = (folder / "stash.csv").read_bytes()
    mark(desk, disc(0, name="Sage"), disc(1, name="sage"))
    desk.add.click()
    assert said(desk.added).startswith('2 regions are called "Sage".')
    assert said(desk.added).endswith(NOT_ADDED)
    assert (folder / "stash.csv").read_bytes() == before


def test_a_stash_changed_elsewhere_is_left_alone(desk, folder):
    """Another program's edit stays, the regions stay, and it is said."""
    mark(desk, disc(0, name="Sage"))
    path = folder / "stash.csv"
    elsewhere = path.read_bytes().replace(b"#444a51,46", b"#444a51,45")
    path.write_bytes(elsewhere)
    desk.add.click()
    assert "another program has changed it" in said(desk.added)
    assert path.read_bytes() == elsewhere
    assert desk.picker.regions == [disc(0, name="Sage")]


def test_what_is_typed_for_a_yarn_is_saved_first(desk, stash, folder):
    """Adding from a photo does not lose what stands in the form; faults stop it."""
    mark(desk, disc(0, name="Sage"))
    stash.one_yarn.form.colours.text.set_state({"value": "#112233"})
    desk.add.click()
    assert rows(folder)["Chart Margin"]["colours"] == "#112233"
    assert "Sage" in rows(folder)
    mark(desk, disc(1, name="Rust"))
    stash.one_yarn.form.colours.text.set_state({"value": "#11223"})
    desk.add.click()
    assert said(desk.added).startswith('What is typed under "One yarn" cannot be saved')
    assert "Rust" not in rows(folder)
    assert stash.one_yarn.form.colours.value == "#11223"


def test_another_blanket_brings_its_own_photos(desk, stash, folder):
    """The photo desk follows the stash desk, and saves what was marked before."""
    mark(desk, disc(0, name="Sage"))
    stash.new_blanket.name.value = "Porch throw"
    stash.new_blanket.begin.click()
    assert said(desk.messages).startswith("No photo yet.")
    assert (desk.picker.regions, desk.picker.names) == ([], ["An example"])
    stash.which.folder.value = folder
    assert desk.picker.regions == [disc(0, name="Sage")]


# --- greys and swatches ---------------------------------------------------------------


def test_both_grey_pictures_are_there(desk):
    """True greys beside a phone's: two PNGs that differ, since there is colour. They
    come with the photo; names come when they are drawn anew."""
    pictures = [bytes(image.value) for image in (desk.true_greys, desk.phone_greys)]
    assert all(png.startswith(b"\x89PNG") for png in pictures)
    assert pictures[0] != pictures[1]
    mark(desk, disc(1, name="Rust"))
    assert said(desk.grey_lines) == "Names or regions may have changed since."
    desk.draw.click()
    assert said(desk.grey_lines) == ""
    assert bytes(desk.true_greys.value) != pictures[0]


def test_a_swatch_is_held_against_its_strands(desk, stash, folder):
    """A swatch of the very colour of one yarn lies near it, of another one far."""
    stash.one_yarn.form.colours.text.set_state({"value": BALLS[0]})
    stash.one_yarn.form.colours._heard(None, {"event": "submit"}, [])
    mark(desk, disc(0, name="swatch"))
    desk.place.value = "r1"
    assert said(desk.compared).startswith("Choose the swatch's region")
    desk.strands.set_state({"index": (0,)})
    assert "from 1 strand across the room" in said(desk.compared)
    assert "this is within what the photo can tell" in said(desk.compared)
    desk.strands.set_state({"index": (0, 39)})  # beside Stove Door
    assert "from 2 strands together across the room" in said(desk.compared)
    desk.strands.set_state({"index": (39,)})
    assert "this is more than that" in said(desk.compared)
    assert bytes(desk.expected.value).count(b"fill=") >= 3
