"""What people type becomes exact ticks, and ticks become what the shop reads."""

import time
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from shared.measure import (
    LONGEST,
    TICKS_PER_64TH,
    TICKS_PER_INCH,
    TICKS_PER_MM,
    NotALength,
    Unit,
    exact_text,
    exact_ticks,
    format_length,
    format_length_with_unit,
    format_size,
    inches,
    mm,
    parse_length,
    split_fraction,
    typed_text,
)

UNITS = st.sampled_from(["in", "mm"])
LENGTHS = st.integers(1, LONGEST)


# ---- the tick ---------------------------------------------------------------------------------------------


def test_an_inch_is_25_point_4_millimetres():
    assert inches(5) == mm(127)


@pytest.mark.parametrize(
    ("ticks", "count"),
    [(inches("1/64"), 15_875), (inches("0.001"), 1_016), (mm("0.01"), 400), (mm(1), 40_000)],
)
def test_the_smallest_marks_of_a_shop_are_whole_ticks(ticks, count):
    assert ticks == count


@pytest.mark.parametrize("value", [Fraction(1, 3), Decimal("0.0000001"), "1/3", "0.0000001"])
def test_a_length_written_in_code_is_never_rounded(value):
    with pytest.raises(ValueError):
        inches(value)


def test_lengths_in_code_are_written_in_any_exact_way():
    assert (
        inches(2)
        == inches("2")
        == inches(Fraction(2))
        == inches(Decimal("2.0"))
        == mm("50.8")
        == mm(Decimal("50.8"))
    )


# ---- reading ----------------------------------------------------------------------------------------------

HALF_PAST_23 = Fraction(47, 2)


@pytest.mark.parametrize(
    ("text", "in_inches"),
    [
        ("23 1/2", HALF_PAST_23),
        ('23-1/2"', HALF_PAST_23),
        ("23.5", HALF_PAST_23),
        ("23½", HALF_PAST_23),
        ("23 ½ in.", HALF_PAST_23),
        ("23 1⁄2″", HALF_PAST_23),
        ("23 1/2”", HALF_PAST_23),
        ("23 1/2''", HALF_PAST_23),
        ("  23\N{NO-BREAK SPACE}1/2\t", HALF_PAST_23),
        ("23\N{NARROW NO-BREAK SPACE}1/2 inches", HALF_PAST_23),
        ("23 1 / 2", HALF_PAST_23),
        ("23,5 in", HALF_PAST_23),
        ("23.5 IN", HALF_PAST_23),
        ("596.9 mm", HALF_PAST_23),
        ("59.69cm", HALF_PAST_23),
        ("0.5969 m", HALF_PAST_23),
        ("1' 11 1/2\"", HALF_PAST_23),
        ("1′-11½″", HALF_PAST_23),
        ("1’ - 11.5”", HALF_PAST_23),
        ("1'11 1/2", HALF_PAST_23),
        ("1 ft 11 1/2 in", HALF_PAST_23),
        ("1 foot 11.5 inches", HALF_PAST_23),
        ("2' 3 3/8\"", Fraction(219, 8)),
        ("2 ft 3 in", Fraction(27)),
        ("2'", Fraction(24)),
        ("2.5 feet", Fraction(30)),
        ("⅜", Fraction(3, 8)),
        (".125", Fraction(1, 8)),
        ("5/4", Fraction(5, 4)),
        ("1/5", Fraction(1, 5)),
        ("2 1/3 ft", Fraction(28)),
        ("0001", Fraction(1)),
    ],
)
def test_a_length_is_understood_as_people_write_it(text, in_inches):
    assert parse_length(text, "in") == in_inches * TICKS_PER_INCH


@pytest.mark.parametrize(
    ("text", "in_mm"),
    [
        ("597", "597"),
        ("597 mm", "597"),
        ("59.7 cm", "597"),
        ("1 m", "1000"),
        ("1.25 metres", "1250"),
        ("23,5", "23.5"),
        ("0,75", "0.75"),
        ("59,7 cm", "597"),
        ("23 1/2 in", "596.9"),
        ("1' 11,5\"", "596.9"),
        ("12 1/2", "12.5"),
    ],
)
def test_a_bare_number_is_in_the_shops_unit_and_the_other_is_understood(text, in_mm):
    assert parse_length(text, "mm") == Decimal(in_mm) * TICKS_PER_MM


