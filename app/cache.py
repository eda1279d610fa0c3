"""What the app keeps between reruns: the open catalogue, small copies of pictures, worked-out answers."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from app.services.pictures import shown_view
from app.signed_in import acting_person
from catalog.errors import CatalogError
from catalog.home import find_home
from catalog.records import KeptReading
from catalog.store import Catalog

__all__ = ["catalogue", "overlay_layers", "thumbnail", "view_picture", "whole_catalogue", "work_picture"]


@st.cache_resource(max_entries=4, show_spinner=False)
def _open(folder: str, database_url: str | None, photos_url: str | None) -> Catalog:
    # The addresses are part of the key: another database or store is another catalogue.
    return Catalog.open(None if database_url or photos_url else folder)


def whole_catalogue() -> Catalog:
    """Give the open catalogue of this process; another GLOSTBOOK_HOME is another one. For signing in."""
    home = find_home()
    return _open(str(home.folder), home.database_url, home.photos_url)


def catalogue() -> Catalog:
    """Give the open catalogue in the hands of who is signed in.

    Raises
    ------
    SignedOutError : it wants to know who works with it, and nobody is signed in (any more).
    """
    catalog = whole_catalogue()
    person = acting_person(catalog)
    return catalog if person is None else catalog.acting_as(person)


def thumbnail(reading: KeptReading, side_px: int = 320) -> bytes | None:
    """Give a small copy of a filed view as WebP, None if none was kept. Raises photo errors."""
    from app.services.thumbnails import kept_thumbnail

    return kept_thumbnail(catalogue(), reading, side_px)


@st.cache_data(max_entries=24, show_spinner=False)
def _layers(folder: str, reading_id: int, _reading: KeptReading) -> dict[str, bytes]:
    from app.services.overlays import mask_layers

    return mask_layers(catalogue(), _reading)


def overlay_layers(reading: KeptReading) -> dict[str, bytes]:
    """Give what to lay over a filed view, by name; the photo is read again for it, once."""
    return _layers(str(Path(catalogue().home.folder)), reading.id, reading)


def view_picture(reading_id: int) -> bytes | None:
    """Give a filed view at full size, None if none was kept. Raises the catalogue's photo errors."""
    return shown_view(catalogue(), reading_id)


@st.cache_data(max_entries=1500, show_spinner=False)
def _work(folder: str, sha256: str, side_px: int) -> bytes:
    from app.widgets.pictures import small_copy

    return small_copy(catalogue().unloadings.pictures.read(sha256), side_px)


def work_picture(sha256: str | None, side_px: int) -> bytes | None:
    """Give a small copy of a picture of an unloading, None where it is not there (any more)."""
    if sha256 is None:
        return None
    try:
        return _work(str(Path(catalogue().home.folder)), sha256, side_px)
    except CatalogError:
        return None
