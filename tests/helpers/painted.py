"""A photo that is only painted: flat balls, a grey card and white paper on flat grey.

What is found on it must be what was painted.
"""

import io

from PIL import Image, ImageDraw

SIZE = (600, 450)
BALLS = ("#9caf88", "#8b3a1e", "#234875", "#f0d89d", "#5a5f66", "#b96a83")
RADIUS = 55
CENTRES = tuple((115 + 185 * (k % 3), 100 + 165 * (k // 3)) for k in range(6))
CARD_COLOUR = "#5f5f5f"  # darker than 18 % of the light: the photo is too dark
CARD = {"shape": "rectangle", "x": 80.0, "y": 400.0, "width": 75.0, "height": 45.0}
PAPER = {"shape": "rectangle", "x": 500.0, "y": 400.0, "width": 75.0, "height": 45.0}


def painted(balls=BALLS, *, card=CARD_COLOUR, mode="RGB"):
    """The picture."""
    image = Image.new("RGB", SIZE, "#b4b0aa")
    draw = ImageDraw.Draw(image)
    for (x, y), colour in zip(CENTRES, balls, strict=False):
        draw.ellipse([x - RADIUS, y - RADIUS, x + RADIUS, y + RADIUS], fill=colour)
    for place, colour in ((CARD, card), (PAPER, "#dddddd")):
        left, top = place["x"] - 50, place["y"] - 35
        draw.rectangle([left, top, left + 100, top + 70], fill=colour)
    return image.convert(mode)


def photo_bytes(*, kind="PNG", **how):
    """The picture as the bytes of a file."""
    data = io.BytesIO()
    painted(**how).save(data, kind)
    return data.getvalue()


def disc(k, **more):
    """A region well inside ball `k`, as the page sends it."""
    x, y = CENTRES[k]
    return {
        "id": f"r{k + 1}", "name": "", "role": "", "shape": "circle",
        "x": float(x), "y": float(y), "width": 80.0, "height": 80.0, **more,
    }  # fmt: skip