IN_WOULD_DO = "Write 23 1/2, 23.5 or 597 mm."
MM_WOULD_DO = "Write 597, 596.9 or 23 1/2 in."
A_COMMA = "has a comma that may part thousands or decimals"


@pytest.mark.parametrize(
    ("text", "unit", "sentence"),
    [
        ("", "in", f"A length is missing. {IN_WOULD_DO}"),
        (" \t\n", "mm", f"A length is missing. {MM_WOULD_DO}"),
        ("23 1/2 x", "in", f'"23 1/2 x" is not a length. {IN_WOULD_DO}'),
        ("nan", "in", f'"nan" is not a length. {IN_WOULD_DO}'),
        ("inf", "mm", f'"inf" is not a length. {MM_WOULD_DO}'),
        ("1e9", "in", f'"1e9" is not a length. {IN_WOULD_DO}'),
        ("in", "in", f'"in" is not a length. {IN_WOULD_DO}'),
        ("+3", "in", f'"+3" is not a length. {IN_WOULD_DO}'),
        ("23 1/2/3", "in", f'"23 1/2/3" is not a length. {IN_WOULD_DO}'),
        ("2\" 3'", "in", f'"2" 3\'" is not a length. {IN_WOULD_DO}'),
        ("1.2.3", "in", f'"1.2.3" is not a length. {IN_WOULD_DO}'),
        ("12 kg", "mm", f'"12 kg" is not a length. {MM_WOULD_DO}'),
        ("1_000", "mm", f'"1_000" is not a length. {MM_WOULD_DO}'),
        ("٣", "mm", f'"٣" is not a length. {MM_WOULD_DO}'),
        ("23¹⁄₂", "in", f'"23¹⁄₂" is not a length. {IN_WOULD_DO}'),
        ("1/0", "in", f'"1/0" divides by zero. {IN_WOULD_DO}'),
        ("2' 1/0\"", "in", f'"2\' 1/0"" divides by zero. {IN_WOULD_DO}'),
        ("-3", "in", f'"-3" is below zero. {IN_WOULD_DO}'),
        ("−3 mm", "mm", f'"−3 mm" is below zero. {MM_WOULD_DO}'),
        ("0", "in", f'"0" is not above zero. {IN_WOULD_DO}'),
        ("0.000000001", "mm", f'"0.000000001" is not above zero. {MM_WOULD_DO}'),
        ("23 3/2", "in", f'"23 3/2" has a fraction of one or more. {IN_WOULD_DO}'),
        ("23 2/2", "in", f'"23 2/2" has a fraction of one or more. {IN_WOULD_DO}'),
        ("9999999", "in", f'"9999999" is longer than anything in a shop (1200 in). {IN_WOULD_DO}'),
        ("9999999", "mm", f'"9999999" is longer than anything in a shop (30480 mm). {MM_WOULD_DO}'),
        ("23,5", "in", f'"23,5" {A_COMMA}. {IN_WOULD_DO}'),
        ("1,246", "in", f'"1,246" {A_COMMA}. {IN_WOULD_DO}'),
        ("1,246 mm", "in", f'"1,246 mm" {A_COMMA}. {IN_WOULD_DO}'),
        ("1,246", "mm", f'"1,246" {A_COMMA}. {MM_WOULD_DO}'),
        ("1,2,3", "mm", f'"1,2,3" {A_COMMA}. {MM_WOULD_DO}'),
        ("23, 1/2", "mm", f'"23, 1/2" {A_COMMA}. {MM_WOULD_DO}'),
        ("23 1/2\nDrawer side", "in", f'"23 1/2 Drawer side" is not a length. {IN_WOULD_DO}'),
        ("9" * 40, "in", f'"{"9" * 24}…" is longer than anything in a shop (1200 in). {IN_WOULD_DO}'),
        ("9" * 41, "in", f'"{"9" * 24}…" is too long to be a length. {IN_WOULD_DO}'),
    ],
)
def test_what_is_no_length_is_refused_in_a_sentence(text, unit, sentence):
    with pytest.raises(NotALength) as refused:
        parse_length(text, unit)
    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    ("text", "unit", "marks"),
    [
        ("1/3", "in", "21/64 in or 11/32 in"),
        ("23 1/3", "in", "23 21/64 in or 23 11/32 in"),
        ("1/300", "in", "1/64 in"),
        ("1/3", "mm", "0.33 mm or 0.34 mm"),
        ("1/128", "in", "1/64 in"),
    ],
)
def test_a_fraction_between_the_marks_is_refused_with_the_marks_beside_it(text, unit, marks):
    with pytest.raises(NotALength) as refused:
        parse_length(text, unit)
    assert (
        str(refused.value)
        == f'"{text}" falls between the marks of a tape. The nearest that would do: {marks}.'
    )


