"""Problems whose answer is known to exist: sheets sawn up at random, and the pieces asked for back."""

from hypothesis import strategies as st

KERFS = ["0", "1/8", "3/32", 1, "0.1"]
MATERIALS = ["ash", "walnut"]


@st.composite
def sawn_problems(draw, *, most_stock=3):
    """A problem in the planning format with any mix of its options."""
    kerf = draw(st.sampled_from(KERFS))
    stock, parts, blanks = [], [], []
    with_material = draw(st.booleans())
    for number in range(draw(st.integers(1, most_stock))):
        row = draw(stock_rows(f"stock {number}", with_material))
        stock.append(row)
        trim = float(row["trim"])
        long, wide = row["length"] - 2 * trim, row["width"] - 2 * trim
        pieces = draw(sawn_up(long, wide, as_float(kerf)))
        for at, (length, width) in enumerate(pieces):
            parts.append(draw(part_rows(f"part {number}.{at}", length, width, row)))
    if draw(st.booleans()):
        stock.append({"id": "to buy", "length": 40, "width": 30, "cost": "50.00", "buy": True})
    if draw(st.booleans()):
        blanks = draw(blank_rows(parts))
    keep = draw(st.sampled_from([None, {"length": 6, "width": 2, "rate": "0.5"}, {"length": 3, "width": 8}]))
    problem = {
        "unit": "in",
        "kerf": kerf,
        "stages": draw(st.sampled_from([None, None, 1, 2, 3, 4])),
        "first_cut": draw(st.sampled_from(["either", "either", "rip", "crosscut"])),
        "time_limit_s": 1,
        "seed": draw(st.integers(0, 3)),
        "stock": stock,
        "parts": parts,
        "blanks": blanks,
    }
    return problem | ({"keep": keep} if keep is not None else {})


def as_float(kerf):
    return {"1/8": 0.125, "3/32": 0.09375, "0.1": 0.1}.get(kerf, float(kerf) if "/" not in str(kerf) else 0)


@st.composite
def stock_rows(draw, name, with_material):
    length, width = draw(st.integers(10, 40)), draw(st.integers(6, 30))
    row = {
        "id": name,
        "length": length,
        "width": width,
        "trim": draw(st.sampled_from(["0", "0", "0.5"])),
        "cost": draw(st.sampled_from(["0", "7.50", "20", "31.25"])),
        "buy": draw(st.booleans()),
        "grain": draw(st.sampled_from(["length", "length", "none"])),
    }
    quantity = draw(st.sampled_from([1, 1, 2, None]))
    if quantity is not None:
        row["quantity"] = quantity
    if with_material:
        row["material"] = draw(st.sampled_from(MATERIALS))
    if draw(st.integers(0, 3)) == 0:
        row["defects"] = [
            {
                "x": draw(st.integers(0, length - 1)),
                "y": draw(st.integers(0, width - 1)),
                "length": draw(st.sampled_from([0, 0.05, 1, 3])),
                "width": draw(st.sampled_from([0, 0.2, 1, 2])),
            }
            for _ in range(draw(st.integers(1, 2)))
        ]
    return row


@st.composite
def sawn_up(draw, long, wide, kerf, cuts=5):
    """The rectangles that a few random through cuts leave of one piece."""
    pieces = [(long, wide)]
    for _ in range(draw(st.integers(0, cuts))):
        at = draw(st.integers(0, len(pieces) - 1))
        length, width = pieces[at]
        along = draw(st.booleans())
        room = (length if along else width) - kerf
        if room < 2:
            continue
        first = draw(st.integers(1, int(room) - 1))
        rest = room - first
        pieces[at : at + 1] = [(first, width), (rest, width)] if along else [(length, first), (length, rest)]
    return pieces


@st.composite
def part_rows(draw, name, length, width, stock):
    grain = draw(st.sampled_from(["any", "length", "width"]))
    if grain == "width":
        length, width = width, length
    row = {"id": name, "length": length, "width": width, "grain": grain}
    quantity = draw(st.sampled_from([1, 1, 1, 2]))
    if quantity > 1 or draw(st.booleans()):
        row["quantity"] = quantity
    if "material" in stock and draw(st.booleans()):
        row["material"] = draw(st.sampled_from([stock["material"], MATERIALS]))
    return row


@st.composite
def blank_rows(draw, parts):
    """One blank of two to four parts, nested where there are enough."""
    single = [part["id"] for part in parts if part.get("quantity", 1) == 1]
    if len(single) < 2:
        return []
    chosen = single[: draw(st.integers(2, min(4, len(single))))]
    cut = draw(st.sampled_from(["rip", "crosscut"]))
    if len(chosen) > 2:
        other = {"rip": "crosscut", "crosscut": "rip"}[cut]
        tree = {"cut": cut, "of": [chosen[0], {"cut": other, "of": chosen[1:]}]}
    else:
        tree = {"cut": cut, "of": chosen}
    return [{"id": "blank", "tree": tree, "grain": draw(st.sampled_from(["length", "any", "width"]))}]
