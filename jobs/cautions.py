"""What to be careful about when a plan is sawn, said where it bites.

Every number stands in ``data/safety.csv`` with its source; a default that is only common practice says so.
"""

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Literal

from jobs.cutting.problem import Cut
from jobs.cutting.sequence import Setting, all_settings
from jobs.diagrams.cuts import steps_of
from jobs.diagrams.geometry import Layout
from shared.measure import (
    Unit,
    exact_ticks,
    format_length,
    format_length_with_unit,
    format_weight,
    mm,
    weight_kg,
)
from shared.units import convert

DEFER = "The saw's manual, local rules and trained judgement come before anything that is printed here."
THIN_MDF = mm(8)  # 40 CFR 770.3, from memory

Level = Literal["careful", "note"]
Topic = Literal["strip", "short", "reach", "weight", "formaldehyde", "dust"]


@dataclass(frozen=True, slots=True)
class Handled:
    """A layout, what it is called and what is known of its material.

    ``formaldehyde`` is the class as the shop has noted it and ``core`` what the panel is made of; both may be
    empty. ``density`` is in kg/m³.
    """

    name: str
    layout: Layout
    material: str = ""
    thickness: int | None = None
    density: Decimal | None = None
    is_panel: bool = True
    core: str = ""
    formaldehyde: str = ""


