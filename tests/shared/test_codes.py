"""Codes on labels: each number has its own, and a slip of hand or eye never finds another piece."""

import random
import time
from itertools import combinations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from shared.codes import ALPHABET, COUNT, LENGTH, NotACode, code_for, grouped, is_valid, normalise, parse_code

NUMBERS = st.integers(0, COUNT - 1)


@pytest.fixture(scope="module")
def many_codes() -> list[str]:
    """10,000 codes: the first ones a shop prints, and others from anywhere."""
    numbers = [*range(5_000), *random.Random(29).sample(range(5_000, COUNT), 5_000)]
    return [code_for(number) for number in numbers]


# ---- the alphabet and the bijection -----------------------------------------------------------------------


def test_no_character_is_read_as_another():
    assert len(ALPHABET) == len(set(ALPHABET)) == 29
    assert not set(ALPHABET) & set("OILUSZB")
    assert ALPHABET == "".join(sorted(ALPHABET)) == ALPHABET.upper()


def test_29_is_prime_so_that_every_weight_has_an_inverse():
    assert all(len(ALPHABET) % divisor for divisor in range(2, 29))
    assert len(ALPHABET) ** (LENGTH - 1) == COUNT


def number_of(code: str) -> int:
    """The number back from its code, by the inverse of the stride (extended Euclid) and Horner's scheme."""
    first, second = code_for(0), code_for(1)
    stride = (int_29(second) - int_29(first)) % COUNT
    return (int_29(code) - int_29(first)) * pow(stride, -1, COUNT) % COUNT


def int_29(code: str) -> int:
    value = 0
    for character in code[: LENGTH - 1]:
        value = 29 * value + ALPHABET.index(character)
    return value


@given(number=NUMBERS)
@example(number=0)
@example(number=COUNT - 1)
def test_each_number_has_its_own_code(number):
    assert number_of(code_for(number)) == number


def test_a_hundred_thousand_labels_are_all_different():
    assert len({code_for(number) for number in range(100_000)}) == 100_000


@given(first=NUMBERS, apart=st.integers(1, 22))
def test_labels_printed_together_share_no_character_in_the_same_place(first, apart):
    one, other = code_for(first), code_for((first + apart) % COUNT)
    assert all(one[place] != other[place] for place in range(LENGTH - 1))


@pytest.mark.parametrize("number", [-1, COUNT])
def test_a_number_beyond_the_codes_is_refused(number):
    with pytest.raises(ValueError, match="20,511,149 codes"):
        code_for(number)


# ---- the check character ----------------------------------------------------------------------------------


@given(number=NUMBERS)
def test_every_code_given_is_valid_by_the_published_sum(number):
    # ISO/IEC 7064: the sum of value × 2^place, counted from the right, leaves 1 when divided by the modulus.
    code = code_for(number)
    total = sum(ALPHABET.index(character) << place for place, character in enumerate(reversed(code)))
    assert total % 29 == 1
    assert is_valid(code)


def test_every_single_wrong_character_is_caught(many_codes):
    for code in many_codes:
        for place in range(LENGTH):
            wrong = [
                code[:place] + character + code[place + 1 :]
                for character in ALPHABET
                if character != code[place]
            ]
            assert not any(map(is_valid, wrong)), code


def test_every_swap_of_two_characters_neighbours_or_not_is_caught(many_codes):
    for code in many_codes:
        for one, other in combinations(range(LENGTH), 2):
            swapped = list(code)
            swapped[one], swapped[other] = code[other], code[one]
            assert code[one] == code[other] or not is_valid("".join(swapped)), code


def test_one_code_in_29_is_valid_so_that_a_wild_guess_mostly_fails():
    draw = random.Random(7064)
    guesses = ["".join(draw.choices(ALPHABET, k=LENGTH)) for _ in range(29_000)]
    assert 850 < sum(map(is_valid, guesses)) < 1_150


@pytest.mark.parametrize("code", ["", "K7M2Q", "K7M2Q88", "k7m2q8", "K7M-2Q8", "OOOOOO", "K7M2Q\n"])
def test_a_code_of_another_form_is_not_valid(code):
    assert not is_valid(code)


# ---- what is typed and scanned ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "K7M2Q8",
        "k7m2q8",
        "K7M-2Q8",
        " k7m 2q8\n",
        "K7M–2Q8",
        "K7M\N{NO-BREAK SPACE}2Q8",
        "K7MZQB",
        "HTTPS://SHOP.EXAMPLE:8000/S/K7M2Q8",
        "https://shop.example/s/k7m2q8/",
        "http://192.168.1.20:8000/S/K7M-2Q8",
        "HTTPS://SHOP.EXAMPLE/RACK/S/K7M2Q8",
        "SHOP.EXAMPLE/S/K7M2Q8",
    ],
)
def test_a_code_is_found_however_it_comes(text):
    assert normalise(text) == parse_code(text) == "K7M2Q8"


def test_letters_a_label_never_carries_are_read_as_what_they_look_like():
    assert normalise("oil usz") == "011V52"
    assert normalise("BBBBBB") == "888888"


@given(number=NUMBERS, data=st.data())
def test_a_code_misread_letter_for_digit_is_still_the_code(number, data):
    code = code_for(number)
    looks = {"0": "Oo0", "1": "IiLl1", "V": "UuVv", "5": "Ss5", "2": "Zz2", "8": "Bb8"}
    misread = "".join(data.draw(st.sampled_from(looks.get(character, character))) for character in code)
    assert parse_code(misread) == code


WOULD_DO = "Write the six characters on the label, like K7M-2Q8."


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", f"A code is missing. {WOULD_DO}"),
        (" - ", f"A code is missing. {WOULD_DO}"),
        ("K7M2", f'"K7M2" has 4 characters, a code has 6. {WOULD_DO}'),
        ("K7M2Q88", f'"K7M2Q88" has 7 characters, a code has 6. {WOULD_DO}'),
        ("K7M2Q?", f'"K7M2Q?" has signs that are in no code. {WOULD_DO}'),
        ("ash — 5/4", f'"ash — 5/4" is not an address on a label. {WOULD_DO}'),
        ("https://shop.example/", f'"https://shop.example/" is not an address on a label. {WOULD_DO}'),
        ("https://shop.example/S/", f'"https://shop.example/S/" is not an address on a label. {WOULD_DO}'),
        ("X" * 301, f'"{"X" * 24}…" is too long to be a code. {WOULD_DO}'),
        ("K7M2Q4", '"K7M2Q4" has a wrong character, or two swapped. Look at the label again.'),
        ("7KM2Q8", '"7KM2Q8" has a wrong character, or two swapped. Look at the label again.'),
    ],
)
def test_what_is_no_code_is_refused_in_a_sentence(text, sentence):
    with pytest.raises(NotACode) as refused:
        parse_code(text)
    assert str(refused.value) == sentence


@given(text=st.text("K7M2Q8oil-/:.?# s", max_size=20) | st.text())
@example(text="a/" * 140 + "s/")
def test_any_text_is_a_code_or_is_refused(text):
    try:
        code = parse_code(text)
    except NotACode as refused:
        sentence = str(refused)
        assert sentence.endswith(".")
    else:
        assert is_valid(code)


def test_a_megabyte_is_refused_at_once():
    started = time.perf_counter()
    for text in ["K" * 1_000_000, "a/" * 500_000]:
        with pytest.raises(NotACode):
            parse_code(text)
    assert time.perf_counter() - started < 1


@given(number=NUMBERS)
def test_a_code_as_printed_reads_back(number):
    code = code_for(number)
    assert len(grouped(code)) == 7
    assert normalise(grouped(code)) == code
