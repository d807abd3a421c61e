"""Addresses of the catalogue."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_catalogue as views
from service.office import views_catalogue_files as files
from service.office import views_prices as prices

urlpatterns: list[URLPattern] = [
    path("catalogue/", views.catalogue, name="catalogue"),
    path("catalogue/new/", views.item_new, name="catalogue-new"),
    path("catalogue/file/", files.upload, name="catalogue-upload"),
    path("catalogue/file/download/", files.download, name="catalogue-download"),
    path("catalogue/file/blank/", files.blank, name="catalogue-blank"),
    path("catalogue/file/<uuid:file_id>/", files.file, name="catalogue-file"),
    path("catalogue/prices/", prices.lists, name="catalogue-lists"),
    path("catalogue/prices/raise/", prices.raise_prices, name="catalogue-raise"),
    path("catalogue/prices/<uuid:list_id>/", prices.price_list, name="catalogue-list"),
    path("catalogue/prices/<uuid:list_id>/withdraw/", prices.list_withdraw, name="catalogue-list-withdraw"),
    path("catalogue/<uuid:item_id>/", views.item, name="catalogue-item"),
    path("catalogue/<uuid:item_id>/change/", views.item_edit, name="catalogue-item-edit"),
    path("catalogue/<uuid:item_id>/price/", prices.item_price, name="catalogue-item-price"),
    path("catalogue/<uuid:item_id>/offer/", views.item_offer, name="catalogue-item-offer"),
]
