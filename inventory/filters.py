"""Narrowing the stock down, as one does in front of the rack."""

from functools import cached_property
from typing import Any

from django.db.models import F, Q
from django.http import QueryDict
from django_filters import CharFilter, ChoiceFilter, Filter, FilterSet

from inventory.models import Material, Piece, Place, State
from inventory.models.materials import MaterialQuerySet
from inventory.models.pieces import PieceQuerySet
from shared import codes, measure
from shared.fields import LengthInput, LongSelect

ANY_STATE = "any"
_ORDERS: dict[str, list[Any]] = {
    "nearest": [F("length") * F("width"), "id"],
    "newest": ["-made_at", "-id"],
    "place": ["place__walk_order", "place__name", "code"],
    "largest": [(F("length") * F("width")).desc(), "id"],
    "code": ["code"],
}


class LengthFilter(Filter):
    """A length as people type it."""

    field_class = LengthInput


class StockFilter(FilterSet):
    """Pieces by what they are, where they are, how large they are and whose they are.

    What goes by material is settled on the few materials first, so that the pieces are found by their index.
    """

    q = CharFilter(label="Code or name")
    length = LengthFilter(label="At least this long")
    width = LengthFilter(label="by this wide")
    way = ChoiceFilter(
        label="Which way", empty_label="either way", choices=[("grain", "length with the grain")]
    )
    material = ChoiceFilter(label="Material", empty_label="any", widget=LongSelect)
    species = ChoiceFilter(label="Species", empty_label="any", widget=LongSelect)
    thickness = ChoiceFilter(label="Thickness", empty_label="any", widget=LongSelect)
    kind = ChoiceFilter(label="Kind", empty_label="any", choices=Piece.Kind.choices)
    place = ChoiceFilter(label="Place", empty_label="any", widget=LongSelect)
    state = ChoiceFilter(
        label="State", empty_label=None, choices=[*State.choices, (ANY_STATE, "any, also what is gone")]
    )
    held = ChoiceFilter(
        label="Held for a job", empty_label="held or free", choices=[("free", "free"), ("held", "held")]
    )
    sort = ChoiceFilter(
        label="Order",
        empty_label="best first",
        choices=[
            ("newest", "newest first"),
            ("nearest", "smallest first"),
            ("largest", "largest first"),
            ("place", "along the walk"),
            ("code", "by code"),
        ],
    )

    class Meta:
        model = Piece
        fields: list[str] = []

    def __init__(self, data: QueryDict, *, shop: Any) -> None:
        asked = data.copy()
        asked.setdefault("state", State.ON_RACK)
        super().__init__(asked, Piece.objects.with_all_shown())
        self.shop = shop
        woods = {one.species.name: one.species for one in self.materials if one.species}
        self._offer("material", [(one.pk, one.name) for one in self.materials])
        self._offer("species", [(woods[name].pk, name) for name in sorted(woods)])
        self._offer("thickness", [(text, text) for text in self._thicknesses()])
        self._offer("place", [(one.pk, one.name) for one in self.places])
        for field in self.form.fields.values():
            if isinstance(field, LengthInput):
                field.unit = shop.unit

    def _offer(self, name: str, choices: list[tuple[Any, str]]) -> None:
        self.filters[name].extra["choices"] = [(str(value), text) for value, text in choices]

    @cached_property
    def materials(self) -> list[Material]:
        """All that pieces can be of, by name."""
        return list(Material.objects.exclude(kind=Material.Kind.GOODS).select_related("species"))

    @cached_property
    def places(self) -> list[Place]:
        """All places, along the walk."""
        return list(Place.objects.all())

    def _thicknesses(self) -> list[str]:
        thinnest_first = sorted(self.materials, key=lambda one: (one.thickness or 0, one.thickness_text))
        return list(dict.fromkeys(one.thickness_text for one in thinnest_first if one.thickness_text))

    # ---- what was asked -----------------------------------------------------------------------------------

    @cached_property
    def asked(self) -> dict[str, Any]:
        """What was asked for, by name; nothing where it can't be read."""
        return self.form.cleaned_data if self.form.is_valid() else {}

    @property
    def asks_a_size(self) -> bool:
        return bool(self.asked.get("length") or self.asked.get("width"))

    @property
    def size_text(self) -> str:
        """The size asked for, in words: "at least 30 × 12, either way", or ""."""
        if not self.asks_a_size:
            return ""
        length, width = self.asked["length"], self.asked["width"]
        way = "length with the grain" if self.asked["way"] else "either way"
        if length and width:
            return f"at least {measure.format_size(length, width, self.shop.unit)}, {way}"
        which = "long" if length else "wide"
        return f"at least {measure.format_length_with_unit(length or width, self.shop.unit)} {which}, {way}"

    # ---- what that gives ----------------------------------------------------------------------------------

    def filter_queryset(self, pieces: PieceQuerySet) -> PieceQuerySet:
        """The pieces asked for, in the order asked for; none where the question can't be read."""
        if not self.form.is_valid():
            return pieces.none()
        pieces = self._in_state(self._of_material(self._in_place(pieces)))
        if self.asked["kind"]:
            pieces = pieces.filter(kind=self.asked["kind"])
        if self.asked["held"]:
            pieces = pieces.filter(hold__isnull=self.asked["held"] == "free")
        if self.asks_a_size:
            pieces = pieces.at_least(
                self.asked["length"], self.asked["width"], with_grain=bool(self.asked["way"])
            )
        return pieces.order_by(*_ORDERS[self.asked["sort"] or ("nearest" if self.asks_a_size else "newest")])

    def _in_state(self, pieces: PieceQuerySet) -> PieceQuerySet:
        state = self.asked["state"] or State.ON_RACK
        return pieces if state == ANY_STATE else pieces.filter(state=state)

    def _in_place(self, pieces: PieceQuerySet) -> PieceQuerySet:
        """In the place or in one within it."""
        if not self.asked["place"]:
            return pieces
        found = {int(self.asked["place"])}
        while more := {one.pk for one in self.places if one.within_id in found} - found:
            found |= more
        return pieces.filter(place__in=found)

    def _of_material(self, pieces: PieceQuerySet) -> PieceQuerySet:
        """Of the materials asked for; the words may also begin a piece's code."""
        fitting = [one for one in self.materials if self._is_asked(one)]
        words = self.asked["q"].lower().split()
        named = [one for one in fitting if all(word in one.name.lower() for word in words)]
        if start := codes.start_of_code(self.asked["q"]):
            # A range uses the index where a pattern would not; Z is beyond the last character of any code.
            coded = pieces.filter(code__gte=start, code__lt=f"{start}Z")
            if len(fitting) < len(self.materials):
                coded = coded.filter(material__in=fitting)
            return coded | pieces.filter(material__in=named) if named else coded
        return pieces if len(named) == len(self.materials) else pieces.filter(material__in=named)

    def _is_asked(self, material: Material) -> bool:
        return (
            self.asked["material"] in ("", str(material.pk))
            and self.asked["species"] in ("", str(material.species_id))
            and self.asked["thickness"] in ("", material.thickness_text)
        )


