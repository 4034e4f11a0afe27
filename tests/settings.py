"""Settings for the tests: the shop's own, on a data folder that goes away; tasks run at once."""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="sawbuck-tests-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.mkdir(os.path.join(_folder, "static"))
os.environ["SAWBUCK_DATA"] = _folder
os.environ.pop("SAWBUCK_DEMO", None)
# A browser test leaves its event loop running in this process; what comes after it is not asynchronous.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

from shared.settings import *  # noqa: E402, F403
from shared.settings import STORAGES  # noqa: E402

STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
COMPILES_THE_SEARCH = False
TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
