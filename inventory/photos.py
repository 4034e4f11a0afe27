"""Photos of pieces: made small, and stripped of where and when the phone says they were taken."""

import io
import uuid

from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from PIL import Image, ImageOps, UnidentifiedImageError

from inventory.models import Photo, Piece
from shared.models import Person
from shared.refusal import Refused

LONGEST_SIDE = 1600  # pixels: a knot is still a knot, in about 300 kB
MOST_BYTES = 25 * 1024 * 1024
MOST_PIXELS = 80_000_000
MOST_A_PIECE = 12
QUALITY = 82


def keep(*, piece: Piece, upload: UploadedFile, by: Person) -> Photo:
    """Keep a photo with a piece. Refused where it is no picture, or far too large."""
    if piece.photos.count() >= MOST_A_PIECE:
        raise Refused(f"{MOST_A_PIECE} photos are kept of a piece at most. Remove one first.")
    if (upload.size or 0) > MOST_BYTES:
        raise Refused("This photo is larger than 25 MB. Take it anew, smaller.")
    content, (width, height) = _made_small(upload)
    file = ContentFile(content, name=f"{uuid.uuid4().hex}.jpg")
    return Photo.objects.create(piece=piece, file=file, width=width, height=height, by=by)


def _made_small(upload: UploadedFile) -> tuple[bytes, tuple[int, int]]:
    """As a JPEG without its EXIF block, turned the way the phone was held."""
    try:
        with Image.open(upload, formats=["JPEG", "PNG", "WEBP"]) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise Refused("This photo has too many pixels. Take it anew, smaller.")
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError) as error:
        raise Refused("This is no photo that can be read. Take it as JPEG, PNG or WebP.") from error
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    # What a conversion carries along in `info` would be written again.
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    file = io.BytesIO()
    bare.save(file, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return file.getvalue(), bare.size


def remove(photo: Photo) -> None:
    """Throw a photo away, and its file once that is sure."""
    file = photo.file
    with transaction.atomic():
        photo.delete()
        transaction.on_commit(lambda: file.delete(save=False))
