"""The words makers use on a parts list: over its columns, for the way of the grain, for how many.

Common practice, no source. German, French and Spanish words are in where they mean one thing only (French
nombre counts, Spanish nombre names, so it is neither).
"""

from collections.abc import Mapping
from typing import Literal, get_args

from shared.measure import Unit

Field = Literal[
    "quantity",
    "name",
    "length",
    "width",
    "thickness",
    "material",
    "also",
    "grain",
    "edging",
    "match_set",
    "may_be_glued",
    "note",
]
FIELDS: tuple[Field, ...] = get_args(Field)
LENGTH_FIELDS: tuple[Field, ...] = ("length", "width", "thickness")
Grain = Literal["length", "width", "any", "default"]

# Over a column, best first: where two columns could be the same field, the one named earlier here is taken.
COLUMN_WORDS: Mapping[Field, str] = {
    "quantity": (
        "qty quantity pcs pieces pc count qnty anzahl stueck stuck stk menge quantite qte cantidad cant no nr"
    ),
    "name": (
        "part name partname description component item desc bezeichnung bauteil teil benennung designation "
        "piece pieza descripcion partno partnumber partid label"
    ),
    "length": "length len long lengths l lange laenge longueur longitud largo",
    "width": "width wide widths wid w breite largeur ancho anchura",
    "thickness": "thickness thick thk thck t dicke starke staerke epaisseur espesor grosor grueso",
    "material": (
        "material matl materials mat stock species wood timber "
        "werkstoff holzart holz materiau matiere essence madera"
    ),
    "also": "also alsoof or oralso alternatives alternative othermaterials oder ou",
    "grain": "grain graindirection direction grainruns maserung faserrichtung faser fil sensdufil veta",
    "edging": "edging edge edges edgeband edgebanding banding kante kanten chant chants canto cantos",
    "match_set": "matchset match set matchsets grainmatch",
    "may_be_glued": "maybegluedup maybeglued glueup gluedup gluesup glueupallowed edgeglued verleimt verleimen",
    "note": "note notes remark remarks comment comments bemerkung bemerkungen remarque remarques nota notas",
}
RANKED: dict[str, tuple[Field, int]] = {
    word: (name, rank) for name, words in COLUMN_WORDS.items() for rank, word in enumerate(words.split())
}
# "Finished length" is the length; these words only say which of several lengths a maker thinks of.
SAYS_LITTLE = {"finished", "finish", "final", "cut", "net", "part", "panel", "piece", "of", "the", "each"}
UNIT_WORDS: Mapping[str, Unit] = {
    **dict.fromkeys(("mm", "millimetres", "millimeters", "millimeter"), "mm"),
    **dict.fromkeys(("in", "inch", "inches", '"', "″"), "in"),
}

# An empty cell leaves the grain to the material. "vertical" is not here: it depends on how the part is drawn.
GRAIN_WORDS: Mapping[str, Grain] = {
    "": "default",
    "default": "default",
    **dict.fromkeys(
        ("length", "with", "along", "lengthwise", "long", "l", "yes", "y", "x", "with length"),
        "length",
    ),
    **dict.fromkeys(("width", "across", "cross", "crosswise", "widthwise", "w", "with width"), "width"),
    **dict.fromkeys(("any", "none", "no", "n", "either", "free", "-", "no grain"), "any"),
    **dict.fromkeys(("längs", "ja"), "length"),
    "quer": "width",
    **dict.fromkeys(("beliebig", "egal", "nein"), "any"),
}
YES_WORDS = {"yes", "y", "x", "true", "1", "may", "ja", "j", "oui", "si", "sí", "glue up", "glued up"}
NO_WORDS = {"", "no", "n", "false", "0", "-", "–", "none", "nein", "non", "one board"}
COUNT_WORDS = {"pc", "pcs", "piece", "pieces", "off", "ea", "each", "no", "st", "stk", "stück", "pz"}
