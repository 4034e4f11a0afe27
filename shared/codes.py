"""Codes on labels: five characters that scatter a running number, and one that catches misreadings.

The 29 characters leave out seven letters that are read as a digit or as another letter in a dusty hand. 29
is prime, so the check of ISO/IEC 7064's pure systems, here with modulus 29 and radix 2, catches every single
wrong character and every two that changed places: the weight of each place is a different power of 2.
"""

import re

from shared.quoting import quoted

ALPHABET = "0123456789ACDEFGHJKMNPQRTVWXY"
LENGTH = 6
COUNT = len(ALPHABET) ** (LENGTH - 1)  # 20,511,149 labels

_MODULUS = len(ALPHABET)
_RADIX = 2
_VALUE = {character: value for value, character in enumerate(ALPHABET)}
# Near the golden section of COUNT and no multiple of 29, so that n × _STRIDE mod COUNT meets every payload
# once; picked so that any two numbers within 22 of each other differ in all five places.
_STRIDE = 12_486_291
_LOOK_ALIKES = str.maketrans("OILUSZB", "011V528")
_IN_ADDRESS = re.compile(r"(?:https?://)?[^/\s?#]+(?:/[^/\s?#]+)*/s/([^/\s?#]+)/?", re.IGNORECASE)
_MOST_CHARACTERS = 300
_WOULD_DO = "Write the six characters on the label, like K7M-2Q8."


class NotACode(ValueError):  # noqa: N818  raised and read as "that is not a code"
    """What was typed or scanned is no code; str() of it is a whole sentence for the person who did."""


def code_for(number: int) -> str:
    """The code of a running number, 0 to COUNT − 1; no two numbers share one. Raises ValueError beyond.

    >>> code_for(1), code_for(2), code_for(3)
    ('JKXXQM', '68WWG6', 'RXVV8V')
    """
    if not 0 <= number < COUNT:
        raise ValueError(f"there are {COUNT:,} codes and none for number {number}")
    scattered = number * _STRIDE % COUNT
    payload = ""
    for _ in range(LENGTH - 1):
        scattered, value = divmod(scattered, _MODULUS)
        payload = ALPHABET[value] + payload
    return payload + ALPHABET[(1 - _remainder(payload) * _RADIX) % _MODULUS]


def is_valid(code: str) -> bool:
    """Whether a code, as normalise gives it, has the right form and the right check character.

    >>> is_valid("K7M2Q8"), is_valid("K7M2Q4"), is_valid("7KM2Q8")
    (True, False, False)
    """
    return len(code) == LENGTH and set(code) <= _VALUE.keys() and _remainder(code) == 1


def _remainder(characters: str) -> int:
    remainder = 0
    for character in characters:
        remainder = (remainder * _RADIX + _VALUE[character]) % _MODULUS
    return remainder


def normalise(text: str) -> str:
    """The six characters in what was typed or scanned: a code in any case and spacing, or a scan address.

    Letters a label never carries are read as what they look like. The check character is not looked at
    (parse_code does). Raises NotACode where there are not six characters of a code.

    >>> normalise(" k7m-zq8 "), normalise("HTTPS://SHOP.EXAMPLE:8000/S/K7M2Q8")
    ('K7M2Q8', 'K7M2Q8')
    """
    if len(text) > _MOST_CHARACTERS:
        raise NotACode(f"{quoted(text)} is too long to be a code. {_WOULD_DO}")
    if "/" in text:
        address = _IN_ADDRESS.fullmatch(text.strip())
        if not address:
            raise NotACode(f"{quoted(text)} is not an address on a label. {_WOULD_DO}")
        text = address[1]
    code = _tidy(text)
    if not code:
        raise NotACode(f"A code is missing. {_WOULD_DO}")
    if not set(code) <= _VALUE.keys():
        raise NotACode(f"{quoted(text)} has signs that are in no code. {_WOULD_DO}")
    if len(code) != LENGTH:
        raise NotACode(f"{quoted(text)} has {len(code)} characters, a code has {LENGTH}. {_WOULD_DO}")
    return code


def parse_code(text: str) -> str:
    """normalise(), and the check character is right too. Raises NotACode.

    >>> parse_code("K7M-2Q4")
    Traceback (most recent call last):
    shared.codes.NotACode: "K7M-2Q4" has a wrong character, or two swapped. Look at the label again.
    """
    code = normalise(text)
    if not is_valid(code):
        raise NotACode(f"{quoted(text)} has a wrong character, or two swapped. Look at the label again.")
    return code


def start_of_code(text: str) -> str:
    """What was typed as the first characters of a code, read as normalise reads them; "" where it can't be.

    >>> start_of_code("k7m-z"), start_of_code("oak plywood"), start_of_code("K7M2Q89")
    ('K7M2', '', '')
    """
    start = _tidy(text)
    return start if len(start) <= LENGTH and set(start) <= _VALUE.keys() else ""


def _tidy(text: str) -> str:
    return re.sub(r"[\s‐‑–-]", "", text).upper().translate(_LOOK_ALIKES)


def grouped(code: str) -> str:
    """A code as a label prints it.

    >>> grouped("K7M2Q8")
    'K7M-2Q8'
    """
    return f"{code[:3]}-{code[3:]}"
