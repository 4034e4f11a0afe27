from django.template.loader import render_to_string

from jobs import drawings
from jobs.diagrams.geometry import read_layout
from shared.measure import inches
from shared.models import Shop


def test_each_drawing_lists_the_parts_that_it_numbers() -> None:
    # 9 × 5 has room for its name at the desk, and none on a phone.
    row = [{"size": "9", "part": "rail"}] * 10
    strip = {"size": "5", "cut": "crosscut", "of": [*row, {"size": "4 3/4", "waste": True}]}
    layout = read_layout(
        {"cut": "rip", "of": [strip, {"size": "42 7/8", "offcut": True}]},
        length=inches(96),
        width=inches(48),
        kerf=inches("1/8"),
        unit="in",
        names={"rail": "Rail"},
    )
    _, _, numbers = drawings.of_layout(layout, "a")
    assert numbers["desk"] == ()
    assert [(row.number, row.name, row.count) for row in numbers["phone"]] == [(1, "Rail", 10)]


def test_the_list_under_a_drawing_shows_its_numbers_and_escapes_names() -> None:
    strip = {
        "size": "1",
        "cut": "crosscut",
        "of": [{"size": "1", "part": "x"}, {"size": "94 7/8", "waste": True}],
    }
    layout = read_layout(
        {"cut": "rip", "of": [strip, {"size": "46 7/8", "offcut": True}]},
        length=inches(96),
        width=inches(48),
        kerf=inches("1/8"),
        unit="in",
        names={"x": "<b>Plug</b>"},
    )
    _, _, numbers = drawings.of_layout(layout, "a")
    html = render_to_string("jobs/_numbered.html", {"numbered": numbers["desk"], "shop": Shop(unit="in")})
    assert "<strong>1</strong>" in html
    assert "&lt;b&gt;Plug&lt;/b&gt;" in html
