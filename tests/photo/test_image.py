"""photo: what is read, turned, converted and refused, and that nothing else is kept."""

import re
import struct
import subprocess
import sys
from io import BytesIO

import numpy as np
import pytest
from PIL import ExifTags, Image, ImageCms
from PIL.PngImagePlugin import PngInfo

from kit.colour import ciede2000
from kit.colour.spaces import linear_to_lab, xyz_to_lab
from kit.errors import KitError
from kit.photo.image import linear_to_srgb255, photo_png, read_photo, srgb255_to_linear


def encoded(image, kind="PNG", **options):
    data = BytesIO()
    image.save(data, kind, **options)
    return data.getvalue()


def noise(height=30, width=40, seed=0):
    rng = np.random.default_rng(seed)
    return rng.integers(0, 256, (height, width, 3), dtype=np.uint8)


def said_about(data, name="table.jpg"):
    with pytest.raises(KitError) as caught:
        read_photo(data, name=name)
    return str(caught.value)


def png_chunk(kind, data):
    from zlib import crc32

    body = kind + data
    return struct.pack(">I", len(data)) + body + struct.pack(">I", crc32(body))


def png_of_chunks(header, rows):
    from zlib import compress

    start = b"\x89PNG\r\n\x1a\n" + png_chunk(b"IHDR", header)
    return start + png_chunk(b"IDAT", compress(rows, 1)) + png_chunk(b"IEND", b"")


def png_16(pixels):
    """A 16-bit PNG of (h, w, channels): 1 grey, 3 colours (PNG 3rd edition, 11.2)."""
    height, width, channels = pixels.shape
    colour_type = {1: 0, 3: 2}[channels]
    header = struct.pack(">IIBBBBB", width, height, 16, colour_type, 0, 0, 0)
    rows = (b"\0" + row.astype(">u2").tobytes() for row in pixels)
    return png_of_chunks(header, b"".join(rows))


# --- kinds that are read --------------------------------------------------------------


def test_png_and_lossless_webp_are_read_to_the_last_bit():
    """Pixels come through unchanged, and cannot be written to."""
    dots = noise()
    for data in (
        encoded(Image.fromarray(dots)),
        encoded(Image.fromarray(dots), "WEBP", lossless=True),
    ):
        photo = read_photo(data, name="table")
        assert np.array_equal(photo.pixels, dots)
        assert (photo.full_size, photo.reduced, photo.sentences) == ((40, 30), 1, ())
        with pytest.raises(ValueError, match="read-only"):
            photo.pixels[0, 0] = 0


def test_jpeg_is_read():
    """A smooth JPEG comes through within what its compression does."""
    ramp = np.repeat(np.linspace(0, 255, 64).astype(np.uint8)[None, :, None], 48, 0)
    image = Image.fromarray(np.repeat(ramp, 3, axis=2))
    photo = read_photo(encoded(image, "JPEG", quality=95, progressive=True))
    assert photo.pixels.shape == (48, 64, 3)
    assert np.abs(photo.pixels.astype(int) - np.asarray(image)).max() <= 4


@pytest.mark.parametrize("mode", ["L", "1", "LA", "P", "RGBA"])
def test_other_modes_are_read(mode):
    """Greys, palettes and opaque alpha read as the same colours in three channels."""
    image = Image.fromarray(noise()).convert(mode)
    photo = read_photo(encoded(image))
    assert np.array_equal(photo.pixels, np.asarray(image.convert("RGB")))


def test_sixteen_bits():
    """Sixteen bits a channel are read: greys to the nearest step, colours within 1."""
    rng = np.random.default_rng(3)
    for channels, off in ((1, 0), (3, 1)):
        deep = rng.integers(0, 65_536, (20, 20, channels))
        wanted = np.round(deep / 257)
        found = read_photo(png_16(deep)).pixels.astype(int)
        assert np.abs(found - wanted).max() <= off


