"""Photos kept with a piece; only who is signed in sees them."""

from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from inventory import photos
from inventory.models import Photo, Piece
from shared.access import ShopRequest
from shared.refusal import Refused


@require_POST
def photo_add(request: ShopRequest, code: str) -> HttpResponse:
    piece = get_object_or_404(Piece, code=code)
    upload = request.FILES.get("photo")
    if not upload:
        raise Refused("No photo was chosen. Take one, then keep it.")
    photos.keep(piece=piece, upload=upload, by=request.user)
    messages.success(request, "The photo is kept.")
    return redirect("piece", piece.code)


@require_safe
def photo(request: ShopRequest, pk: int) -> FileResponse:
    found = get_object_or_404(Photo, pk=pk)
    kept_for = {"Cache-Control": "private, max-age=31536000, immutable", "X-Content-Type-Options": "nosniff"}
    return FileResponse(found.file.open("rb"), content_type="image/jpeg", headers=kept_for)


@require_POST
def photo_remove(request: ShopRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Photo.objects.select_related("piece"), pk=pk)
    photos.remove(found)
    messages.success(request, "The photo is removed.")
    return redirect("piece", found.piece.code)
