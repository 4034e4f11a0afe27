"""Settings, all from environment variables with safe defaults. README.md lists them."""

import os
import secrets
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import urlsplit

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent


def switch(name: str, default: bool = False) -> bool:
    """An on-or-off variable: 1, yes, true or on; 0, no, false or off."""
    text = os.environ.get(name, "").strip().lower()
    if text in ("", "1", "yes", "true", "on", "0", "no", "false", "off"):
        return text in ("1", "yes", "true", "on") if text else default
    raise ImproperlyConfigured(f"{name}={text!r} is neither on nor off. Write 1 or 0.")


def names(name: str) -> list[str]:
    """A variable that lists names, divided by commas."""
    return [word.strip() for word in os.environ.get(name, "").split(",") if word.strip()]


DEMO = switch("SAWBUCK_DEMO")
DEBUG = switch("SAWBUCK_DEBUG")
# Whether planning may begin to compile the planner's search, in a process of its own.
COMPILES_THE_SEARCH = True

# Where the shop's own files are: the database (unless DATABASE_URL says otherwise), the secret key, photos.
DATA_DIR = Path(
    os.environ.get("SAWBUCK_DATA")
    or Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "sawbuck"
).expanduser()


def secret_key() -> str:
    """The key that signs sign-ins: made at the first start, kept beside the data, for its owner only."""
    if given := os.environ.get("SAWBUCK_SECRET_KEY"):
        return given
    kept = DATA_DIR / "secret.key"
    try:
        DATA_DIR.mkdir(parents=True, exist_ok=True, mode=0o700)
        try:
            handle = os.open(kept, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            return kept.read_text().strip()
        with os.fdopen(handle, "w") as file:
            made = secrets.token_urlsafe(64)
            file.write(made)
        return made
    except OSError as error:
        raise ImproperlyConfigured(
            f"The folder for the shop's data can't be written: {error}. Set SAWBUCK_DATA to one that can."
        ) from error


SECRET_KEY = secret_key()


def database() -> dict[str, object]:
    """DATABASE_URL, or a SQLite file in the data folder."""
    url = os.environ.get("DATABASE_URL") or (
        f"sqlite:///{DATA_DIR / ('demo.sqlite3' if DEMO else 'sawbuck.sqlite3')}"
    )
    if urlsplit(url).scheme not in ("sqlite", "postgres", "postgresql"):
        raise ImproperlyConfigured(
            "DATABASE_URL is neither sqlite:///… nor postgresql://…. Leave it out to keep a SQLite file."
        )
    try:
        settings: dict[str, object] = dict(dj_database_url.parse(url, conn_max_age=60))
    except ValueError as error:
        raise ImproperlyConfigured(f"DATABASE_URL can't be read: {error}.") from error
    if "sqlite3" in str(settings["ENGINE"]):
        # WAL lets people read while one writes; IMMEDIATE makes writers wait their turn instead of failing.
        settings["OPTIONS"] = {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL;",
        }
    else:
        if find_spec("psycopg") is None:
            raise ImproperlyConfigured(
                "PostgreSQL needs its driver. Run .venv/bin/pip install -e '.[postgres]' once."
            )
        settings["CONN_HEALTH_CHECKS"] = True
    return settings


DATABASES = {"default": database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", *names("SAWBUCK_HOSTS")]
CSRF_TRUSTED_ORIGINS = names("SAWBUCK_ORIGINS")
if switch("SAWBUCK_BEHIND_HTTPS"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
    SECURE_HSTS_SECONDS = 3600

INSTALLED_APPS = [
    "shared",
    "inventory",
    "jobs",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_filters",
    "django_tasks",
    "django_tasks_db",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "shared.middleware.SignInMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "shared.middleware.NoNulMiddleware",
    "shared.middleware.ShopMiddleware",
    "shared.middleware.RefusalMiddleware",
]

ROOT_URLCONF = "shared.urls"
WSGI_APPLICATION = "shared.wsgi.application"
AUTH_USER_MODEL = "shared.Person"
AUTHENTICATION_BACKENDS = ["shared.access.PeopleBackend"]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30
SESSION_COOKIE_SAMESITE = "Lax"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shared.access.for_templates",
            ],
        },
    },
]
FORM_RENDERER = "django.forms.renderers.DjangoTemplates"

LANGUAGE_CODE = "en-us"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": DATA_DIR / "media"},
    },
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "shared.storage.FingerprintedFiles"
    },
}

# Everything comes from this server and nothing is inline.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    },
}
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

# A parts list is text: 5 MB is far more than the longest. The cap holds before anything is read.
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 20_000
FILE_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

# Plans are made by `manage.py db_worker`, which `start` runs beside the server.
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default"]}}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
