"""A photograph as numbers: read safely, upright, in sRGB, without what else it tells.

Where, when and by whom a picture was taken is never kept: a Photo holds pixels only.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from math import ceil, sqrt
from typing import Any

import numpy as np

from kit.colour.spaces import linear_to_srgb1, srgb1_to_linear
from kit.errors import Fault, KitError

MOST_PIXELS = 13_000_000  # kept; a larger picture is scaled down on reading
MOST_DECODING = 210_000_000  # bytes: the file, and what decoding it holds
GREY = 119  # sRGB of L* 50: what shows where a picture is see-through
STRIP = 400_000  # pixels handled at a time
FORMATS = ("JPEG", "PNG", "WEBP")  # a JPEG of several pictures counts as its first
_ADVICE = "Save or export it as JPEG and use that."


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """A picture to measure.

    pixels     sRGB 0-255 (h, w, 3) uint8, upright, read-only, at most 13 megapixels
    full_size  (width, height) of the upright original; regions are given in its pixels
    reduced    how many original pixels a side one of `pixels` is the mean of
    said       what was done to it on reading, in sentences
    """

    pixels: np.ndarray
    full_size: tuple[int, int]
    reduced: int = 1
    name: str = ""
    sentences: tuple[str, ...] = ()

    def __repr__(self) -> str:
        width, height = self.full_size
        return f"Photo({self.name or 'no name'}: {width} × {height})"


def srgb255_to_linear(srgb255: np.ndarray) -> np.ndarray:
    """sRGB 0-255 (uint8) to linear light 0-1 (float32), any shape."""
    return _decoding()[srgb255]


@lru_cache(maxsize=1)
def _decoding() -> np.ndarray:
    return srgb1_to_linear(np.arange(256) / 255).astype(np.float32)


@lru_cache(maxsize=1)
def _encoding() -> np.ndarray:
    steps = np.arange(65_536) / 65_535
    return np.round(255 * linear_to_srgb1(steps)).astype(np.uint8)


def linear_to_srgb255(linear: np.ndarray) -> np.ndarray:
    """Linear light to sRGB 0-255 (uint8), any shape; what lies outside 0-1 is cut."""
    steps = np.clip(linear, 0, 1) * 65_535 + 0.5
    return _encoding()[steps.astype(np.uint16)]


# --- reading --------------------------------------------------------------------------


def read_photo(data: bytes, *, name: str = "") -> Photo:
    """JPEG, PNG or WebP bytes as a Photo. Raises KitError, a sentence for each kind.

    The embedded colour profile is converted to sRGB (relative colorimetric; what sRGB
    cannot show is cut), the picture turned upright, see-through parts laid on neutral
    grey. Above 13 megapixels every 2 x 2 (3 x 3 …) pixels become their mean in linear
    light; a JPEG is halved as it is decoded, which takes the mean of the encoded
    values. Reading takes at most about 300 MiB, the kit included.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the decoder's remarks are not for people
        image = _opened(data, name)
        full_width, full_height = image.size
        _refuse_unreadable(image, len(data), name)
        turned = _orientation(image)
        reduced = _loaded(image, name)
        to_srgb, said = _converter(image)
        upright, by = _reduced_pixels(image, to_srgb)
    del image
    pixels = np.ascontiguousarray(_upright(upright, turned))
    pixels.flags.writeable = False
    if turned >= 5:
        full_width, full_height = full_height, full_width
    if reduced * by > 1:
        width, height = pixels.shape[1], pixels.shape[0]
        said += (f"It was scaled down to {width} × {height} pixels for measuring.",)
    return Photo(pixels, (full_width, full_height), reduced * by, name, said)


def _opened(data: bytes, name: str) -> Any:
    from PIL import Image, UnidentifiedImageError  # late: only where photos are used

    if not data:
        raise _refused("empty_file", "The file is empty", name)
    try:
        return Image.open(BytesIO(data), formats=FORMATS)
    except Image.DecompressionBombError:
        raise _too_large("more than 170 megapixels", name) from None
    except UnidentifiedImageError:
        raise _other_kind(data, name) from None
    except Exception as error:  # a broken file makes the decoder raise anything
        raise _broken(error, name) from error


def _refuse_unreadable(image: Any, n_bytes: int, name: str) -> None:
    if image.mode in ("CMYK", "LAB", "YCbCr"):
        says = "The picture is in printing inks (CMYK), which are no certain colours"
        raise _refused("cmyk", says, name, "Export it as JPEG in RGB and use that.")
    if n_bytes + _bytes_to_decode(image) > MOST_DECODING:
        width, height = image.size
        raise _too_large(f"{width} × {height} pixels", name)


