"""What rectpack's guillotine variants buy for a job: rack first, smallest pieces first, then one sheet size."""

from fractions import Fraction

import rectpack

SCALE = 64
VARIANTS = [
    getattr(rectpack, f"Guillotine{choice}{split}")
    for choice in ("Bssf", "Baf", "Blsf")
    for split in ("Sas", "Las", "Slas", "Llas", "Minas", "Maxas")
]
SORTS = [rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI]


def ticks(text):
    return int(sum(Fraction(word) for word in str(text).split()) * SCALE)


def least_bought(data):
    """The cheapest of all variants, sorts and sheet sizes; None where none cuts everything."""
    best = None
    for buy in (row for row in data["stock"] if row.get("buy")):
        for variant in VARIANTS:
            for order in SORTS:
                cost = bought(data, buy, variant, order)
                if cost is not None and (best is None or cost < best):
                    best = cost
    return best


def bought(data, buy, variant, order):
    kerf = ticks(data["kerf"])
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline,
        bin_algo=rectpack.PackingBin.BFF,
        pack_algo=variant,
        sort_algo=order,
        rotation=False,
    )
    wanted = 0
    for part in data["parts"]:
        size = ticks(part["length"]) + kerf, ticks(part["width"]) + kerf
        if part["grain"] == "width":
            size = size[::-1]
        for _ in range(part["quantity"]):
            packer.add_rect(*size)
            wanted += 1
    rack = [row for row in data["stock"] if not row.get("buy")]
    for row in sorted(rack, key=lambda row: ticks(row["length"]) * ticks(row["width"])):
        packer.add_bin(*room(row, kerf), count=row["quantity"], bid="rack")
    packer.add_bin(*room(buy, kerf), count=200, bid="buy")
    packer.pack()
    if sum(len(sheet) for sheet in packer) < wanted:
        return None
    return sum(sheet.bid == "buy" for sheet in packer) * Fraction(buy["cost"])


def room(row, kerf):
    trim = ticks(row.get("trim", 0))
    return ticks(row["length"]) - 2 * trim + kerf, ticks(row["width"]) - 2 * trim + kerf
