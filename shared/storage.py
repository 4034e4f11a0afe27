"""How style and script files are kept: without what only we read, and under names with their fingerprint."""

from collections.abc import Callable
from pathlib import PurePath
from typing import Any

from django.core.files.base import ContentFile, File
from rcssmin import cssmin
from rjsmin import jsmin
from whitenoise.storage import CompressedManifestStaticFilesStorage

_SLIMMERS: dict[str, Callable[[str], str]] = {".css": cssmin, ".js": jsmin}


def slim(name: str, content: bytes) -> bytes:
    """A style or script without its comments and spaces; what comes from others stays as it came.

    >>> slim("shared/page.css", b"/* quiet */ a { color : red; }")
    b'a{color:red}'
    >>> slim("vendor/other.css", b"a { }")
    b'a { }'
    """
    slimmer = _SLIMMERS.get(PurePath(name).suffix)
    if slimmer is None or name.startswith("vendor/"):
        return content
    return slimmer(content.decode()).encode()


class FingerprintedFiles(CompressedManifestStaticFilesStorage):
    """Kept slim, so that a phone on poor Wi-Fi loads less. A script that imports another asks for it by its
    fingerprint, so that no phone mixes two versions."""

    support_js_module_import_aggregation = True

    def _save(self, name: str, content: File) -> Any:
        if PurePath(name).suffix in _SLIMMERS:
            content.seek(0)  # it may have been read for its fingerprint
            content = ContentFile(slim(name, content.read()))
        return super()._save(name, content)
