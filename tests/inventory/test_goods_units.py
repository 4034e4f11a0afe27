"""Packs of goods in the unit they are counted in: by what is printed on them, or by the definition of a measure."""

from decimal import Decimal

import pytest

from inventory.goods_units import NotAPack, pack_size


@pytest.mark.parametrize(
    ("pack", "unit", "size"),
    [
        ("box of 50", "each", "50"),
        ("Box of 50 pieces", "each", "50"),
        ("50", "each", "50"),
        ("each", "each", "1"),
        ("pair", "each", "2"),
        ("dozen", "pair", "6"),
        ("gross", "each", "144"),
        ("box of 10 pairs", "pair", "10"),
        # a US liquid quart is 0.946352946 litre, a US gallon 3.785411784 (NIST Handbook 44, Appendix C)
        ("quart", "litre", "0.946"),
        ("gallon", "quart", "4"),
        ("can of 1 gallon", "litre", "3.785"),
        ("litre", "quart", "1.057"),
        ("250 ml", "litre", "0.25"),
        ("5 kg", "pound", "11.023"),  # a pound is 0.45359237 kg
    ],
)
def test_a_pack_is_so_many_of_the_unit(pack, unit, size):
    assert pack_size(pack, unit) == Decimal(size)


@pytest.mark.parametrize(
    ("pack", "unit"),
    [
        ("quart", "each"),
        ("box", "each"),
        ("box of hinges", "each"),
        ("0", "each"),
        ("-3", "each"),
        ("???", "l"),
    ],
)
def test_what_is_no_pack_is_refused_with_what_would_do(pack, unit):
    with pytest.raises(NotAPack, match=f"as: box of 50 {unit}"):
        pack_size(pack, unit)
