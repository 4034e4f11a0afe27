"""How many labels are read, clean and spoiled: python -m tests.bench.label_reading [labels a layout] [layout ...]

Every built-in layout is printed at 203 and 300 dpi in black and white, as a label printer does: rolls made for
that printer, sheets for an office printer of 300. Each label is first measured: how far its scan code lies from
where the layout puts it. Then a phone sees it from a hand's width, its symbol SIDE pixels wide:

  blurred      out of focus by 1 to 2 pixels (standard deviation)
  tilted       turned in the picture and leaning away, each by up to 30°
  stained      opaque blots of 1 to 2.4 mm, dark or pale, until 5 % of the symbol is covered
  off corners  the same, none of them on the three squares in the symbol's corners
  one drip     one round blot of 5 % of the symbol's area, anywhere in it
  worn         off corners, tilted and blurred together

It is read by zxing-cpp, which shares no code with the encoder. Without a number, 500 labels a layout are taken.
"""

import io
import sys
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import pypdfium2
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

from inventory.labels import DPI, LAYOUTS, OFFICE_DPI, Dpi, LabelFace, Layout, labels_pdf
from inventory.labels.qr import FRAME_ROOM, QUIET_ZONE, QrSize, size_on
from shared.measure import TICKS_PER_INCH
from tests.inventory.labelling import QR_ONLY, make_face, make_place

WAYS = ("clean", "blurred", "tilted", "stained", "off corners", "one drip", "worn")
SIDE = 165  # pixels that the symbol covers in a frame 640 wide
STAINED = 0.05
BLOT_MM = (0.5, 1.2)  # radius
FINDER = 8  # modules of a corner square and the light line around it
TILT = 30


class Seen(NamedTuple):
    """A label's symbol in the picture of it: its left, top and side in pixels."""

    label: Image.Image
    left: float
    top: float
    side: float
    modules: int


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    chosen = sys.argv[2:] or list(LAYOUTS)
    random = np.random.default_rng(seed=5)
    print("| layout | dpi | code | " + " | ".join(WAYS) + " | off by, mm |")
    print("| --- | ---: | --- | " + "---: | " * (len(WAYS) + 1))
    total: Counter[str] = Counter()
    furthest = 0.0
    for key in chosen:
        faces = [make_place(n) if n % 8 == 0 else make_face(n) for n in range(1, count + 1)]
        for dpi in DPI:
            size = size_on(LAYOUTS[key], len(faces[0].address), _made_for(LAYOUTS[key], dpi))
            read, off_by = _read(faces, LAYOUTS[key], dpi, size, random)
            total += read
            furthest = max(furthest, off_by)
            code = f"{size.level}, {size.module_mm:.2f} mm"
            _print_row([key, str(dpi), code], read, count, off_by)
    _print_row(["all", "", ""], total, len(chosen) * len(DPI) * count, furthest)


def _print_row(first: list[str], read: Counter[str], of: int, off_by: float) -> None:
    shares = [f"{100 * read[way] / of:.1f}" for way in WAYS]
    print(f"| {' | '.join([*first, *shares, f'{off_by:.2f}'])} |", flush=True)


def _made_for(layout: Layout, dpi: Dpi) -> Dpi:
    return dpi if layout.is_roll else OFFICE_DPI


def _read(
    faces: list[LabelFace], layout: Layout, dpi: Dpi, size: QrSize, random: np.random.Generator
) -> tuple[Counter[str], float]:
    """How many are read in each way, and how far the code furthest from its place lies from it, in mm."""
    read: Counter[str] = Counter()
    furthest = 0.0
    pdf = labels_pdf(faces, layout, dpi=size.dpi)
    meant = _where_meant(layout, size)
    for face, (label, shift) in zip(faces, _labels(pdf, layout, dpi, len(faces)), strict=True):
        furthest = max(furthest, _off_by(label, shift, meant, size, dpi))
        seen = _symbol_in(label, meant, size, dpi)
        read.update(way for way in WAYS if _is_read(_look(seen, way, dpi, random), face.address))
    return read, furthest


def _labels(
    pdf: bytes, layout: Layout, dpi: Dpi, count: int
) -> Iterator[tuple[Image.Image, tuple[float, float]]]:
    """Each label as the printer leaves it, black or white and nothing between, and what part of a pixel its
    own corner lies to the right of the picture's and below it. A page is drawn once for all of its labels."""
    left = count
    for page in pypdfium2.PdfDocument(io.BytesIO(pdf)):
        sheet = (
            page.render(scale=dpi / 72, grayscale=True).to_pil().point(lambda grey: 255 if grey > 127 else 0)
        )
        for position in range(1, min(layout.count, left) + 1):
            x, y = (ticks * dpi / TICKS_PER_INCH for ticks in layout.corner(position))
            width, height = (
                round(ticks * dpi / TICKS_PER_INCH) for ticks in (layout.label_width, layout.label_height)
            )
            yield sheet.crop((int(x), int(y), int(x) + width, int(y) + height)), (x - int(x), y - int(y))
        left -= layout.count


def _where_meant(layout: Layout, size: QrSize) -> tuple[float, float]:
    """The symbol's left and top in mm from the label's corner, by the layout and the face's own rules: at its
    left, in the middle of its height; on labels less than 1.6 times as wide as high at the top."""
    mm = TICKS_PER_INCH / 25.4
    across, down = (ticks / mm for ticks in layout.face_size)
    room, module = FRAME_ROOM / mm, float(size.module_mm)
    quiet, side = QUIET_ZONE * module, size.side_modules * module
    is_stacked = (across - 2 * room) / (down - 2 * room) < 1.6
    x, y = room + quiet, (room if is_stacked else (down - side) / 2) + quiet
    if layout.is_turned:  # read from the right: what is left lies below, what is at the top lies left
        x, y = y, across - x - (side - 2 * quiet)
    return x + layout.inset_x / mm, y + layout.inset_y / mm


