"""Which column of a list is what."""

import pytest

from jobs.partslist.columns import find_columns, recognise
from jobs.partslist.reading import read_paste
from jobs.partslist.words import COLUMN_WORDS


@pytest.mark.parametrize(
    ("field", "names"),
    [
        ("quantity", ["Qty", "QTY.", "Quantity", "Pcs", "No.", "count", "Anzahl", "Qté", "Cantidad"]),
        (
            "name",
            ["Part", "Part name", "NAME", "Description", "component", "Bauteil", "Désignation", "Pieza"],
        ),
        (
            "length",
            ["Length", "L", "len.", "long", "Finished length", "LENGTH (in)", "Länge", "Longueur", "Largo"],
        ),
        ("width", ["Width", "W", "wide", "Cut width", "Width [mm]", "Breite", "Largeur", "Ancho"]),
        ("thickness", ["Thickness", "T", "THK", 'Thk. (")', "Dicke", "Stärke", "Épaisseur", "Grosor"]),
        ("material", ["Material", "Mat'l", "matl", "stock", "Species", "Werkstoff", "Matière", "Madera"]),
        ("also", ["Also", "Or", "Alternatives", "or also"]),
        ("grain", ["Grain", "Grain direction", "direction", "Maserung", "Veta"]),
        ("edging", ["Edging", "Edge", "edge-banding", "Banding", "Kanten", "Chants"]),
        ("match_set", ["Match set", "match", "Set"]),
        ("may_be_glued", ["May be glued up", "Glue-up", "glued up", "verleimt"]),
        ("note", ["Note", "Remarks", "Comments", "Bemerkung"]),
    ],
)
def test_the_trade_s_names_for_a_column_are_known(field, names):
    assert {name: recognise([name]).at for name in names} == {name: {field: 0} for name in names}


def test_no_name_stands_for_two_fields():
    words = [word for known in COLUMN_WORDS.values() for word in known.split()]
    assert len(words) == len(set(words))


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("Length (mm)", "mm"),
        ("Length [in]", "in"),
        ("L mm", "mm"),
        ("Length, inches", "in"),
        ('Length (")', "in"),
        ("Länge in mm", "mm"),
    ],
)
def test_a_name_may_say_its_column_s_unit(name, unit):
    columns = recognise([name, "Width"])
    assert (columns.at, columns.units) == ({"length": 0, "width": 1}, {"length": unit})


def test_a_column_nobody_reads_is_named():
    assert recognise(["Qty", "Length", "Width", "Colour", "", "Weight (kg)"]).unused == (
        "Colour",
        "Weight (kg)",
    )


def test_of_two_columns_that_could_be_the_same_the_usual_name_is_taken():
    columns = recognise(["Species", "No.", "Qty", "Length", "Width", "Material"])
    assert (columns.at["material"], columns.at["quantity"]) == (5, 2)
    assert columns.unused == ("Species", "No.")


@pytest.mark.parametrize(
    ("header", "sentence"),
    [
        (["Length", "Width"], ""),
        (["Qty", "Length"], 'There is no column for the width. Name one "Width", or choose it here.'),
    ],
)
def test_what_is_needed_and_missing_is_said(header, sentence):
    assert recognise(header).missing == sentence


def test_both_of_what_is_needed_may_be_missing():
    sentence = recognise(["Qty"]).missing
    assert sentence.startswith("There is no column for the length or the width.")


# ---- where the header is ----------------------------------------------------------------------------------


def test_a_header_is_found_below_a_title():
    columns = find_columns(read_paste("Bench for the hall\nMarch\n\nQty\tLength\tWidth\n2\t34\t23"), "in")
    assert (columns.header_row, columns.at) == (3, {"quantity": 0, "length": 1, "width": 2})


def test_a_header_is_found_though_a_needed_column_is_missing():
    columns = find_columns(read_paste("Qty\tPart\tLength\n2\tSide\t34"), "in")
    assert (columns.header_row, columns.at) == (0, {"quantity": 0, "name": 1, "length": 2})
    assert "width" in columns.missing


