#!/usr/bin/env python
"""Sawbuck's commands: `python manage.py start` serves the shop, `manage.py help` lists the rest."""

import os
import sys


def main() -> None:
    """Run the command named on the command line; a wrong setting ends in one clear line."""
    if sys.version_info < (3, 11):  # noqa: UP036 - said before anything else is read
        major, minor = sys.version_info[:2]
        sys.exit(f"Sawbuck needs Python 3.11 or newer; this is {major}.{minor}.")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shared.settings")
    if sys.argv[1:2] == ["start"] and "--demo" in sys.argv:
        # Before the settings are read: the demo shop lives in a database of its own.
        os.environ["SAWBUCK_DEMO"] = "1"
    try:
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit("Sawbuck: Django is not installed here. Run the first command in README.md.")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"Sawbuck: {error}")


if __name__ == "__main__":
    main()
