#!/usr/bin/env python3
"""Check a cutting plan against its problem, independently of whatever made it.

    check_plan.py PROBLEM.json PLAN.json

Both files follow jobs/cutting/FORMAT.md. Every length is exact (a fraction), so nothing passes by rounding.
Exit 0 and one line of figures when the plan is sound; exit 1 and one line a fault otherwise. Standard library only.
"""
import json
import sys
from fractions import Fraction


def length(value):
    """An exact length from 12, 12.5, "12.5", "3/4" or "23 1/2"."""
    if isinstance(value, float):
        value = repr(value)
    return sum((Fraction(word) for word in str(value).split()), Fraction(0))


class Checker:
    def __init__(self, problem, plan):
        self.problem, self.plan, self.faults = problem, plan, []
        self.kerf = length(problem.get("kerf", 0))
        self.stock = {s["id"]: s for s in problem["stock"]}
        self.parts = {p["id"]: p for p in problem.get("parts", [])}
        self.blanks = {b["id"]: b for b in problem.get("blanks", [])}
        self.cut_count = dict.fromkeys([*self.parts, *self.blanks], 0)
        self.stages = problem.get("stages")
        self.first = problem.get("first_cut", "either")

    def fault(self, where, text):
        self.faults.append(f"{where}: {text}")

    # ---- sizes of blanks (parts that stay side by side, in order, with one kerf between) ----
    def blank_size(self, tree):
        if isinstance(tree, str):
            part = self.parts[tree]
            size = length(part["length"]), length(part["width"])
            return size[::-1] if part.get("grain", "any") == "width" else size
        sizes = [self.blank_size(child) for child in tree["of"]]
        gaps = self.kerf * (len(sizes) - 1)
        if tree["cut"] == "crosscut":
            return sum(s[0] for s in sizes) + gaps, max(s[1] for s in sizes)
        return max(s[0] for s in sizes), sum(s[1] for s in sizes) + gaps

    def blank_members(self, tree):
        return [tree] if isinstance(tree, str) else [m for c in tree["of"] for m in self.blank_members(c)]

    # ---- one sheet, offcut or board ----
    def layout(self, number, layout):
        where = f"layout {number}"
        stock = self.stock.get(layout["stock"])
        if stock is None:
            return self.fault(where, f"unknown stock {layout['stock']!r}")
        times = layout.get("count", 1)
        self.used[stock["id"]] = self.used.get(stock["id"], 0) + times
        trim = length(stock.get("trim", 0))
        self.times, self.where, self.here = times, where, stock
        self.kept_here = Fraction(0)
        self.node(layout["tree"], trim, trim,
                  length(stock["length"]) - 2 * trim, length(stock["width"]) - 2 * trim, 0, None)

    def node(self, node, x, y, long, wide, depth, parent_cut):
        if long <= 0 or wide <= 0:
            return self.fault(self.where, f"a piece of no size at {x},{y}")
        if "cut" not in node:
            return self.leaf(node, x, y, long, wide)
        cut = node["cut"]
        if cut not in ("rip", "crosscut"):
            return self.fault(self.where, f"unknown cut {cut!r}")
        first = self.here.get("first_cut", self.first)
        if depth == 0 and first != "either" and cut != first:
            self.fault(self.where, f"first cut is a {cut}, the problem asks for {first}")
        depth += cut != parent_cut
        children = node["of"]
        if self.stages and depth > self.stages:
            # the last, trimming stage may only free one part from its offcut or waste
            solid = [c for c in children if "part" in c or "blank" in c or "cut" in c]
            if depth > self.stages + 1 or len(solid) > 1 or any("cut" in c for c in children):
                self.fault(self.where, f"more than {self.stages} stages of cuts")
        room = long if cut == "crosscut" else wide
        at = Fraction(0)
        for index, child in enumerate(children):
            size = length(child["size"])
            if size <= 0:
                self.fault(self.where, "a child of no size")
            if cut == "crosscut":
                self.node(child, x + at, y, size, wide, depth, cut)
            else:
                self.node(child, x, y + at, long, size, depth, cut)
            at += size + (self.kerf if index < len(children) - 1 else 0)
        left = room - at
        if left < 0:
            self.fault(self.where, f"{cut} takes {at}, only {room} is there")
        elif left > self.kerf:
            self.fault(self.where, f"{cut} leaves {left} unaccounted for, more than one kerf")

    def leaf(self, node, x, y, long, wide):
        if "part" in node or "blank" in node:
            key = node.get("part", node.get("blank"))
            self.item(key, "part" in node, x, y, long, wide, node.get("turned", False))
        elif node.get("offcut"):
            keep = self.problem.get("keep", {})
            short, narrow = sorted((length(keep.get("length", 0)), length(keep.get("width", 0))))[::-1]
            if max(long, wide) < short or min(long, wide) < narrow:
                self.fault(self.where, f"an offcut of {long} x {wide} is smaller than the shop keeps")
            self.offcuts += self.times
            self.kept_here += long * wide * self.times
            cost = length(self.here.get("cost", 0))
            area = length(self.here["length"]) * length(self.here["width"])
            rate = length(self.problem.get("keep", {}).get("rate", 1))
            self.credit += self.times * rate * cost * long * wide / area
        elif not node.get("waste"):
            self.fault(self.where, f"a leaf that is no part, blank, offcut or waste: {node}")

    def item(self, key, is_part, x, y, long, wide, turned):
        table = self.parts if is_part else self.blanks
        if key not in table:
            return self.fault(self.where, f"unknown part or blank {key!r}")
        self.cut_count[key] += self.times
        if is_part:
            part = table[key]
            size = length(part["length"]), length(part["width"])
            grain = part.get("grain", "any")
        else:
            size, grain = self.blank_size(table[key]["tree"]), table[key].get("grain", "length")
        grained = self.here.get("grain", "length") != "none"
        if grained and grain == "length" and turned or grained and grain == "width" and is_part and not turned:
            self.fault(self.where, f"{key} lies against its grain")
        if (long, wide) != (size[::-1] if turned else size):
            self.fault(self.where, f"{key} is cut {long} x {wide}, it should be {size[0]} x {size[1]}")
        for member in [key] if is_part else self.blank_members(table[key]["tree"]):
            wanted, there = self.parts[member].get("material"), self.here.get("material")
            if wanted and there and there not in ([wanted] if isinstance(wanted, str) else wanted):
                self.fault(self.where, f"{member} wants {wanted}, this is {there}")
        self.part_area += self.times * long * wide
        for flaw in self.here.get("defects", []):
            fx, fy = length(flaw["x"]), length(flaw["y"])
            if x < fx + length(flaw["length"]) and fx < x + long and y < fy + length(flaw["width"]) and fy < y + wide:
                self.fault(self.where, f"{key} lies over a defect")

    def run(self):
        self.used, self.offcuts = {}, 0
        self.credit = self.part_area = Fraction(0)
        for number, layout in enumerate(self.plan["layouts"], 1):
            self.layout(number, layout)
        unplaced = {u["id"]: u["quantity"] for u in self.plan.get("unplaced", [])}
        in_blanks = {m for b in self.blanks.values() for m in self.blank_members(b["tree"])}
        for key, cut in self.cut_count.items():
            row = self.parts.get(key) or self.blanks[key]
            wanted = 0 if key in in_blanks else row.get("quantity", 1)
            if cut + unplaced.get(key, 0) != wanted:
                self.fault("parts", f"{key}: {cut} cut and {unplaced.get(key, 0)} unplaced, {wanted} wanted")
        bought = rack = area = Fraction(0)
        for key, count in self.used.items():
            stock = self.stock[key]
            limit = stock.get("quantity")
            if limit is not None and count > limit:
                self.fault("stock", f"{key} used {count} times, {limit} there")
            area += count * length(stock["length"]) * length(stock["width"])
            if stock.get("buy"):
                bought += count * length(stock.get("cost", 0))
            else:
                rack += count * length(stock.get("cost", 0))
        for key, mine in (("bought", bought), ("rack_used", rack), ("kept", self.credit)):
            said = self.plan.get("figures", {}).get(key)
            if said is not None and abs(length(said) - mine) > Fraction(1, 100):
                self.fault("figures", f"{key} is said to be {said}, it is {float(mine):.2f}")
        bound = self.plan.get("figures", {}).get("bought_bound")
        if bound is not None and not unplaced and length(bound) > bought + Fraction(1, 1000):
            self.fault("figures", f"bought_bound {bound} is above what was bought, {float(bought):.2f}")
        self.figures = {
            "layouts": sum(self.used.values()), "bought": round(float(bought), 2), "rack_used": round(float(rack), 2),
            "kept": round(float(self.credit), 2), "offcuts_kept": self.offcuts,
            "yield": round(float(self.part_area / area), 4) if area else 0,
            "unplaced": sum(unplaced.values()), "bought_bound": bound,
        }
        return not self.faults


def main():
    problem, plan = (json.load(open(path)) for path in sys.argv[1:3])
    checker = Checker(problem, plan)
    sound = checker.run()
    if not sound:
        print(*checker.faults[:40], sep="\n")
        print(f"unsound: {len(checker.faults)} faults")
        return 1
    print("sound", json.dumps(checker.figures))
    return 0


if __name__ == "__main__":
    sys.exit(main())
