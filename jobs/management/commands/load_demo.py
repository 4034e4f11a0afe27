"""`manage.py load_demo`: the demo shop, into an empty database. `start --demo` runs it."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs import demo


class Command(BaseCommand):
    help = "Put the demo shop into an empty database; does nothing where it is there already."

    def handle(self, **options: Any) -> None:
        try:
            if not demo.is_loaded():
                self.stdout.write("Setting up the demo shop; this takes some seconds.")
                self.stdout.flush()
                demo.load()
        except demo.NotEmpty as error:
            raise CommandError(str(error)) from error
