"""A drawing as SVG, to stand in a page or alone.

Classes carry the page's colours, light or dark; presentation attributes do for a drawing on its own. There
are no style attributes and no <style>: the content policy forbids them.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from xml.sax.saxutils import escape

from jobs.diagrams.drawing import layout_sketch
from jobs.diagrams.geometry import Layout
from jobs.diagrams.lettering import FRACTION_SIZE, FRACTION_SLASH, Fraction, Phrase
from jobs.diagrams.marks import DESK, Box, Dot, Grain, Line, Look, Mark, Numbered, Paper, Sketch, Text

GRAPHITE, SOFT, SHEET, WOOD, WOOD_STROKE = "#2a2926", "#6a655a", "#fffdf7", "#f3e7cc", "#d6bd8a"
MOSS, MOSS_PAPER, RUST = "#3f5d33", "#e6eddc", "#9a3b1e"

# What a drawing looks like without the page's colours.
ATTRIBUTES: dict[Look, str] = {
    "sheet": f'fill="{SHEET}" stroke="{GRAPHITE}" stroke-width="1"',
    "part": f'fill="{WOOD}" stroke="{GRAPHITE}" stroke-width="1.6"',
    "offcut": f'fill="{MOSS_PAPER}" stroke="{GRAPHITE}" stroke-width="1.4" stroke-dasharray="5 3"',
    "offcut-hatch": "",
    "waste": f'fill="{SHEET}" stroke="{SOFT}" stroke-width="1" stroke-dasharray="1 2.5"',
    "waste-dots": "",
    "defect": f'fill="none" stroke="{RUST}" stroke-width="1.4"',
    "grain": f'fill="none" stroke="{WOOD_STROKE}" stroke-width="1"',
    "grain-arrow": f'fill="none" stroke="{GRAPHITE}" stroke-width="2"',
    "dimension": f'fill="none" stroke="{SOFT}" stroke-width="1"',
    "dimension-text": f'fill="{GRAPHITE}"',
    "part-name": f'fill="{GRAPHITE}"',
    "part-size": f'fill="{GRAPHITE}"',
    "name-box": f'fill="{SHEET}" fill-opacity="0.9"',
    "leader": f'fill="none" stroke="{GRAPHITE}" stroke-width="0.8"',
}


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing for the page, and the list that stands under it."""

    svg: str
    numbered: tuple[Numbered, ...] = ()


def layout_drawing(layout: Layout, *, prefix: str, paper: Paper = DESK) -> Drawing:
    """The drawing of a layout as SVG.

    ``prefix`` must be different for each drawing of a page: it begins the ids of its patterns and its title.
    """
    sketch = layout_sketch(layout, paper)
    return Drawing(to_svg(sketch, prefix=prefix), sketch.numbered)


def to_svg(sketch: Sketch, *, prefix: str) -> str:
    """Any drawing as SVG, as large as its lettering is meant to be read."""
    prefix = "".join(sign if sign.isascii() and sign.isalnum() else "-" for sign in prefix)
    width, height = _number(sketch.width), _number(sketch.height)
    body = "".join(_mark(mark, prefix) for mark in sketch.marks)
    patterns = (
        _patterns(prefix) if any(getattr(mark, "look", "") in PATTERNED for mark in sketch.marks) else ""
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" '
        f'width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'aria-labelledby="{prefix}-title {prefix}-desc" '
        f'font-family="DejaVu Sans, Verdana, sans-serif" text-anchor="middle">'
        f'<title id="{prefix}-title">{_safe(sketch.title)}</title>'
        f'<desc id="{prefix}-desc">{_safe(sketch.description)}</desc>{patterns}{body}</svg>'
    )


PATTERNED: dict[str, str] = {"offcut-hatch": "hatch", "waste-dots": "dots"}


def _patterns(prefix: str) -> str:
    return (
        f'<defs><pattern id="{prefix}-hatch" width="9" height="9" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><path class="hatch" d="M4.5 0v9" fill="none" stroke="{MOSS}" '
        f'stroke-width="0.8"/></pattern>'
        f'<pattern id="{prefix}-dots" width="6" height="6" patternUnits="userSpaceOnUse">'
        f'<circle class="dots" cx="1.5" cy="1.5" r="0.8" fill="{SOFT}"/>'
        f'<circle class="dots" cx="4.5" cy="4.5" r="0.8" fill="{SOFT}"/></pattern></defs>'
    )


def _mark(mark: Mark, prefix: str) -> str:
    match mark:
        case Box():
            return _box(mark, prefix)
        case Line():
            path = "L".join(f"{_number(x)} {_number(y)}" for x, y in mark.points)
            return f'<path class="{mark.look}" d="M{path}" {ATTRIBUTES[mark.look]}/>'
        case Dot():
            place = f'cx="{_number(mark.x)}" cy="{_number(mark.y)}" r="{_number(mark.radius)}"'
            return f'<circle class="{mark.look}-dot" {place} fill="{GRAPHITE}"/>'
        case Grain():
            return f'<path class="grain" d="{_grain(mark)}" {ATTRIBUTES["grain"]}/>'
        case Text():
            return _text(mark)


def _box(box: Box, prefix: str) -> str:
    pattern = PATTERNED.get(box.look)
    attributes = f'fill="url(#{prefix}-{pattern})"' if pattern else ATTRIBUTES[box.look]
    sides = zip(("x", "y", "width", "height"), (box.x, box.y, box.width, box.height), strict=True)
    place = " ".join(f'{side}="{_number(value)}"' for side, value in sides)
    if box.look == "part" and box.is_fine:
        attributes = attributes.replace('stroke-width="1.6"', 'stroke-width="0.6"')
    return f'<rect class="{box.look}" {place} {attributes}/>'


def _grain(mark: Grain) -> str:
    path = ""
    for stroke in mark.strokes:
        x, y = _number(stroke.x), _number(stroke.y)
        half, run, bend = _number(stroke.run / 2), _number(stroke.run), _number(stroke.bend)
        if mark.is_upright:
            path += f"M{x} {y}q{bend} {half} 0 {run}t0 {run}"
        else:
            path += f"M{x} {y}q{half} {bend} {run} 0t{run} 0"
    return path


def _text(text: Text) -> str:
    x, y, size = _number(text.x), _number(text.y), _number(text.size)
    turned = f' transform="rotate(-90 {x} {y})"' if text.is_upright else ""
    anchor = "" if text.anchor == "middle" else f' text-anchor="{text.anchor}"'
    bold = ' font-weight="bold"' if text.is_bold else ""
    words = "".join(_runs(text.phrase, text.size))
    return (
        f'<text class="{text.look}" x="{x}" y="{y}" font-size="{size}"{anchor}{bold}{turned} '
        f"{ATTRIBUTES[text.look]}>{words}</text>"
    )


def _runs(phrase: Phrase, size: float) -> Iterator[str]:
    """Words as they are, fractions as three spans: raised, slash, back on the line."""
    small, raised = _number(size * FRACTION_SIZE), _number(size * 0.28)
    for run in phrase:
        if isinstance(run, Fraction):
            yield f'<tspan font-size="{small}" dy="-{raised}">{run.top}</tspan>'
            yield f'<tspan dy="{raised}">{FRACTION_SLASH}</tspan>'
            yield f'<tspan font-size="{small}">{run.bottom}</tspan>'
        else:
            yield _safe(run)


def _safe(text: str) -> str:
    return escape("".join(sign for sign in text if sign.isprintable()))


def _number(value: float) -> str:
    """
    >>> _number(12.0), _number(3.14159), _number(-0.01)
    ('12', '3.1', '0')
    """
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text
