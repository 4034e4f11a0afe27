"""How style and script files are kept: under names with their fingerprint, also where one script names another."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class FingerprintedFiles(CompressedManifestStaticFilesStorage):
    """A script that imports another asks for it by its fingerprint, so that no phone mixes two versions."""

    support_js_module_import_aggregation = True
