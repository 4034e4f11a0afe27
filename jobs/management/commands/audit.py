"""`manage.py audit`: do the books hold?"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.auditing import CHECKS, faults


class Command(BaseCommand):
    help = "Check the ledger's rules on this shop: value, areas, places, charges."

    def handle(self, *args: Any, **options: Any) -> None:
        found = faults()
        if found:
            raise CommandError("The books do not hold:\n" + "\n".join(found))
        self.stdout.write(f"The books hold: {len(CHECKS)} rules checked.")
