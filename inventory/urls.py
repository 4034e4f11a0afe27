"""Pages of what is in the shop. The page of one piece is jobs': it pulls, cuts and holds."""

from django.urls import path

from inventory.views import (
    counting,
    finding,
    labels,
    materials,
    papers,
    photos,
    places,
    putting_in,
    receiving,
    stock,
    suppliers,
)

urlpatterns = [
    path("stock", stock.stock, name="stock"),
    path("rack/find", finding.rack_find, name="rack-find"),
    path("stock/chosen", stock.chosen, name="stock-chosen"),
    # Counted.
    path("stock/count", counting.counts, name="counts"),
    path("stock/count/begin", counting.count_begin, name="count-begin"),
    path("stock/count/<int:pk>", counting.count, name="count"),
    path("stock/count/<int:pk>/note", counting.count_note, name="count-note"),
    path("stock/count/<int:pk>/differences", counting.count_differences, name="count-differences"),
    path("stock/count/<int:pk>/check", counting.count_check, name="count-check"),
    path("stock/count/<int:pk>/post", counting.count_post, name="count-post"),
    path("stock/<str:code>/photo", photos.photo_add, name="photo-add"),
    path("photos/<int:pk>.jpg", photos.photo, name="photo"),
    path("photos/<int:pk>/remove", photos.photo_remove, name="photo-remove"),
    # Coming in.
    path("stock/receive", receiving.receive, name="receive"),
    path("stock/receipts", receiving.receipts, name="receipts"),
    path("stock/receipts/<int:pk>", receiving.receipt, name="receipt"),
    path("stock/put-in", putting_in.put_in, name="put-in"),
    # What, where, from whom.
    path("stock/materials", materials.materials, name="materials"),
    path("stock/materials/new", materials.material_new, name="material-new"),
    path("stock/materials/<int:pk>", materials.material, name="material"),
    path("stock/materials/<int:pk>/edit", materials.material_edit, name="material-edit"),
    path("stock/materials/<int:pk>/offers", materials.offer_new, name="offer-new"),
    path("stock/materials/<int:pk>/offers/<int:offer>/end", materials.offer_end, name="offer-end"),
    path("stock/materials/<int:pk>/names", materials.name_new, name="name-new"),
    path("stock/materials/<int:pk>/names/<int:name>/remove", materials.name_remove, name="name-remove"),
    path("stock/materials/<int:pk>/put-in", materials.goods_put_in, name="goods-put-in"),
    path("stock/places", places.places, name="places"),
    path("stock/places/new", places.place_new, name="place-new"),
    path("stock/places/<int:pk>", places.place, name="place"),
    path("stock/suppliers", suppliers.suppliers, name="suppliers"),
    path("stock/suppliers/new", suppliers.supplier_new, name="supplier-new"),
    path("stock/suppliers/<int:pk>", suppliers.supplier, name="supplier"),
    # On paper.
    path("labels", labels.labels, name="labels"),
    path("labels/pdf", labels.pdf, name="labels-pdf"),
    path("labels/png", labels.png, name="labels-png"),
    path("labels/printed", labels.printed, name="labels-printed"),
    path("labels/papers", papers.label_papers, name="label-papers"),
    path("labels/papers/<int:pk>/remove", papers.label_paper_remove, name="label-paper-remove"),
    path("labels/test-page", labels.test_page, name="labels-test-page"),
]
