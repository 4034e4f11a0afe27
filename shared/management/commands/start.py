"""`manage.py start`: the shop's server, its background worker, and a way in."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import Error, connection, connections
from django.urls import reverse

from shared import addresses, people, serving, signing_in
from shared.access import ROLES
from shared.models import Person, Shop
from shared.shop import change_settings, the_shop


class Command(BaseCommand):
    help = "Serve the shop: prepares the database and all it needs, then runs until Ctrl-C."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--demo", action="store_true", help="serve a made-up shop, kept in a file of its own"
        )
        parser.add_argument("--host", default="127.0.0.1", help="0.0.0.0 lets phones on the shop's Wi-Fi in")
        parser.add_argument("--port", default=8000, type=int)
        parser.add_argument("--no-worker", action="store_true", help="run no background worker beside it")

    def handle(self, *, host: str, port: int, demo: bool, no_worker: bool, **options: Any) -> None:
        try:
            if sys.platform == "win32":
                raise serving.CannotStart("It serves on Linux and macOS; on Windows run it in WSL.")
            if demo and not settings.DEMO:
                raise serving.CannotStart("Write it in full: python manage.py start --demo")
            serving.refuse_taken_port(host, port)
            serving.refuse_unwritable_database()
            self.prepare(host, port)
            code = self.serve(host, port, serving.worker_command() if not no_worker else None)
        except (serving.CannotStart, CommandError) as error:
            self.stderr.write(f"Sawbuck can't start. {error}")
            raise SystemExit(1) from None
        raise SystemExit(code)

    def prepare(self, host: str, port: int) -> None:
        """Bring database, files, demo, owner and scan address to where the shop can be opened."""
        try:
            if "django_migrations" not in connection.introspection.table_names():
                self.stdout.write("Making the shop's database; this takes some seconds.")
                self.stdout.flush()
            call_command("migrate", interactive=False, verbosity=0)
            call_command("collectstatic", interactive=False, verbosity=0)
            if settings.DEMO:
                call_command("load_demo", stdout=self.stdout)
            people.first_owner()
            self.suggest_scan_address(host, port)
        except Error as error:
            raise serving.CannotStart(serving.why_not_written(error)) from error
        except OSError as error:
            raise serving.CannotStart(
                f"{error}. Set SAWBUCK_DATA to a folder that can be written."
            ) from error

    def suggest_scan_address(self, host: str, port: int) -> None:
        """Labels shall lead where phones find this server, until someone says otherwise."""
        found = addresses.in_the_shops_network() if host in addresses.EVERY_ADDRESS else host
        shop = the_shop()
        if (
            found
            and found not in addresses.LOOPBACK
            and shop.scan_address == Shop._meta.get_field("scan_address").default
        ):
            change_settings(shop, {"scan_address": serving.shown_address(found, port).upper()})

    def serve(self, host: str, port: int, worker: list[str] | None) -> int:
        """Run server and worker until asked to stop; say where the shop is once it is open."""
        lines = self.where_it_is(host, port)
        connections.close_all()
        crew = serving.Crew(
            serving.server_command(host, port),
            worker,
            serving.environment(host),
            once=serving.compiler_command(),
        )
        crew.start()
        if crew.is_open(host, port):
            self.stdout.write("\n".join(lines))
            self.stdout.flush()
        code = crew.watch()
        self.stdout.write(
            "Sawbuck has stopped." if code == 0 else "The server ended; its log above says why."
        )
        return code

    def where_it_is(self, host: str, port: int) -> list[str]:
        """The address, and a way in for who has no password yet."""
        here = serving.shown_address("127.0.0.1" if host in addresses.EVERY_ADDRESS else host, port)
        lines = [f"Sawbuck is open at {here}"]
        if host in addresses.EVERY_ADDRESS:
            found = addresses.in_the_shops_network()
            lines.append(
                f"On the shop's network: {serving.shown_address(found, port)}"
                if found
                else "This machine has no address on a network: phones can't reach it yet."
            )
        for person in self.without_a_password():
            link = here + reverse("sign-in-once", args=[signing_in.make_link(person)])
            lines.append(f"Sign in as {person.username}, once, within 24 hours: {link}")
        return [*lines, "Stop with Ctrl-C."]

    def without_a_password(self) -> list[Person]:
        """Owners who have none; in the demo everyone, so that each role can be tried."""
        active = Person.objects.filter(is_active=True, groups__name__in=ROLES if settings.DEMO else ["owner"])
        return [person for person in active.distinct().order_by("pk") if not person.has_usable_password()]
