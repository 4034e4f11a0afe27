"""Which view answers which address: signing in, the shop's settings, its people."""

from django.urls import path

from shared.views import people, phone, shop, signing_in

urlpatterns = [
    path("service-worker.js", phone.service_worker, name="service-worker"),
    path("manifest.webmanifest", phone.manifest, name="manifest"),
    path("offline", phone.offline, name="offline"),
    path("taps/token", phone.token, name="tap-token"),
    path("sign-in", signing_in.sign_in, name="sign-in"),
    path("sign-in/once/<str:token>", signing_in.sign_in_once, name="sign-in-once"),
    path("sign-out", signing_in.sign_out, name="sign-out"),
    path("welcome", shop.first_run, name="first-run"),
    path("shop", shop.shop, name="shop"),
    path("shop/password", signing_in.password, name="password"),
    path("shop/people", people.people, name="people"),
    path("shop/people/new", people.person_new, name="person-new"),
    path("shop/people/<int:pk>", people.person, name="person"),
    path("shop/people/<int:pk>/link", people.person_link, name="person-link"),
    path("shop/people/<int:pk>/leaves", people.person_leaves, name="person-leaves"),
    path("shop/people/<int:pk>/returns", people.person_returns, name="person-returns"),
]