class MaterialFilter(FilterSet):
    """Materials by kind and name; goods also by what has to be ordered."""

    q = CharFilter(label="Name", method="by_words")
    kind = ChoiceFilter(label="Kind", empty_label="any", choices=Material.Kind.choices)
    only = ChoiceFilter(
        label="Only",
        empty_label="what is kept",
        method="by_need",
        choices=[("low", "goods to order"), ("retired", "no longer kept")],
    )

    class Meta:
        model = Material
        fields: list[str] = []

    def __init__(self, data: QueryDict) -> None:
        sheets_lumber_goods = ("-kind", "name")
        super().__init__(data, Material.objects.with_stock().order_by(*sheets_lumber_goods))

    def by_words(self, materials: MaterialQuerySet, name: str, words: str) -> MaterialQuerySet:
        """Every word in the material's name, its core or another name of it."""
        for word in words.split():
            materials = materials.filter(
                Q(name__icontains=word) | Q(core__icontains=word) | Q(names__name__icontains=word)
            )
        return materials.distinct()

    def by_need(self, materials: MaterialQuerySet, name: str, which: str) -> MaterialQuerySet:
        """Low goods, or what is no longer kept."""
        if which == "low":
            return materials.in_use().filter(reorder_point__isnull=False, left__lte=F("reorder_point"))  # type: ignore[misc]
        return materials.filter(retired=True)

    def filter_queryset(self, materials: MaterialQuerySet) -> MaterialQuerySet:
        """What is no longer kept stays out unless it is asked for."""
        found: MaterialQuerySet = super().filter_queryset(materials)
        return found if self.form.cleaned_data.get("only") else found.in_use()
