"""The address without a view's name: goes on to the Shelf."""

from __future__ import annotations

import streamlit as st

st.switch_page("views/shelf.py")
