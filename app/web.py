"""The app as the server runs it: files sent quickly, modules loaded before the first page."""

from __future__ import annotations

import asyncio
import gc
import importlib
import pkgutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import streamlit as st
from starlette.middleware import Middleware

from app.quick_assets import QuickAssets

__all__ = ["app"]


def _load_modules() -> None:
    """Import what the views import, so that the first page need not wait for it."""
    from sqlalchemy.orm import configure_mappers

    from app import widgets

    for module in pkgutil.iter_modules(widgets.__path__, "app.widgets."):
        importlib.import_module(module.name)
    configure_mappers()
    # Streamlit collects all garbage after each run of a script; what was just loaded never is any.
    gc.collect()
    gc.freeze()


@asynccontextmanager
async def _started(_: st.App) -> AsyncIterator[None]:
    loading = asyncio.create_task(asyncio.to_thread(_load_modules))
    yield
    await loading


app = st.App(Path(__file__).with_name("main.py"), lifespan=_started, middleware=[Middleware(QuickAssets)])
