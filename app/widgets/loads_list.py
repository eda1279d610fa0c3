"""All loads, the last fired first."""

from __future__ import annotations

import streamlit as st

from app.cache import catalogue
from app.services.firings import load_rows

__all__ = ["loads_list"]


def loads_list() -> None:
    """Show all loads in a table."""
    st.dataframe(load_rows(catalogue()), hide_index=True)
    st.caption("What the cone beside the ware did comes before what plan or log computes to.")