def test_see_through_parts_lie_on_neutral_grey():
    """No alpha shows the grey of L* 50, half alpha the middle, palettes likewise."""
    dots = np.zeros((1, 3, 4), dtype=np.uint8)
    dots[0, :, 0], dots[0, :, 3] = 255, (0, 128, 255)
    photo = read_photo(encoded(Image.fromarray(dots)))
    assert photo.pixels[0].tolist() == [[119, 119, 119], [187, 59, 59], [255, 0, 0]]
    # L* 50 is sRGB #777777 (colour-science: XYZ_to_Lab gives 50.03 for it).
    lightness = linear_to_lab(srgb255_to_linear(photo.pixels[0, :1]))[0, 0]
    assert lightness == pytest.approx(50, abs=0.1)
    palette = Image.new("P", (2, 1))
    palette.putpalette([10, 20, 30, 200, 100, 50])
    palette.putpixel((1, 0), 1)
    shown = read_photo(encoded(palette, transparency=0)).pixels[0].tolist()
    assert shown == [[119, 119, 119], [200, 100, 50]]


# Exif 2.32, table 6: where the picture's row 0 and column 0 lie as it is seen upright.
ORIENTATIONS = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}


@pytest.mark.parametrize("value", ORIENTATIONS)
@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_orientation(value, kind):
    """Row 0 and column 0 of the file lie where Exif says, and the size follows."""
    dots = np.zeros((20, 30, 3), dtype=np.uint8)
    dots[0, :, 0], dots[:, 0, 1] = 200, 200
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = value
    options = {"lossless": True} if kind == "WEBP" else {}
    data = encoded(Image.fromarray(dots), kind, exif=exif, **options)
    photo = read_photo(data)
    sides = {
        "top": photo.pixels[0],
        "bottom": photo.pixels[-1],
        "left": photo.pixels[:, 0],
        "right": photo.pixels[:, -1],
    }
    row_0, column_0 = ORIENTATIONS[value]
    assert (sides[row_0][:, 0] == 200).all()
    assert (sides[column_0][:, 1] == 200).all()
    assert photo.full_size == ((20, 30) if value >= 5 else (30, 20))
    assert photo.pixels.shape[1::-1] == photo.full_size


def test_orientation_that_makes_no_sense_is_passed_over():
    """An Exif orientation of 9, or broken Exif data, leaves the picture as it is."""
    for value in (b"Exif\0\0broken", None):
        exif = Image.Exif()
        exif[ExifTags.Base.Orientation] = 9
        data = encoded(Image.fromarray(noise()), exif=value or exif)
        assert np.array_equal(read_photo(data).pixels, noise())


# --- colour profiles ------------------------------------------------------------------

# Display P3: SMPTE RP 431-2 primaries, white D65, as colour-science carries them
# ("Display P3": Apple 2019, from memory beyond that); the sRGB curve.
P3_XY = np.array([[0.680, 0.320], [0.265, 0.690], [0.150, 0.060]])
D65_XY = (0.3127, 0.3290)
# ICC.1:2022, 7.2.16: the profile connection space's white.
ICC_D50 = np.array([0.9642, 1.0, 0.8249])


def xyz_of(xy):
    return np.array([xy[0] / xy[1], 1.0, (1 - xy[0] - xy[1]) / xy[1]])


def rgb_to_xyz(primaries):
    """The matrix of an RGB space (SMPTE RP 177-1993)."""
    columns = np.stack([xyz_of(xy) for xy in primaries], axis=1)
    return columns * np.linalg.solve(columns, xyz_of(D65_XY))


