"""Every address the program answers, and what to put into it: found in the URL configuration, so that a new
page is tested from the day it is there."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from inventory.models import Count, Material, Movement, Offer, Photo, Piece, Place, Receipt, Supplier
from jobs.models import BuyLine, Job, Layout, Part, Spoiled
from shared.models import Person

#: Something of the right kind that stands for nothing in the shop.
NOTHING: dict[str, Any] = {
    "code": "K7M2Q8",
    "number": "none-such",
    "kind": "pdf",
    "token": "none-such",
    "age": "none-such",
}
NO_ROW = 987_654_321


@dataclass(frozen=True, slots=True)
class Address:
    """A URL pattern with a name."""

    name: str
    wants: tuple[str, ...]

    def of_nothing(self) -> str:
        """The address with what is not in the shop."""
        return self.filled({name: NOTHING.get(name, NO_ROW) for name in self.wants})

    def filled(self, wanted: dict[str, Any]) -> str:
        return reverse(self.name, kwargs=wanted)

    @property
    def is_known(self) -> bool:
        """Whether ROWS or BY_WANTS say what it can be asked for."""
        return self.name in ROWS or self.wants in BY_WANTS

    def of_something(self) -> list[str]:
        """The address with a few things that are in the shop; none where there are none."""
        rows = ROWS.get(self.name) or BY_WANTS.get(self.wants) or list
        return [self.filled(dict(zip(self.wants, row, strict=True))) for row in rows()]


def all_addresses() -> list[Address]:
    """Every named address, in order."""
    return [
        Address(pattern.name, tuple(pattern.pattern.regex.groupindex))
        for pattern in _patterns(get_resolver())
        if pattern.name
    ]


def _patterns(resolver: URLResolver) -> Iterator[URLPattern]:
    for found in resolver.url_patterns:
        if isinstance(found, URLResolver):
            yield from _patterns(found)
        else:
            yield found


def _each(model: Any, *columns: str) -> Any:
    return lambda: _a_few(list(model.objects.order_by("pk").values_list(*columns)))


def _a_few(rows: list[Any], most: int = 4) -> list[Any]:
    """Rows from all over a table: as many as tell its kinds apart."""
    return rows[:: max(1, -(-len(rows) // most))]


def _pieces() -> list[tuple[str]]:
    """Pieces of every kind and in every state, held and free."""
    found: dict[Any, list[str]] = {}
    for kind, state, held, code in Piece.objects.values_list("kind", "state", "hold", "code"):
        found.setdefault((kind, state, held is None), []).append(code)
    return [(code,) for codes in found.values() for code in codes[:1]]


def _exports(*first: str) -> Any:
    if not first:
        return lambda: [("csv",), ("xlsx",)]
    return lambda: [(*row, kind) for row in Job.objects.values_list("number") for kind in ("csv", "xlsx")]


BY_WANTS: dict[tuple[str, ...], Any] = {
    (): lambda: [()],
    ("code",): _pieces,
    ("number",): _each(Job, "number"),
    ("kind",): _exports(),
    ("number", "kind"): _exports("number"),
}
ROWS: dict[str, Any] = {
    **dict.fromkeys(("part", "part-remove", "spoil"), _each(Part, "job__number", "pk")),
    "cut-layout": _each(Layout, "plan__job__number", "pk"),
    "unspoil": _each(Spoiled, "part__job__number", "pk"),
    "match-set": lambda: list(
        Part.objects.exclude(match_set="").values_list("job__number", "match_set").distinct()
    ),
    **dict.fromkeys(
        ("count", "count-note", "count-differences", "count-check", "count-post"), _each(Count, "pk")
    ),
    "photo": _each(Photo, "pk"),
    "spend-rack-age": lambda: [("all",)],
    "undo": _each(Movement, "pk"),
    "buying-drop": _each(BuyLine, "pk"),
    "receipt": _each(Receipt, "pk"),
    **dict.fromkeys(
        ("material", "material-edit", "offer-new", "name-new", "goods-put-in"), _each(Material, "pk")
    ),
    **dict.fromkeys(
        ("shelf", "shelf-move", "shelf-count"),
        lambda: list(Material.objects.filter(kind="goods").values_list("pk")[:4]),
    ),
    "spend-goods": lambda: list(Material.objects.filter(kind="goods").values_list("pk")[:4]),
    "spend-goods-export": lambda: [
        (pk, kind)
        for pk in Material.objects.filter(kind="goods").values_list("pk", flat=True)[:2]
        for kind in ("csv", "xlsx")
    ],
    "offer-end": _each(Offer, "material", "pk"),
    "name-remove": lambda: list(Material.objects.exclude(names=None).values_list("pk", "names")),
    "place": _each(Place, "pk"),
    "supplier": _each(Supplier, "pk"),
    **dict.fromkeys(("person", "person-link", "person-leaves", "person-returns"), _each(Person, "pk")),
    "sign-in-once": list,
}
