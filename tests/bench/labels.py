"""How long 1,000 labels take: python -m tests.bench.labels"""

import time

from inventory.labels import LAYOUTS, labels_pdf
from tests.inventory.labelling import make_face


def main() -> None:
    faces = [make_face(number) for number in range(1000)]
    for key in ("letter-30", "a4-24"):
        began = time.perf_counter()
        pdf = labels_pdf(faces, LAYOUTS[key])
        print(f"{key}: {len(faces)} labels in {time.perf_counter() - began:.2f} s, {len(pdf) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