def icc_profile(primaries, curve=(2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)):
    """A matrix profile by ICC.1:2022: colorants taken to D50 (Bradford), one curve."""
    bradford = np.array(
        [
            [0.8951, 0.2664, -0.1614],
            [-0.7502, 1.7135, 0.0367],
            [0.0389, -0.0685, 1.0296],
        ]
    )
    gain = (bradford @ ICC_D50) / (bradford @ xyz_of(D65_XY))
    chad = np.linalg.inv(bradford) @ np.diag(gain) @ bradford
    colorants = chad @ rgb_to_xyz(primaries)

    def fixed(*numbers):
        return b"".join(struct.pack(">i", round(65_536 * n)) for n in numbers)

    def text(words):
        coded = words.encode("utf-16-be")
        return (
            b"mluc\0\0\0\0"
            + struct.pack(">IIHHII", 1, 12, 25966, 21843, len(coded), 28)
            + coded
        )

    para = b"para\0\0\0\0" + struct.pack(">HH", 3, 0) + fixed(*curve)
    tags = {b"desc": text("Test space"), b"cprt": text("None")}
    tags[b"wtpt"] = b"XYZ \0\0\0\0" + fixed(*ICC_D50)
    tags[b"chad"] = b"sf32\0\0\0\0" + fixed(*chad.ravel())
    for k, letter in enumerate("rgb"):
        tags[f"{letter}XYZ".encode()] = b"XYZ \0\0\0\0" + fixed(*colorants[:, k])
        tags[f"{letter}TRC".encode()] = para
    at, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for tag, data in tags.items():
        data += b"\0" * (-len(data) % 4)
        table += tag + struct.pack(">II", at + len(body), len(data))
        body += data
    header = struct.pack(
        ">I4sI4s4s4s12s4s4sI4s4sQI",
        at + len(body), b"\0\0\0\0", 0x04300000, b"mntr", b"RGB ", b"XYZ ",
        struct.pack(">6H", 2020, 1, 1, 0, 0, 0), b"acsp", b"\0\0\0\0", 0,
        b"\0\0\0\0", b"\0\0\0\0", 0, 0,
    )  # fmt: skip
    header += fixed(*ICC_D50) + b"\0" * (128 - len(header) - 12)
    return header + struct.pack(">I", len(tags)) + table + body


def test_display_p3_is_read():
    """Display P3 colours that sRGB can show come out within dE00 1.1 of the truth."""
    import colour

    rng = np.random.default_rng(5)
    dots = rng.integers(0, 256, (60, 60, 3), dtype=np.uint8)
    space = colour.RGB_COLOURSPACES["Display P3"]
    xyz = colour.RGB_to_XYZ(dots / 255, space, apply_cctf_decoding=True)
    shown = colour.XYZ_to_sRGB(xyz, apply_cctf_encoding=False)
    within = ((shown > 0) & (shown < 1)).all(axis=-1)
    profile = icc_profile(P3_XY)
    photo = read_photo(encoded(Image.fromarray(dots), icc_profile=profile))
    off = ciede2000(linear_to_lab(srgb255_to_linear(photo.pixels)), xyz_to_lab(xyz))[
        within
    ]
    assert within.mean() > 0.5
    assert off.max() < 1.1
    plain = read_photo(encoded(Image.fromarray(dots)))
    unread = ciede2000(linear_to_lab(srgb255_to_linear(plain.pixels)), xyz_to_lab(xyz))[
        within
    ]
    assert unread.mean() > 2  # what passing the profile over would cost
    assert photo.sentences == ("Its colour profile was converted to sRGB.",)


def test_an_srgb_profile_changes_nothing():
    """sRGB by another name, ours or the library's, leaves every pixel alone."""
    srgb = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])  # IEC 61966-2-1
    library = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for profile in (icc_profile(srgb), library):
        data = encoded(Image.fromarray(noise()), icc_profile=profile)
        assert np.array_equal(read_photo(data).pixels, noise())
        assert read_photo(data).sentences == ()


def test_profiles_on_other_modes():
    """A profile meets greys and see-through pictures without a hitch."""
    profile = icc_profile(P3_XY)
    for mode in ("L", "LA", "RGBA", "P", "1"):
        image = Image.fromarray(noise()).convert(mode)
        photo = read_photo(encoded(image, icc_profile=profile))
        plain = read_photo(encoded(image))
        assert photo.pixels.shape == plain.pixels.shape
        if mode in ("L", "LA", "1"):  # a grey is the same grey in P3
            assert np.abs(photo.pixels.astype(int) - plain.pixels).max() <= 1


def test_a_broken_profile_is_said():
    """A profile that cannot be read is passed over, and that is said."""
    data = encoded(Image.fromarray(noise()), icc_profile=b"no profile at all")
    photo = read_photo(data)
    assert np.array_equal(photo.pixels, noise())
    assert photo.sentences == (
        "Its colour profile cannot be read; the colours are taken as sRGB.",
    )


# --- large pictures -------------------------------------------------------------------


