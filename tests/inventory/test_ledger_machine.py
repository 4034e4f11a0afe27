"""The ledger as a state machine: whatever is done at the rack, in any order, the books come out right."""

import pytest
from hypothesis import settings
from hypothesis.stateful import run_state_machine_as_test

from tests.inventory.rack_machine import RackMachine


@pytest.mark.django_db
def test_whatever_is_done_at_the_rack_the_books_come_out_right():
    examples = settings.default.max_examples // 10
    run_state_machine_as_test(
        RackMachine, settings=settings(RackMachine.TestCase.settings, max_examples=examples)
    )
