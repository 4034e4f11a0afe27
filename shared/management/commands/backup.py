"""`manage.py backup FILE`: the whole shop in one file, copied while people work."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shared.backing_up import CannotBackUp, back_up


class Command(BaseCommand):
    help = "Copy the shop, photos too, into one zip file, while people work."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="a new file, as sawbuck-backup.zip")

    def handle(self, *, file: Path, **options: Any) -> None:
        try:
            size = back_up(file)
        except CannotBackUp as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{file}: {size / 1e6:.1f} MB. Keep it on another machine.")