def test_a_row_of_parts_is_not_taken_for_the_header():
    text = "Qty\tPart\tLength\tWidth\tGrain\tNote\n1\tPart\t3\t4\tLength\tNote\n"
    assert find_columns(read_paste(text), "in").header_row == 0


def test_numbers_that_only_count_the_rows_are_not_how_many():
    text = "No.\tPart\tLength\tWidth\n{}\tSide\t3\t4\n{}\tTop\t3\t4\n{}\tShelf\t3\t4"
    counting = find_columns(read_paste(text.format(1, 2, 3)), "in")
    assert "quantity" not in counting.at
    assert counting.unused == ("No.",)
    assert find_columns(read_paste(text.format(1, 2, 4)), "in").at["quantity"] == 0


# ---- by hand ----------------------------------------------------------------------------------------------


def test_columns_can_be_set_by_hand():
    columns = recognise(["Qty", "Depth (mm)", "L", "W"]).placed({"width": 1, "quantity": None})
    assert columns.at == {"length": 2, "width": 1}
    assert columns.units == {"width": "mm"}
    assert columns.unused == ("Qty", "W")


def test_a_column_given_to_another_field_is_taken_from_the_first():
    assert recognise(["L", "W"]).placed({"thickness": 1}).at == {"length": 0, "thickness": 1}


def test_what_is_no_column_can_t_be_chosen_and_no_column_twice():
    columns = recognise(["L", "W"]).placed({"name": -1, "note": 1, "width": 1})
    assert columns.at == {"length": 0, "width": 1}


# ---- no header --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "at"),
    [
        (
            "2\tSide\t34 1/2\t23 1/4\n4\tShelf\t30\t11",
            "in",
            {"quantity": 0, "name": 1, "length": 2, "width": 3},
        ),
        ("Side\t34.5\t23\nShelf\t30\t11", "in", {"name": 0, "length": 1, "width": 2}),
        ("Side\t34.5\t23\t2\nShelf\t30\t11\t4", "in", {"name": 0, "length": 1, "width": 2, "quantity": 3}),
        ("597 mm\t300 mm\tSide\n12 in\t3 in\tTop", "in", {"length": 0, "width": 1, "name": 2}),
        ("720\t560\t18\n800\t400\t18", "mm", {"length": 0, "width": 1, "thickness": 2}),
        ("720\t560\t2\n800\t400\t1", "mm", {"length": 0, "width": 1, "quantity": 2}),
        (
            "2\t720\t560\t18\n4\t800\t400\t18",
            "mm",
            {"quantity": 0, "length": 1, "width": 2, "thickness": 3},
        ),
        (
            "Ash\tSide\t34 1/2\t23\tlength\nAsh\tTop\t30\t11\twidth",
            "in",
            {"material": 0, "name": 1, "length": 2, "width": 3, "grain": 4},
        ),
        (
            "1\t2\tSide\t34 1/2\t23\n2\t4\tTop\t30\t11\n3\t1\tBack\t9\t9",
            "in",
            {"quantity": 1, "name": 2, "length": 3, "width": 4},
        ),
    ],
)
def test_without_a_header_columns_are_guessed_by_what_stands_in_them(text, unit, at):
    columns = find_columns(read_paste(text), unit)
    assert columns.at == at
    assert columns.is_guessed
    assert columns.header_row is None


def test_a_header_in_words_nobody_knows_is_no_part():
    text = "Panca\n\nPos\tNome\tLungh\tLargh\n1\tFianco\t34.5\t23\n2\tPiano\t30\t11\n3\tSchiena\t30\t9"
    columns = find_columns(read_paste(text), "in")
    assert columns.header_row == 2
    assert columns.is_guessed
    assert columns.at == {"name": 1, "length": 2, "width": 3}
    assert columns.unused == ("Pos",)


def test_a_guess_that_was_looked_at_is_none_any_more():
    columns = find_columns(read_paste("Side\t34.5\t23\nShelf\t30\t11"), "in")
    assert not columns.placed({}).is_guessed


def test_prose_is_no_list():
    assert find_columns(read_paste("Dear all,\nplease find my list below."), "in").missing