def test_large_pictures_are_scaled_down_in_linear_light(monkeypatch):
    """Black and white dots become the grey of half the light, not of half the code."""
    monkeypatch.setattr("kit.photo.image.MOST_PIXELS", 130_000)
    dots = (np.indices((400, 402)).sum(axis=0) % 2 * 255).astype(np.uint8)
    photo = read_photo(encoded(Image.fromarray(dots)))
    assert photo.pixels.shape == (200, 201, 3)
    assert (photo.reduced, photo.full_size) == (2, (402, 400))
    # IEC 61966-2-1: half the light is 187.516 of 255.
    assert set(np.unique(photo.pixels)) == {188}
    assert photo.sentences == ("It was scaled down to 201 × 200 pixels for measuring.",)


READ_AND_MEASURE = """
import sys
from kit.photo.image import read_photo
photo = read_photo(sys.stdin.buffer.read())
peak = next(l for l in open("/proc/self/status") if l.startswith("VmHWM"))
print(*photo.full_size, *photo.pixels.shape, int(peak.split()[1]) / 1024)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="needs /proc")
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_48_megapixels_within_300_mib(kind):
    """A picture of 48 megapixels is read with less than 300 MiB, Python included.

    The peak of the process's own memory; `resource.getrusage` would count the tests'
    memory too, which a child takes over for a moment as it starts.
    """
    if kind == "JPEG":
        data = encoded(Image.new("RGB", (8000, 6000), (150, 120, 90)), kind)
    else:
        header = struct.pack(">IIBBBBB", 8000, 6000, 8, 2, 0, 0, 0)
        data = png_of_chunks(header, (b"\0" + bytes(24_000)) * 6000)
    call = [sys.executable, "-c", READ_AND_MEASURE]
    done = subprocess.run(call, input=data, capture_output=True, check=True)
    *shape, peak_mib = done.stdout.split()
    assert [int(n) for n in shape] == [8000, 6000, 3000, 4000, 3]
    assert float(peak_mib) < 300


def test_linear_and_back():
    """Every step of 8 bits goes to linear light and back to itself."""
    steps = np.arange(256, dtype=np.uint8)
    assert np.array_equal(linear_to_srgb255(srgb255_to_linear(steps)), steps)


# --- kinds that are refused -----------------------------------------------------------


def test_not_an_image():
    """Text, nothing, and random bytes get one calm sentence."""
    says = (
        "table.jpg: This is not a picture that can be read, expected a JPEG, PNG or "
        "WebP."
    )
    for data in (b"name,colours\nSage,#9caf88\n", b"\xff\xd8\xff", b"\0" * 5000):
        assert said_about(data) == says
    assert said_about(b"") == "table.jpg: The file is empty."


def test_heic_and_other_kinds():
    """Kinds of pictures that are not read are called by name, with what to do."""
    heic = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 100
    assert said_about(heic, "IMG.HEIC") == (
        "IMG.HEIC: This is a HEIC picture, which is not read. Save or export it as "
        "JPEG, or set the camera to its compatible format."
    )
    dots = Image.fromarray(noise())
    for kind, word in (
        ("GIF", "a GIF"),
        ("TIFF", "a TIFF or a camera's raw file"),
        ("BMP", "a BMP"),
    ):
        assert said_about(encoded(dots, kind)) == (
            f"table.jpg: This is {word}, expected a JPEG, PNG or WebP picture. Save or "
            "export it as JPEG and use that."
        )


def test_cmyk():
    """A JPEG in printing inks is refused."""
    data = encoded(Image.fromarray(noise()).convert("CMYK"), "JPEG")
    assert said_about(data) == (
        "table.jpg: The picture is in printing inks (CMYK), which are no certain "
        "colours. Export it as JPEG in RGB and use that."
    )


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_truncated(kind):
    """A picture that was cut off half-way is refused whole."""
    data = encoded(Image.fromarray(noise(200, 300)), kind)
    says = said_about(data[: len(data) // 2])
    assert says in (
        "table.jpg: The picture ends too early: it was cut off in copying or sending. "
        "Copy it again from where it came from.",
        # The WebP decoder does not say which of the two it met.
        "table.jpg: The picture is damaged and cannot be read. Copy it again from "
        "where it came from.",
    )
    assert kind == "WEBP" or "too early" in says


def test_damaged_pictures_never_crash():
    """Any byte changed: a picture, or a sentence; never another kind of error."""
    rng = np.random.default_rng(8)
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    for kind in ("JPEG", "PNG", "WEBP"):
        profile = icc_profile(P3_XY)
        data = encoded(
            Image.fromarray(noise(16, 16)), kind, exif=exif, icc_profile=profile
        )
        for _ in range(120):
            broken = bytearray(data)
            for at in rng.integers(0, len(data), 3):
                broken[at] = rng.integers(256)
            try:
                assert read_photo(bytes(broken)).pixels.shape[2] == 3
            except KitError as error:
                assert "  " not in str(error)


def test_bombs():
    """A small file that would fill the memory is refused before it is decoded."""
    header = struct.pack(">IIBBBBB", 12_000, 9_000, 8, 2, 0, 0, 0)
    assert said_about(png_of_chunks(header, b"")) == (
        "table.jpg: The picture is too large to read safely: 12000 × 9000 pixels. "
        "Export it smaller; 12 megapixels, about 4000 × 3000, are plenty."
    )
    header = struct.pack(">IIBBBBB", 120_000, 90_000, 8, 2, 0, 0, 0)
    says = said_about(png_of_chunks(header, b""))
    assert "too large to read safely: more than 170 megapixels" in says


def test_a_text_bomb_is_no_trouble():
    """A PNG whose text unpacks to much more than itself is read or refused, calmly."""
    info = PngInfo()
    info.add_text("note", "a" * 3_000_000, zip=True)
    data = encoded(Image.fromarray(noise()), pnginfo=info)
    try:
        assert np.array_equal(read_photo(data).pixels, noise())
    except KitError as error:
        assert "damaged" in str(error)


# --- what a picture tells besides -----------------------------------------------------

SECRET = b"Hollow Lane"


def with_location(kind):
    """A picture with a place in its Exif data (numbers and words) and in its XMP."""
    exif = Image.Exif()
    exif[ExifTags.Base.ImageDescription] = SECRET.decode()
    place = exif.get_ifd(ExifTags.IFD.GPSInfo)
    place[ExifTags.GPS.GPSLatitude] = (51.0, 28.0, 38.0)
    place[ExifTags.GPS.GPSAreaInformation] = b"ASCII\0\0\0" + SECRET
    options = {"exif": exif}
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>" + SECRET + b"</x:xmpmeta>"
    if kind == "PNG":
        options["pnginfo"] = PngInfo()
        options["pnginfo"].add_itxt("XML:com.adobe.xmp", xmp.decode())
        options["pnginfo"].add_text("Comment", SECRET.decode())
    else:
        options["xmp"] = xmp
    if kind == "JPEG":
        options["comment"] = SECRET
    return encoded(Image.fromarray(noise()), kind, **options)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_where_a_photo_was_taken_is_never_kept(kind):
    """No byte of location, comment or XMP is in the Photo or in what is made of it."""
    data = with_location(kind)
    assert SECRET in data
    photo = read_photo(data, name="table")
    shown = photo_png(photo)
    held = photo.pixels.tobytes() + repr((photo, photo.sentences, photo.name)).encode()
    for output in (held, shown):
        assert SECRET not in output
        assert b"Exif" not in output and b"xmp" not in output
    chunks = re.findall(rb"IHDR|IDAT|IEND|tEXt|iTXt|zTXt|eXIf|iCCP|tIME", shown)
    assert set(chunks) <= {b"IHDR", b"IDAT", b"IEND"}
    assert Image.open(BytesIO(shown)).info == {}


def test_thumbnail():
    """No larger than asked, the same shape; small photos stay as they are."""
    photo = read_photo(encoded(Image.fromarray(noise(300, 400))))
    small = Image.open(BytesIO(photo_png(photo, longest=100)))
    assert small.size == (100, 75)
    same = Image.open(BytesIO(photo_png(photo)))
    assert np.array_equal(np.asarray(same), photo.pixels)
