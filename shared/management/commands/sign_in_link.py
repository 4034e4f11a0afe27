"""`manage.py sign_in_link NAME`: a way in for an owner who forgot the password."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from shared import signing_in
from shared.models import Person
from shared.refusal import Refused
from shared.shop import the_shop


class Command(BaseCommand):
    help = "Make a link that signs someone in once, within 24 hours."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the sign-in name")

    def handle(self, *, name: str, **options: Any) -> None:
        try:
            token = signing_in.make_link(Person.objects.get_by_natural_key(name))
        except Person.DoesNotExist as error:
            raise CommandError(f"Nobody signs in as {name}.") from error
        except Refused as error:
            raise CommandError(str(error)) from error
        address = the_shop().scan_address.lower() or "http://localhost:8000"
        self.stdout.write(address + reverse("sign-in-once", args=[token]))