def test_zero_is_taken_where_it_makes_sense():
    assert parse_length("0", "in", zero_ok=True) == parse_length("0.0 mm", "in", zero_ok=True) == 0


def test_a_megabyte_is_refused_at_once():
    started = time.perf_counter()
    for text in ["9" * 1_000_000, "1/" * 500_000, " " * 500_000 + "x" * 500_000, "½" * 1_000_000]:
        with pytest.raises(NotALength) as refused:
            parse_length(text, "in")
        assert len(str(refused.value)) < 120
    assert time.perf_counter() - started < 1


@given(value=st.decimals(0, 1200, places=12), unit=UNITS)
def test_a_decimal_finer_than_a_tick_goes_to_the_nearest(value, unit):
    ticks = parse_length(f"{value:f}", unit, zero_ok=True)
    exact = Fraction(value) * (TICKS_PER_INCH if unit == "in" else TICKS_PER_MM)
    assert abs(ticks - exact) <= Fraction(1, 2)


@given(text=st.text("0123456789 /-.,'\"½⅓′″⁄ftinmc−\N{NO-BREAK SPACE}", max_size=12) | st.text(), unit=UNITS)
@example(text="1⁄", unit="in")
@example(text="⅟", unit="in")
@example(text="↉", unit="in")
@settings(max_examples=300)
def test_any_text_is_a_length_or_is_refused_in_one_line(text, unit):
    try:
        ticks = parse_length(text, unit)
    except NotALength as refused:
        sentence = str(refused)
        assert sentence.endswith(".")
        assert "\n" not in sentence
        assert len(sentence) < 160
    else:
        assert 0 < ticks <= LONGEST


@st.composite
def written_lengths(draw: st.DrawFn) -> tuple[str, Fraction]:
    """A length in inches as one of the many ways to write it, and what it is by fractions."""
    feet, whole = draw(st.integers(0, 40)), draw(st.integers(0, 99))
    bottom = draw(st.sampled_from([2, 4, 8, 16, 32, 64]))
    top = draw(st.integers(1, bottom - 1))
    slash = draw(st.sampled_from(["/", "⁄", " / ", "∕"]))
    amount, value = draw(
        st.sampled_from(
            [
                (f"{whole}", Fraction(whole)),
                (f"{top}{slash}{bottom}", Fraction(top, bottom)),
                (f"{whole} {top}{slash}{bottom}", whole + Fraction(top, bottom)),
                (f"{whole}-{top}{slash}{bottom}", whole + Fraction(top, bottom)),
                (f"{whole}.{top:02}", Fraction(f"{whole}.{top:02}")),
            ]
        )
    )
    mark = draw(st.sampled_from(["", '"', "″", " in", " inches", "''", " In."]))
    if draw(st.booleans()):
        gap = draw(st.sampled_from(["", " ", "-", " - "]))
        amount, value = (
            f"{feet}{draw(st.sampled_from(['′', ' ft', ' Feet']))}{gap}{amount}",
            feet * 12 + value,
        )
    return amount + mark, value


@given(written_lengths())
@settings(max_examples=200)
def test_feet_inches_and_fractions_add_up(written):
    text, value = written
    assert parse_length(text, "in", zero_ok=True) == value * TICKS_PER_INCH


# ---- there and back ---------------------------------------------------------------------------------------


def as_number(text: str) -> Fraction:
    """Whole, decimal and fraction words added up, which is all the planning format allows."""
    return sum((Fraction(word) for word in text.split()), Fraction(0))


