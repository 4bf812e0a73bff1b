"""The demo's photo: balls of the reading-room stash on a table, all of it drawn.

`python -m tests.helpers.photos` writes table.jpg, table-regions.csv and README.txt to
data/reading-room/photos. Nobody photographed anything: the colours are those of
stash.csv as smooth reflectances, under a white LED, through a published camera.
"""

import csv
from io import BytesIO
from pathlib import Path

import numpy as np

from kit.blanket.stash_csv import read_stash
from kit.colour.spaces import lab_to_linear
from kit.photo import Region
from kit.photo.regions import Marks, regions_csv
from tests.helpers.photos import (
    GREY,
    Camera,
    Scene,
    flat_reflectance,
    photograph,
    reflectance_of,
)

FOLDER = Path(__file__).parents[2] / "data" / "reading-room"
WIDTH, HEIGHT = 2000, 1500
MOST_BYTES = 400_000
LIGHT = "LED-B3"
CAMERA = Camera(cast=0.5, vignette=0.08, exposure=0.8)
# Names of stash.csv as they lie on the table.
ROWS = (
    ("Zinc Bucket", "Custard Hour", "Brass Handrail", "Café Steps", "Chair Leg"),
    (
        "Wet Quay",
        "Crossed-out Wax Seal",
        "Mended Elbow",
        "Foghorn and Roses",
        "Stove Door",
    ),
    ("Borrowed Cuff", "Second Blotter", "Swimmers' Steps", "Card Table Cloth"),
    ("Net on the Wall", "Moss in the Gutter Stone"),
)
README = """\
table.jpg is a drawn picture, not a photograph. The balls on it, their names and their
colours are invented, as is everything in stash.csv. `python -m tests.helpers.photos`
makes it from the colours of stash.csv and published spectra: of a white LED (CIE
LED-B3), of a 24-patch target, of a camera. It is there so that reading colours from a
photo can be tried and checked.

table-regions.csv says where the balls, the grey cards and the target lie on it.
"""


def stash():
    """The yarns of the demo by name, and the style of each."""
    data = (FOLDER / "stash.csv").read_bytes()
    yarns = {yarn.name: yarn for yarn in read_stash(data).yarns}
    rows = csv.DictReader(data.decode().splitlines())
    return yarns, {row["name"]: row["style"] or "solid" for row in rows}


def table():
    """(scene, marks): sixteen balls, two grey cards and the target."""
    scene = Scene(WIDTH, HEIGHT, reflectance_of((0.50, 0.47, 0.45)), seed=11)
    scene.lean(across=-0.12, down=0.05)
    yarns, (known, styles) = [], stash()
    for row, names in enumerate(ROWS):
        for column, name in enumerate(names):
            x = 230 + 385 * column + scene.rng.uniform(-22, 22)
            y = 188 + 348 * row + scene.rng.uniform(-15, 15)
            yarns.append(_ball(scene, known[name], styles[name], x, y))
    corners = ((1336, 1088), (1892, 1100), (1878, 1456), (1330, 1438))
    scene.chart(corners)
    grey = flat_reflectance(GREY)
    spots = (1060, 1290), (1770, 890)
    cards = tuple(scene.card(x, y, 230, 160, grey) for x, y in spots)
    return scene, Marks(tuple(yarns), cards, (), corners)


def _ball(scene, yarn, style, x, y):
    linear = np.clip(lab_to_linear(np.array(yarn.mix.labs)), 0, 1)
    looks = {"shares": yarn.mix.shares, "style": style}
    diameter = scene.rng.uniform(285, 312)
    made = scene.ball(x, y, diameter, [reflectance_of(c) for c in linear], **looks)
    x, y, across = round(made.x), round(made.y), round(made.width)
    return Region(yarn.name, "circle", x, y, across, across)


def jpeg(photo, *, most=MOST_BYTES):
    """The picture as a JPEG of at most so many bytes."""
    from PIL import Image

    for quality in range(92, 40, -4):
        out = BytesIO()
        Image.fromarray(photo.pixels).save(out, "JPEG", quality=quality, optimize=True)
        if out.tell() <= most:
            return out.getvalue()
    raise ValueError("the picture is too busy for its size")


def write(folder=FOLDER / "photos"):
    """Write the picture, its regions and what it is."""
    scene, marks = table()
    folder.mkdir(exist_ok=True)
    (folder / "table.jpg").write_bytes(jpeg(photograph(scene, LIGHT, CAMERA)))
    (folder / "table-regions.csv").write_text(regions_csv(marks), "utf-8")
    (folder / "README.txt").write_text(README, "utf-8")
