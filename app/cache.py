"""What the app keeps between reruns: the open catalogue, small copies of pictures, worked-out answers."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from app.services.pictures import shown_view
from catalog.home import find_home
from catalog.store import Catalog

__all__ = ["catalogue", "thumbnail", "view_picture"]


@st.cache_resource(max_entries=4, show_spinner=False)
def _open(folder: str, address: str) -> Catalog:
    del address  # part of the key: another database is another catalogue
    import os

    return Catalog.open(None if os.environ.get("GLOSTBOOK_DATABASE_URL") else folder)


def catalogue() -> Catalog:
    """Give the open catalogue of this process; another GLOSTBOOK_HOME is another one."""
    home = find_home()
    return _open(str(home.folder), home.database_url)


@st.cache_data(max_entries=4000, show_spinner=False)
def _small(folder: str, reading_id: int, side_px: int) -> bytes | None:
    from app.widgets.pictures import small_copy

    data = shown_view(catalogue(), reading_id)
    return None if data is None else small_copy(data, side_px)


def thumbnail(reading_id: int, side_px: int = 320) -> bytes | None:
    """Give a small copy of a filed view, None if none was kept. Raises the catalogue's photo errors."""
    return _small(str(Path(catalogue().home.folder)), reading_id, side_px)


def view_picture(reading_id: int) -> bytes | None:
    """Give a filed view at full size, None if none was kept. Raises the catalogue's photo errors."""
    return shown_view(catalogue(), reading_id)