@given(ticks=st.integers(0, LONGEST), unit=UNITS)
@example(ticks=1, unit="in")
@example(ticks=LONGEST, unit="in")
@example(ticks=LONGEST - 1, unit="in")
@settings(max_examples=500)
def test_the_exact_text_of_every_tick_reads_back(ticks: int, unit: Unit):
    assert exact_ticks(exact_text(ticks, unit), unit) == ticks


@given(ticks=st.integers(0, LONGEST), unit=UNITS)
def test_the_exact_text_is_in_the_planning_formats_grammar(ticks, unit):
    assert as_number(exact_text(ticks, unit)) * (TICKS_PER_INCH if unit == "in" else TICKS_PER_MM) == ticks


def test_every_64th_of_an_inch_reads_back_as_shown():
    for ticks in range(TICKS_PER_64TH, LONGEST + 1, 7 * TICKS_PER_64TH):
        assert parse_length(format_length(ticks, "in"), "in") == ticks


@given(count=st.integers(1, 1_200_000))
def test_every_thousandth_of_an_inch_reads_back_as_shown(count):
    assert parse_length(format_length(count * 1_016, "in"), "in") == count * 1_016


@given(count=st.integers(1, 3_048_000))
def test_every_hundredth_of_a_millimetre_reads_back_as_shown(count):
    assert parse_length(format_length(count * 400, "mm"), "mm") == count * 400


@given(ticks=LENGTHS)
@example(ticks=mm(3))
@example(ticks=3607)
@example(ticks=1)
def test_what_a_shop_reads_is_within_half_of_its_last_digit(ticks):
    assert abs(as_number(format_length(ticks, "in")) * TICKS_PER_INCH - ticks) * 20_000 <= TICKS_PER_INCH
    assert abs(as_number(format_length(ticks, "mm")) * TICKS_PER_MM - ticks) * 2_000 <= TICKS_PER_MM


@given(ticks=LENGTHS, unit=UNITS)
@example(ticks=mm(597), unit="in")
def test_a_form_saved_untouched_changes_no_length(ticks, unit):
    assert parse_length(typed_text(ticks, unit), unit) == ticks


# ---- showing ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ticks", "in_inches", "in_mm"),
    [
        (0, "0", "0"),
        (inches("23 1/2"), "23 1/2", "596.9"),
        (inches("3/4"), "3/4", "19.05"),
        (inches("1/64"), "1/64", "0.397"),
        (inches(100), "100", "2540"),
        (inches("0.118"), "0.118", "2.997"),
        (mm(3), "0.1181", "3"),
        (mm(597), "23.5039", "597"),
        (mm("0.01"), "0.0004", "0.01"),
    ],
)
def test_a_length_is_shown_as_the_shop_reads_it(ticks, in_inches, in_mm):
    assert (format_length(ticks, "in"), format_length(ticks, "mm")) == (in_inches, in_mm)


@given(ticks=st.integers(1, 100), unit=UNITS)
@example(ticks=1, unit="in")
def test_a_length_too_small_for_the_decimals_is_not_shown_as_nothing(ticks, unit):
    assert parse_length(format_length(ticks, unit), unit) > 0


def test_a_size_is_length_with_the_grain_by_width():
    assert format_size(inches(96), inches("48 1/2"), "in") == "96 × 48 1/2"
    assert format_size(mm(2440), mm(1220), "mm") == "2440 × 1220"


def test_a_length_can_carry_its_unit():
    assert format_length_with_unit(inches("23 1/2"), "in") == "23 1/2 in"
    assert format_length_with_unit(mm(597), "mm") == "597 mm"


@pytest.mark.parametrize(
    ("ticks", "unit", "parts"),
    [
        (inches("23 1/2"), "in", ("23", "1", "2")),
        (inches("5/64"), "in", ("", "5", "64")),
        (inches(8), "in", ("8", "", "")),
        (mm(3), "in", ("0.1181", "", "")),
        (inches("23 1/2"), "mm", ("596.9", "", "")),
    ],
)
def test_a_fraction_is_given_in_parts_to_be_set_as_one(ticks, unit, parts):
    assert split_fraction(ticks, unit) == parts


@pytest.mark.parametrize("show", [format_length, exact_text, split_fraction])
def test_a_length_below_zero_is_never_shown(show):
    with pytest.raises(ValueError, match="below zero"):
        show(-1, "in")
