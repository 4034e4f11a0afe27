"""Is a QR mask chosen by penalties read better than a fixed one? python -m tests.bench.label_masks

Labels are turned, shrunk, blurred, dimmed and made noisy, as a poor phone sees them, and read by zxing-cpp.
"""

import numpy as np
import zxingcpp
from PIL import Image, ImageFilter
from qrcode import QRCode
from qrcode.constants import ERROR_CORRECT_H

from inventory.labels.qr import MASK, QUIET_ZONE
from shared.codes import code_for
from tests.inventory.labelling import ORIGIN

LABELS = 1500
SIDES = (170, 150, 130, 115)  # pixels that the symbol covers


def main() -> None:
    random = np.random.default_rng(seed=1)
    read = {(side, mask): 0 for side in SIDES for mask in (MASK, None)}
    for number in range(LABELS):
        address = f"{ORIGIN}/S/{code_for(number * 977)}"
        symbols = {mask: _image(address, mask) for mask in (MASK, None)}
        for side in SIDES:
            turn, noise = random.uniform(-25, 25), random.normal(0, 14, (side, side))
            for mask, image in symbols.items():
                found = zxingcpp.read_barcode(_spoiled(image, side, turn, noise))
                read[side, mask] += found is not None and found.text == address
    for (side, mask), count in read.items():
        print(f"{side} pixels, mask {'by penalty' if mask is None else mask}: {count} of {LABELS}")


def _image(address: str, mask: int | None) -> Image.Image:
    code = QRCode(error_correction=ERROR_CORRECT_H, border=QUIET_ZONE, mask_pattern=mask)
    code.add_data(address, optimize=0)
    code.make()
    matrix = np.where(np.array(code.get_matrix()), 0, 255).astype(np.uint8)
    return Image.fromarray(matrix).resize((296, 296), Image.Resampling.NEAREST)


def _spoiled(image: Image.Image, side: int, turn: float, noise: np.ndarray) -> np.ndarray:
    turned = image.rotate(turn, resample=Image.Resampling.BICUBIC, fillcolor=255, expand=True)
    small = turned.resize((side, side), Image.Resampling.BILINEAR)
    blurred = small.filter(ImageFilter.GaussianBlur(0.8 if side == SIDES[0] else 1.0))
    return np.clip(np.asarray(blurred) * 0.6 + 40 + noise, 0, 255).astype(np.uint8)


if __name__ == "__main__":
    main()
