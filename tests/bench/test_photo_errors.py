"""Errors of photographed colours: `python -m pytest -m bench -s tests/bench`.

99 real objects (CIE 224:2017) that no fit has seen, as flat swatches on a table, under
published lights, through two published cameras: mean, 95 %, maximum, and the share that
stays within what the correction says.
"""

import numpy as np
import pytest
from PIL import Image

from kit.colour import ciede2000
from kit.colour.spaces import linear_to_lab
from kit.photo.correction import NO_CORRECTION, corrected, from_card, from_target
from kit.photo.regions import pixels_in
from tests.helpers import photo_demo
from tests.helpers.photos import CAMERAS, LIGHTS, Camera, photograph, swatch_table

pytestmark = pytest.mark.bench
MORE = (*LIGHTS, "LED-B3", "FL11")
CAMERA_KINDS = {
    "Nikon 5100": Camera(CAMERAS[0]),
    "Nikon 5100, contrast curve": Camera(CAMERAS[0], curve=0.5),
    "Nikon 5100, half the cast left in": Camera(CAMERAS[0], cast=0.5),
    "Sigma SD Merrill": Camera(CAMERAS[1]),
}


@pytest.mark.parametrize("name", CAMERA_KINDS)
def test_table_of_errors(name):
    """Prints the table; the targets are held by tests/test_correction.py."""
    scene, regions, labs, corners, cards = swatch_table()
    rows = {}
    for light in MORE:
        photo = photograph(scene, light, CAMERA_KINDS[name])
        means = np.array([pixels_in(photo, r)[0].mean(axis=0) for r in regions])
        for kind, found in {
            "none": NO_CORRECTION,
            "grey card": from_card(photo, cards[:1]),
            "target": from_target(photo, corners),
        }.items():
            off = ciede2000(linear_to_lab(corrected(found, means)), labs)
            rows[light, kind] = off, float((off <= found.worst90).mean())
    print(f"\n{name}\n| light | correction | mean | 95 % | max | within |")
    for (light, kind), (off, held) in rows.items():
        print(
            f"| {light} | {kind} | {off.mean():.1f} | {np.quantile(off, 0.95):.1f} "
            f"| {off.max():.1f} | {held:.0%} |"
        )
    for kind in ("none", "grey card", "target"):
        four = [rows[light, kind] for light in LIGHTS]
        off = np.concatenate([one for one, _ in four])
        print(
            f"| A, D50, D65, FL2 | {kind} | {off.mean():.1f} "
            f"| {np.quantile(off, 0.95):.1f} | {off.max():.1f} "
            f"| {np.mean([held for _, held in four]):.0%} |"
        )
    assert len(rows) == 3 * len(MORE)


def test_the_demo_picture_is_what_its_script_draws(tmp_path):
    """Drawn again, the demo's photo is the same but for the encoder's rounding."""
    photo_demo.write(tmp_path)
    for name in ("table-regions.csv", "README.txt"):
        kept = photo_demo.FOLDER / "photos" / name
        assert (tmp_path / name).read_text("utf-8") == kept.read_text("utf-8")
    new, old = (
        np.asarray(Image.open(folder / "table.jpg"), dtype=float)
        for folder in (tmp_path, photo_demo.FOLDER / "photos")
    )
    assert np.abs(new - old).mean() < 1