def _off_by(
    label: Image.Image,
    shift: tuple[float, float],
    meant: tuple[float, float],
    size: QrSize,
    dpi: Dpi,
) -> float:
    """How far the symbol's edges lie from where they are meant, the furthest in mm, measured in its ink."""
    module = float(size.module_mm)
    side = (size.side_modules - 2 * QUIET_ZONE) * module
    ink = np.asarray(label) < 128
    around = 2 * module  # half the quiet zone: nothing else is printed there
    left, top = (round((at - around) * dpi / 25.4) for at in meant)
    right, bottom = (round((at + side + around) * dpi / 25.4) for at in meant)
    rows, columns = np.nonzero(ink[top:bottom, left:right])
    found = (columns.min() + left, rows.min() + top, columns.max() + left + 1, rows.max() + top + 1)
    wanted = (*meant, meant[0] + side, meant[1] + side)
    return max(
        abs((at - moved) * 25.4 / dpi - where)
        for at, moved, where in zip(found, shift * 2, wanted, strict=True)
    )


def _symbol_in(label: Image.Image, meant: tuple[float, float], size: QrSize, dpi: Dpi) -> Seen:
    """The label around its symbol, half as much again on each side where the label reaches so far."""
    modules = size.side_modules - 2 * QUIET_ZONE
    dot = dpi / 25.4
    left, top, side = meant[0] * dot, meant[1] * dot, modules * float(size.module_mm) * dot
    from_left, from_top = (max(0, round(at - side / 2)) for at in (left, top))
    to_right, to_bottom = (
        min(label.width, round(left + 1.5 * side)),
        min(label.height, round(top + 1.5 * side)),
    )
    cropped = label.crop((from_left, from_top, to_right, to_bottom))
    return Seen(cropped, left - from_left, top - from_top, side, modules)


def _look(seen: Seen, way: str, dpi: Dpi, random: np.random.Generator) -> Image.Image:
    """The label as the camera sees it."""
    image = seen.label
    if way == "clean":
        return image
    if way in ("stained", "off corners", "worn"):
        image = _stained(seen, dpi, random, keeps_off=way != "stained")
    elif way == "one drip":
        image = image.copy()
        _blot(ImageDraw.Draw(image), seen, seen.side * (STAINED / np.pi) ** 0.5, random)
    scale = SIDE / seen.side
    size = max(1, round(image.width * scale)), max(1, round(image.height * scale))
    image = image.resize(size, Image.Resampling.LANCZOS if scale < 1 else Image.Resampling.BICUBIC)
    if way in ("tilted", "worn"):
        image = _tilted(image, random)
    if way in ("blurred", "worn"):
        image = image.filter(ImageFilter.GaussianBlur(random.uniform(1.0, 2.0)))
    return image


def _stained(seen: Seen, dpi: Dpi, random: np.random.Generator, *, keeps_off: bool) -> Image.Image:
    """Blots until so much of the symbol lies under one."""
    image = seen.label.copy()
    drawn, under = ImageDraw.Draw(image), Image.new("L", (round(seen.side), round(seen.side)))
    covered = ImageDraw.Draw(under)
    at_origin = seen._replace(left=0, top=0)
    while np.count_nonzero(np.asarray(under)) < STAINED * under.width * under.height:
        radius = random.uniform(*BLOT_MM) * dpi / 25.4
        x, y = random.uniform(0, seen.side, 2)
        if keeps_off and _is_on_a_corner(seen, x, y, radius):
            continue
        _ellipse(drawn, seen, x, y, radius, int(random.choice([30, 90, 225])))
        _ellipse(covered, at_origin, x, y, radius, 255)
    return image


def _blot(draw: ImageDraw.ImageDraw, seen: Seen, radius: float, random: np.random.Generator) -> None:
    x, y = random.uniform(0, seen.side, 2)
    _ellipse(draw, seen, x, y, radius, int(random.choice([30, 90, 225])))


def _ellipse(draw: ImageDraw.ImageDraw, seen: Seen, x: float, y: float, radius: float, grey: int) -> None:
    x, y = x + seen.left, y + seen.top
    draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=grey)


def _is_on_a_corner(seen: Seen, x: float, y: float, radius: float) -> bool:
    """Whether a blot reaches into one of the three corner squares; the label is not turned more than once, so
    that all four corners are kept off."""
    corner = FINDER * seen.side / seen.modules + radius
    return min(x, seen.side - x) < corner and min(y, seen.side - y) < corner


def _tilted(image: Image.Image, random: np.random.Generator) -> Image.Image:
    """Turned in the picture and leaning away from the camera, each up to TILT degrees."""
    image = image.rotate(random.uniform(-TILT, TILT), Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    lean = np.radians(random.uniform(0, TILT))
    width, height = image.size
    inward = width * 0.25 * np.sin(lean)  # seen from twice the label's width away
    shorter = height * np.cos(lean)
    corners = [(inward, 0), (0, shorter), (width, shorter), (width - inward, 0)]
    source = [(0, 0), (0, height), (width, height), (width, 0)]
    rows, values = [], []
    for (x, y), (u, v) in zip(corners, source, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        values += [u, v]
    how = np.linalg.solve(np.array(rows, dtype=float), np.array(values, dtype=float))
    return image.transform(
        (width, round(shorter)),
        Image.Transform.PERSPECTIVE,
        tuple(how),
        Image.Resampling.BICUBIC,
        fillcolor=255,
    )


def _is_read(image: Image.Image, address: str) -> bool:
    return any(found.text == address for found in zxingcpp.read_barcodes(image, formats=QR_ONLY))


if __name__ == "__main__":
    main()