def _bytes_to_decode(image: Any) -> float:
    """What decoding will hold in memory: pixels, and a format's own working space."""
    width, height = image.size
    if image.format == "WEBP":  # the canvas, the one before, and two copies
        return 16.0 * width * height
    if image.format == "PNG":
        return float(width * height * (1 if image.mode in ("1", "L", "P") else 4))
    pixels = 4.0 * width * height / _halving(image) ** 2
    if "progressive" not in image.info and "progression" not in image.info:
        return pixels
    # A progressive JPEG holds all its coefficients, 2 bytes each, until it is shown.
    layers = [(across, down) for _, across, down, *_ in image.layer]
    most = max(a for a, _ in layers) * max(d for _, d in layers)
    return pixels + 2 * width * height * sum(a * d for a, d in layers) / most


def _halving(image: Any) -> int:
    """By how much a JPEG is scaled down as it is decoded: 1, 2, 4 or 8."""
    wanted = sqrt(image.size[0] * image.size[1] / MOST_PIXELS)
    return max(n for n in (1, 2, 4, 8) if n == 1 or n <= ceil(wanted))


def _loaded(image: Any, name: str) -> int:
    """Decode the picture; returns by how much it was scaled down in doing so."""
    by = 1
    try:
        if image.format not in ("PNG", "WEBP") and (by := _halving(image)) > 1:
            image.draft(None, (image.size[0] // by, image.size[1] // by))
        image.load()
    except Exception as error:  # a broken file makes the decoder raise anything
        raise _broken(error, name) from error
    return by


def _orientation(image: Any) -> int:
    """How the picture must be turned (Exif tag 274, 1-8); 1 where it does not say."""
    try:
        value = image.getexif().get(274, 1)
    except Exception:  # broken Exif data: the picture itself may be sound
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _upright(pixels: np.ndarray, orientation: int) -> np.ndarray:
    """Turned and mirrored as Exif 2.32, table 6 has the eight orientations."""
    if orientation >= 5:
        pixels = pixels.swapaxes(0, 1)
    if orientation in (2, 3, 6, 7):
        pixels = pixels[:, ::-1]
    if orientation in (3, 4, 7, 8):
        pixels = pixels[::-1]
    return pixels


# --- colours --------------------------------------------------------------------------


def _converter(image: Any) -> tuple[Callable[[Any], Any], tuple[str, ...]]:
    """What brings a strip (mode RGB or L) to sRGB, and what that is called."""
    profile = image.info.get("icc_profile")
    if not profile:
        return _unchanged, ()
    from PIL import ImageCms

    grey = image.mode in ("L", "LA", "1") or image.mode.startswith("I")
    mode = "L" if grey else "RGB"
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        if grey and source.profile.xcolor_space.strip() == "RGB":
            mode = "RGB"
        transform = ImageCms.buildTransform(
            source,
            ImageCms.createProfile("sRGB"),
            mode,
            "RGB",
            ImageCms.Intent.RELATIVE_COLORIMETRIC,
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return _unchanged, (
            "Its colour profile cannot be read; the colours are taken as sRGB.",
        )
    if _changes_little(transform, mode):
        return _unchanged, ()

    def to_srgb(strip: Any) -> Any:
        return ImageCms.applyTransform(strip.convert(mode), transform)

    return to_srgb, ("Its colour profile was converted to sRGB.",)


def _unchanged(strip: Any) -> Any:
    return strip.convert("RGB")


def _changes_little(transform: Any, mode: str) -> bool:
    """Whether the profile is sRGB by another name: no channel moves more than 1."""
    from PIL import Image, ImageCms

    steps = np.arange(0, 256, 17, dtype=np.uint8)
    cube = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 16, 3)
    before = Image.fromarray(cube if mode == "RGB" else cube[..., 0].copy())
    after = np.asarray(ImageCms.applyTransform(before, transform), dtype=int)
    return int(np.abs(after - np.asarray(before.convert("RGB"))).max()) <= 1


def _reduced_pixels(
    image: Any, to_srgb: Callable[[Any], Any]
) -> tuple[np.ndarray, int]:
    """sRGB 0-255 (h, w, 3), each pixel the mean of `by` x `by`; strip by strip."""
    width, height = image.size
    by = ceil(sqrt(width * height / MOST_PIXELS))
    made = np.empty((max(1, height // by), max(1, width // by), 3), dtype=np.uint8)
    rows = max(1, STRIP // (width * by))
    for top in range(0, len(made), rows):
        bottom = min(top + rows, len(made))
        box = (0, top * by, made.shape[1] * by, bottom * by)
        strip = _on_grey(image.crop(box), to_srgb)
        made[top:bottom] = _mean_of_squares(strip, by)
    return made, by


def _on_grey(strip: Any, to_srgb: Callable[[Any], Any]) -> np.ndarray:
    """A strip as sRGB 0-255 (h, w, 3); see-through parts on grey of L* 50."""
    from PIL import Image

    if strip.mode.startswith("I"):  # 16 bits of grey
        sixteen = np.asarray(strip).astype(np.float64)
        strip = Image.fromarray(np.round(sixteen / 257).astype(np.uint8))
    if not (strip.mode in ("LA", "PA", "RGBA", "RGBa") or strip.has_transparency_data):
        return np.asarray(to_srgb(strip.convert("RGB") if strip.mode == "P" else strip))
    strip = strip.convert("RGBA")
    cover = np.asarray(strip.getchannel("A"), dtype=np.float32)[..., None] / 255
    colours = np.asarray(to_srgb(strip.convert("RGB")), dtype=np.float32)
    return np.round(GREY + (colours - GREY) * cover).astype(np.uint8)


def _mean_of_squares(srgb255: np.ndarray, by: int) -> np.ndarray:
    if by == 1:
        return srgb255
    height, width = srgb255.shape[0] // by, srgb255.shape[1] // by
    squares = srgb255_to_linear(srgb255).reshape(height, by, width, by, 3)
    return linear_to_srgb255(squares.mean(axis=(1, 3)))


# --- what can go wrong ----------------------------------------------------------------

# The first bytes of other kinds of pictures, and what people call them.
_OTHER = {
    b"GIF8": "a GIF",
    b"II*\0": "a TIFF or a camera's raw file",
    b"MM\0*": "a TIFF or a camera's raw file",
    b"BM": "a BMP",
    b"%PDF": "a PDF",
}
_BRANDS = {b"avif": "an AVIF", b"avis": "an AVIF"}


def _refused(code: str, says: str, name: str, advice: str = "") -> KitError:
    return KitError(Fault(code, says=says, advice=advice, file=name))


def _other_kind(data: bytes, name: str) -> KitError:
    if data[4:8] == b"ftyp" and data[8:12] in (b"heic", b"heix", b"mif1", b"msf1"):
        advice = (
            "Save or export it as JPEG, or set the camera to its compatible format."
        )
        return _refused(
            "heic", "This is a HEIC picture, which is not read", name, advice
        )
    kind = _BRANDS.get(data[8:12]) if data[4:8] == b"ftyp" else None
    starts = (word for start, word in _OTHER.items() if data.startswith(start))
    kind = kind or next(starts, None)
    if kind:
        says = f"This is {kind}, expected a JPEG, PNG or WebP picture"
        return _refused("other_kind", says, name, _ADVICE)
    says = "This is not a picture that can be read, expected a JPEG, PNG or WebP"
    return _refused("not_an_image", says, name)


def _too_large(found: str, name: str) -> KitError:
    says = f"The picture is too large to read safely: {found}"
    advice = "Export it smaller; 12 megapixels, about 4000 × 3000, are plenty."
    return _refused("too_big", says, name, advice)


def _broken(error: Exception, name: str) -> KitError:
    cut_off = isinstance(error, EOFError) or "truncated" in str(error).lower()
    if cut_off:
        says = "The picture ends too early: it was cut off in copying or sending"
    else:
        says = "The picture is damaged and cannot be read"
    return _refused(
        "broken_image", says, name, "Copy it again from where it came from."
    )


# --- showing --------------------------------------------------------------------------


def photo_png(photo: Photo, *, longest: int = 1400) -> bytes:
    """The photo as a PNG of at most `longest` pixels a side: pixels, nothing else."""
    from PIL import Image

    image = Image.fromarray(photo.pixels)
    scale = min(1.0, longest / max(image.size))
    if scale < 1:
        size = [max(1, round(side * scale)) for side in image.size]
        image = image.resize(size, Image.Resampling.BOX, reducing_gap=2.0)
    return _png_of(np.asarray(image))


def _png_of(srgb255: np.ndarray) -> bytes:
    """An array of sRGB 0-255, (h, w, 3) or (h, w), as PNG bytes without metadata."""
    from PIL import Image

    data = BytesIO()
    Image.fromarray(srgb255).save(data, "PNG", compress_level=3)
    return data.getvalue()
