"""The QR library's choice of version against the capacities of ISO/IEC 18004 (qr.csv)."""

import pytest
import qrcode
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_L, ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.util import MODE_8BIT_BYTE, MODE_ALPHA_NUM, MODE_NUMBER, QRData

from shared.codes import ALPHABET, code_for
from tests.outside.reference import row, row_id, rows

CAPACITIES = rows("qr", kind="capacity")
LEVELS = {"L": ERROR_CORRECT_L, "M": ERROR_CORRECT_M, "Q": ERROR_CORRECT_Q, "H": ERROR_CORRECT_H}
MODES = {"numeric": (MODE_NUMBER, "7"), "alphanumeric": (MODE_ALPHA_NUM, "K"), "byte": (MODE_8BIT_BYTE, "k")}


def version_for(text: str, level: str) -> int:
    """The smallest version that holds the text, its mode found by the library."""
    code = qrcode.QRCode(error_correction=LEVELS[level])
    code.add_data(text, optimize=0)
    return code.best_fit()


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("capacity", CAPACITIES, ids=row_id)
def test_a_version_holds_what_the_standard_says_and_not_one_more(capacity, mode):
    version, level, count = int(capacity["version"]), capacity["ec_level"], int(capacity[mode])
    number, character = MODES[mode]
    assert QRData(character * count).mode == number
    assert version_for(character * count, level) == version
    assert version_for(character * (count + 1), level) == version + 1


@pytest.mark.parametrize("capacity", CAPACITIES, ids=row_id)
def test_a_version_has_the_modules_the_standard_says(capacity):
    modules = 17 + 4 * int(capacity["version"])
    code = qrcode.QRCode(version=int(capacity["version"]), error_correction=LEVELS[capacity["ec_level"]])
    assert code.border == int(row("qr", "K02")["value"])
    assert int(capacity["modules"]) == modules
    assert int(capacity["modules_with_quiet"]) == modules + 2 * code.border


def test_a_drawn_code_has_the_modules_of_its_version():
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M)
    code.add_data("HTTPS://SHOP.EXAMPLE:8000/S/" + code_for(1))
    code.make()
    assert len(code.get_matrix()) == int(row("qr", "V2M")["modules_with_quiet"])


def test_a_labels_address_stays_in_version_2_as_long_as_it_is_upper_case():
    address = "HTTPS://SHOP.EXAMPLE:8000/S/" + code_for(1)
    assert len(address) <= int(row("qr", "V2M")["alphanumeric"])
    assert version_for(address, "M") == 2
    assert version_for(address.replace("SHOP", "shop"), "M") == 3


def test_every_character_of_a_code_is_alphanumeric_to_a_qr():
    published = row("qr", "K03")["value"]
    assert published.startswith("0-9 A-Z")
    assert set(ALPHABET) <= set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    assert QRData(ALPHABET).mode == MODE_ALPHA_NUM
