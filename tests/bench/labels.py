"""How long 1,000 labels take: python -m tests.bench.labels"""

import time

from inventory.labels import LAYOUTS, labels_pdf
from tests.inventory.labelling import make_face


def main() -> None:
    faces = [make_face(number) for number in range(1000)]
    for key in ("letter-30", "a4-24"):
        began = time.process_time()
        pdf = labels_pdf(faces, LAYOUTS[key])
        seconds = time.process_time() - began
        print(f"{key}: {len(faces)} labels in {seconds:.2f} s of processor time, {len(pdf) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
