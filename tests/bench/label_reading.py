"""How many labels are read, clean and spoiled: python -m tests.bench.label_reading [labels a layout]

Every built-in layout is printed at 203 and 300 dpi in black and white, as a label printer does. A phone then
sees the label from a hand's width: its symbol covers SIDE pixels, turned and tilted up to 30°, blurred, with 5 %
of the label stained by three drips of glue, or spotted with as much in dots of 1 mm; "all three" has blur, tilt
and drips. It is read by zxing-cpp, which shares no code with the encoder. Without a number a sample of 40 labels
a layout is taken.
"""

import io
import sys
from collections import Counter

import numpy as np
import pypdfium2
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

from inventory.labels import LAYOUTS, Layout, labels_pdf, module_mm
from tests.inventory.labelling import make_face, make_place

DPI = (203, 300)
WAYS = ("clean", "blurred", "tilted", "stained", "spotted", "all three")
SIDE = 165  # pixels that the symbol covers in a frame 640 wide
STAINED = 0.05
TILT = 30


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    random = np.random.default_rng(seed=5)
    print(f"{'layout':20}{'dpi':>5}" + "".join(f"{way:>11}" for way in WAYS))
    total: Counter[str] = Counter()
    for key, layout in LAYOUTS.items():
        faces = [make_place(n) if n % 8 == 0 else make_face(n) for n in range(1, count + 1)]
        pdf = labels_pdf(faces, layout)
        for dpi in DPI:
            read: Counter[str] = Counter()
            for face, label in zip(faces, _labels(pdf, layout, dpi, count), strict=True):
                for way in WAYS:
                    read[way] += _is_read(_seen(label, way, layout, face.address, dpi, random), face.address)
            total += read
            print(
                f"{key:20}{dpi:>5}" + "".join(f"{100 * read[way] / count:>10.1f}%" for way in WAYS),
                flush=True,
            )
    of = len(LAYOUTS) * len(DPI) * count
    print(f"{'all':20}{'':>5}" + "".join(f"{100 * total[way] / of:>10.1f}%" for way in WAYS))


def _labels(pdf: bytes, layout: Layout, dpi: int, count: int) -> list[Image.Image]:
    """Each label as the printer leaves it: black or white, nothing between."""
    pages = pypdfium2.PdfDocument(io.BytesIO(pdf))
    labels: list[Image.Image] = []
    ticks = 1_016_000
    for page in pages:
        sheet = page.render(scale=dpi / 72).to_pil().convert("L").point(lambda grey: 255 if grey > 127 else 0)
        for position in range(1, layout.count + 1):
            if len(labels) == count:
                break
            left, top = (side * dpi // ticks for side in layout.corner(position))
            size = layout.label_width * dpi // ticks, layout.label_height * dpi // ticks
            labels.append(sheet.crop((left, top, left + size[0], top + size[1])))
    return labels


def _seen(
    label: Image.Image, way: str, layout: Layout, address: str, dpi: int, random: np.random.Generator
) -> Image.Image:
    """The label as the camera sees it."""
    if way == "clean":
        return label
    image = label
    if way in ("stained", "spotted", "all three"):
        area = STAINED * label.width * label.height
        radius = dpi / 25.4 / 2 if way == "spotted" else (area / 3 / np.pi) ** 0.5
        image = _stained(label, area, radius, random)
    symbol = 25 * float(module_mm(layout, address)) / 25.4 * dpi
    scale = SIDE / symbol
    size = max(1, round(image.width * scale)), max(1, round(image.height * scale))
    image = image.resize(size, Image.Resampling.LANCZOS if scale < 1 else Image.Resampling.BICUBIC)
    if way in ("tilted", "all three"):
        image = _tilted(image, random)
    if way in ("blurred", "all three"):
        image = image.filter(ImageFilter.GaussianBlur(random.uniform(1.0, 2.0)))
    return image


def _stained(label: Image.Image, area: float, radius: float, random: np.random.Generator) -> Image.Image:
    """Blots of glue and stain, dark or pale, on so much of the label."""
    image, covered = label.copy(), 0.0
    draw = ImageDraw.Draw(image)
    while covered < area * 0.999:
        x, y = random.uniform(0, label.width), random.uniform(0, label.height)
        draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=int(random.choice([30, 90, 225])))
        covered += np.pi * radius**2
    return image


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
    return any(found.text == address for found in zxingcpp.read_barcodes(image))


if __name__ == "__main__":
    main()
