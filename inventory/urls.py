"""Pages of what is in the shop. The page of one piece is jobs': it pulls, cuts and holds."""

from django.urls import path

from inventory.views import finding, labels, materials, places, putting_in, receiving, stock, suppliers

urlpatterns = [
    path("stock", stock.stock, name="stock"),
    path("rack/find", finding.rack_find, name="rack-find"),
    path("stock/chosen", stock.chosen, name="stock-chosen"),
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
    path("labels/printed", labels.printed, name="labels-printed"),
    path("labels/test-page", labels.test_page, name="labels-test-page"),
]
