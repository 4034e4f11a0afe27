"""The order of a match set: each part's number, and the groups that parts lie together in."""

from typing import Any, cast

from django import forms

from jobs.cutting.problem import Cut
from jobs.matching_sets import Arranged, Group, Row, SetOfParts, arrangement
from shared.fields import CountInput

MOST_GROUPS = 4
DIRECTIONS = [("crosscut", "side by side, with the grain"), ("rip", "stacked, across the grain")]


class MatchSetForm(forms.Form):
    """Every part of the set with its number and its group, and up to four groups."""

    cut = forms.ChoiceField(label="The set lies", choices=DIRECTIONS, widget=forms.RadioSelect)
    may_be_glued = forms.BooleanField(
        required=False, label="May be glued up from staves where no board is wide enough"
    )

    def __init__(self, *args: Any, of: SetOfParts, names: dict[str, str], **options: Any) -> None:
        self.of = of
        now = arrangement(of.tree)
        self.letters = [chr(ord("A") + number) for number in range(max(MOST_GROUPS, len(now.groups)))]
        self.kept = [row.name for row in now.parts]
        options["initial"] = _initial(now, of) | (options.get("initial") or {})
        super().__init__(*args, **options)
        if not of.is_solid:
            del self.fields["may_be_glued"]
        choices = [("", "the set itself"), *((letter, f"group {letter}") for letter in self.letters)]
        for name in self.kept:
            self._add_row(name, names[name], choices)
        for letter in self.letters:
            others = [(value, text) for value, text in choices if value != letter]
            self._add_row(letter, f"Group {letter}", others, required=False)
            self.fields[f"cut_{letter}"] = forms.ChoiceField(
                label=f"Group {letter} lies", choices=DIRECTIONS[::-1], required=False
            )

    def _add_row(
        self, name: str, text: str, choices: list[tuple[str, str]], *, required: bool = True
    ) -> None:
        self.fields[f"order_{name}"] = CountInput(label=f"{text}: number", required=required)
        self.fields[f"within_{name}"] = forms.ChoiceField(
            label=f"{text}: within", choices=choices, required=False
        )

    def part_rows(self) -> list[tuple[str, Any, Any]]:
        """What a part is called, and its two bound fields."""
        return [self._row(name) for name in self.kept]

    def group_rows(self) -> list[tuple[str, Any, Any, Any]]:
        return [(*self._row(letter), self[f"cut_{letter}"]) for letter in self.letters]

    def _row(self, name: str) -> tuple[str, Any, Any]:
        order = self[f"order_{name}"]
        return str(order.label).removesuffix(": number"), order, self[f"within_{name}"]

    def arranged(self) -> Arranged:
        """What was asked for; groups that nothing lies in are left out."""
        data = self.cleaned_data
        parts = [Row(name, data[f"order_{name}"], data[f"within_{name}"]) for name in self.kept]
        used = {row.within for row in parts} | {data[f"within_{letter}"] for letter in self.letters}
        groups = [
            Group(
                Row(letter, data[f"order_{letter}"] or 9_999, data[f"within_{letter}"]),
                cast("Cut", data[f"cut_{letter}"] or "rip"),
            )
            for letter in self.letters
            if letter in used
        ]
        return Arranged(cast("Cut", data["cut"]), parts, groups)


def _initial(now: Arranged, of: SetOfParts) -> dict[str, Any]:
    initial: dict[str, Any] = {"cut": now.cut, "may_be_glued": of.row.may_be_glued}
    for row in (*now.parts, *(group.row for group in now.groups)):
        initial |= {f"order_{row.name}": row.order, f"within_{row.name}": row.within}
    return initial | {f"cut_{group.row.name}": group.cut for group in now.groups}