@dataclass(frozen=True, slots=True)
class SawSettings:
    """What the shop has set for its saw; None where it has set nothing."""

    least_strip: int | None = None
    longest_rip: int | None = None
    widest_crosscut: int | None = None


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: the piece, the parts of it that are meant, and the place of its layout in the plan.

    Where ``layout`` is None it stands once for all, and ``piece`` names materials.
    """

    topic: Topic
    level: Level
    piece: str
    text: str
    source: str
    parts: str = ""
    layout: int | None = None

    @property
    def where(self) -> str:
        return f"{self.piece}: {self.parts}" if self.parts else self.piece


@dataclass(frozen=True, slots=True)
class Fact:
    """A row of ``data/safety.csv``."""

    value: str
    unit: str
    section: str
    source: str
    basis: str

    @property
    def number(self) -> Decimal:
        return Decimal(self.value)

    @property
    def cited(self) -> str:
        """The rule and the document, the first where several agree, and whether it was only remembered."""
        document = self.source.split(";")[0]
        said = (
            self.section if self.section.startswith(document) else f"{self.section}, {document}".strip(", ")
        )
        return f"{said} (from memory)" if self.basis == "memory" and "no source" not in said else said


@cache
def facts() -> Mapping[str, Fact]:
    """The numbers that cautions rest on, by id."""
    with (Path(__file__).parent / "data" / "safety.csv").open(newline="", encoding="utf-8") as file:
        return {
            row["id"]: Fact(row["value"], row["unit"], row["section"], row["source"], row["basis"])
            for row in csv.DictReader(file)
        }


def cautions_for(handled: Sequence[Handled], saw: SawSettings, unit: Unit) -> list[Caution]:
    """What to be careful about, layout by layout, then once for all of them."""
    said = [
        caution
        for number, one in enumerate(handled)
        for caution in _Layout(number, one, saw, unit).cautions()
    ]
    return [*said, *_formaldehyde(handled), *_dust(handled)]


# ---- lifting ----


def lifting_limit(unit: Unit, held_out: Decimal | None = None) -> Decimal:
    """The most one person should lift, in pounds or kilograms, the load held so far from the body.

    The load constant times the horizontal multiplier, 10/H in inches or 25/H in centimetres and never over
    1, with all other multipliers 1. NIOSH 94-110, Applications Manual for the Revised Lifting Equation.

    >>> lifting_limit("in"), lifting_limit("in", Decimal(15))
    (Decimal('51'), Decimal('34'))
    """
    constant = facts()["L01" if unit == "in" else "L02"].number
    nearest = Decimal(10 if unit == "in" else 25)
    return constant * nearest / max(nearest, held_out or nearest)


HELD_OUT: dict[Unit, tuple[Decimal, str]] = {"in": (Decimal(15), "15 in"), "mm": (Decimal(38), "38 cm")}


def weight_of(one: Handled) -> Decimal | None:
    """What a piece weighs before it is cut, in kilograms; None where thickness or density is not known."""
    if one.thickness is None or one.density is None:
        return None
    return weight_kg(one.layout.length, one.layout.width, one.thickness, one.density)


# ---- one layout ----


@dataclass(frozen=True, slots=True)
class _Layout:
    number: int
    one: Handled
    saw: SawSettings
    unit: Unit

    def cautions(self) -> Iterator[Caution]:
        yield from self._weight()
        made = [setting for setting, _ in all_settings(steps_of(self.one.layout)) if setting.cuts]
        rips = [setting for setting in made if setting.cut == "rip"]
        crosscuts = [setting for setting in made if setting.cut == "crosscut"]
        # A crosscut that runs as far as a rip is made along the fence too.
        far = _ticks(self._fact("S03", "S04"))
        yield from self._narrow([*rips, *(setting for setting in crosscuts if setting.across >= far)])
        yield from self._short_rips(rips)
        yield from self._short_crosscuts([setting for setting in crosscuts if setting.across < far])
        yield from self._beyond("rip", rips, self.saw.longest_rip)
        yield from self._beyond("crosscut", crosscuts, self.saw.widest_crosscut)

    def _caution(self, topic: Topic, level: Level, text: str, source: str, parts: str = "") -> Caution:
        return Caution(topic, level, self.one.name, text, source, parts, self.number)

    def _weight(self) -> Iterator[Caution]:
        kg = weight_of(self.one)
        if kg is None:
            return
        name: str = "lb" if self.unit == "in" else "kg"
        weight, shown = convert(kg, "kg", name), format_weight(kg, self.unit)
        limit, (held_out, far) = lifting_limit(self.unit), HELD_OUT[self.unit]
        limit_held_out = lifting_limit(self.unit, held_out)
        source = facts()["L01"].cited
        if weight > limit:
            text = f"Two to carry: {shown}. {limit} {name} is the most for one, held close to the body."
            yield self._caution("weight", "careful", text, source)
        elif weight > limit_held_out:
            text = f"Heavy for one: {shown}. {limit_held_out:.0f} {name} is the most for one, held {far} out."
            yield self._caution("weight", "note", text, source)

    def _narrow(self, made: Sequence[Setting]) -> Iterator[Caution]:
        default = self._fact("S01", "S02")
        least = self.saw.least_strip or _ticks(default)
        narrow = [setting for setting in made if setting.size < least and not _is_waste(setting)]
        if narrow:
            why = "the shop's least strip" if self.saw.least_strip else "common practice"
            text = (
                f"{self._sizes(narrow)} wide is under {self._length(least)} ({why}). Guard on, push block in "
                "hand, and nothing that traps the strip between fence and blade."
            )
            source = (
                facts()["M13"].cited if self.saw.least_strip else f"{default.cited}; {facts()['M13'].cited}"
            )
            yield self._caution("strip", "careful", text, source, self._parts(narrow))

    def _short_rips(self, rips: Sequence[Setting]) -> Iterator[Caution]:
        default = self._fact("S03", "S04")
        short = [setting for setting in rips if setting.across < _ticks(default)]
        if short:
            shortest = self._length(min(setting.across for setting in short))
            text = (
                f"Rips on pieces only {shortest} long. Under {self._length(_ticks(default))} a piece can "
                "turn on the fence: use a sled, or a saw that holds it."
            )
            yield self._caution("short", "careful", text, default.cited, self._parts(short))

    def _short_crosscuts(self, crosscuts: Sequence[Setting]) -> Iterator[Caution]:
        default = self._fact("S05", "S06")
        short = [
            setting for setting in crosscuts if setting.size < _ticks(default) and not _is_waste(setting)
        ]
        if short:
            text = (
                f"Crosscuts to {self._sizes(short)} are too short to hold by hand. Clamp the piece or "
                "use a sled, with the stop clear of the blade."
            )
            yield self._caution("short", "careful", text, default.cited, self._parts(short))

    def _beyond(self, cut: Cut, made: Sequence[Setting], reach: int | None) -> Iterator[Caution]:
        beyond = [setting for setting in made if reach is not None and setting.across > reach]
        if beyond and reach is not None:
            longest = self._length(max(setting.across for setting in beyond))
            most = f"{'longest rip' if cut == 'rip' else 'widest crosscut'}, {self._length(reach)}"
            text = f"A {cut} of {longest} is more than the saw's {most}. Break the piece down first."
            yield self._caution("reach", "careful", text, "the shop's saw settings", self._parts(beyond))

    def _fact(self, inches: str, metric: str) -> Fact:
        return facts()[inches if self.unit == "in" else metric]

    def _length(self, ticks: int) -> str:
        return format_length_with_unit(ticks, self.unit)

    def _sizes(self, made: Sequence[Setting]) -> str:
        sizes = [format_length(size, self.unit) for size in sorted({setting.size for setting in made})]
        return f"{_listed(sizes)} {self.unit}"

    def _parts(self, made: Sequence[Setting]) -> str:
        keys = [
            leaf.key for setting in made for outcome in setting.outcomes for leaf in outcome.piece.leaves()
        ]
        return ", ".join(dict.fromkeys(self.one.layout.name(key) for key in keys if key))


# ---- once for all layouts ----


def _formaldehyde(handled: Sequence[Handled]) -> Iterator[Caution]:
    panels: dict[tuple[str, str], list[Handled]] = {}
    for one in handled:
        if one.is_panel:
            limit = panel_limit(one.core, one.thickness)
            panels.setdefault((one.formaldehyde.strip(), limit or ""), []).append(one)
    for (noted, limit), ones in panels.items():
        where = ", ".join(dict.fromkeys(one.material or one.name for one in ones))
        text = (
            f"Formaldehyde class: {noted}."
            if noted
            else "Formaldehyde class not noted: read the panel's label."
        )
        if not limit:
            yield Caution("formaldehyde", "note", where, text, "the shop's materials")
            continue
        fact = facts()[limit]
        text += f" The US limit for such a panel is {fact.number} {fact.unit}."
        yield Caution("formaldehyde", "note", where, text, fact.cited)


def panel_limit(core: str, thickness: int | None) -> str | None:
    """The row with the emission limit for a panel of such a core, None where the core says nothing.

    >>> from shared.measure import inches
    >>> facts()[panel_limit("MDF core", inches("3/4"))].value
    '0.11'
    """
    words = core.lower()
    if "mdf" in words or "fibre" in words or "fiber" in words:
        return "F03" if thickness is not None and thickness <= THIN_MDF else "F02"
    if "particle" in words or "chip" in words:
        return "F04"
    return "F01" if any(word in words for word in ("veneer", "ply", "composite", "combination")) else None


def _dust(handled: Sequence[Handled]) -> Iterator[Caution]:
    if any(one.layout.sheet.cut for one in handled):
        recommended, total, respirable = (facts()[row].number for row in ("D03", "D01", "D02"))
        text = (
            f"Wood dust: collector on, mask on. NIOSH recommends at most {recommended} mg/m³ over a working "
            f"day; OSHA's limits are {total}, and {respirable} for what reaches the lungs."
        )
        yield Caution("dust", "note", "Every cut", text, facts()["D01"].cited)


def _ticks(fact: Fact) -> int:
    return exact_ticks(fact.value, "in" if fact.unit == "in" else "mm")


def _is_waste(setting: Setting) -> bool:
    return all(outcome.kind == "waste" for outcome in setting.outcomes)


def _listed(texts: Sequence[str]) -> str:
    """
    >>> _listed(["1"]), _listed(["1", "2", "3"])
    ('1', '1, 2 and 3')
    """
    return " and ".join(text for text in (", ".join(texts[:-1]), *texts[-1:]) if text)
