"""Our own look: a warm, nearly neutral ground so that tile colours read true, and one plum accent.

A `.streamlit` folder cannot stand at the top of the repository, so the theme travels as command-line
options of the server (`streamlit_options`) and one style sheet (`page_style`).
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

__all__ = ["ACCENT", "MARK_COLOURS", "logo", "page_style", "streamlit_options"]

ACCENT = "#6a3d5d"
"""Manganese plum: 8:1 on the light ground, and no glaze fault is drawn in it."""

_LOGO_INK = "#935f84"
"""The accent between its light and dark values: over 3.5:1 on both grounds, for the name's large letters."""

MARK_COLOURS: dict[str, str] = {
    "pinhole": "#0b6fb8",
    "blister": "#c2410c",
    "crater": "#a21caf",
    "speck": "#4d7c0f",
}
"""Outline colour of each kind of mark drawn over a picture; told apart by their shape in words as well."""

_LIGHT = {
    "primaryColor": ACCENT,
    "backgroundColor": "#ebe9e5",
    "secondaryBackgroundColor": "#dfdbd5",
    "textColor": "#292622",
    "borderColor": "#c8c2b9",
    "linkColor": ACCENT,
}
_DARK = {
    "primaryColor": "#cfa3c3",
    "backgroundColor": "#232120",
    "secondaryBackgroundColor": "#302d2b",
    "textColor": "#ebe7e1",
    "borderColor": "#4b4744",
    "linkColor": "#cfa3c3",
}
_SHARED = {
    "headingFont": "serif",
    "headingFontSizes": '["1.9rem", "1.35rem", "1.12rem"]',
    "baseRadius": "3px",
    "buttonRadius": "3px",
    "showWidgetBorder": "true",
}


def streamlit_options() -> list[str]:
    """Give the theme as ``--theme...=value`` options of ``streamlit run``."""
    shared = [f"--theme.{name}={value}" for name, value in _SHARED.items()]
    light = [f"--theme.light.{name}={value}" for name, value in _LIGHT.items()]
    dark = [f"--theme.dark.{name}={value}" for name, value in _DARK.items()]
    return shared + light + dark


@lru_cache(maxsize=1)
def page_style() -> str:
    """Give the style sheet that every page carries, as a ``<style>`` element."""
    sheet = Path(__file__).with_name("theme.css").read_text(encoding="utf-8")
    return f"<style>{sheet}</style>"


def logo() -> str:
    """Give the name with its sign, a tile dipped in two coats, as an SVG picture."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="172" height="36" viewBox="0 0 172 36">\n'
        '<rect x="3" y="3" width="20" height="30" fill="#b9a58d"/>'
        f'<path d="M3 3h20v21q-5 3 -10 0t-10 1z" fill="{ACCENT}" opacity="0.55"/>'
        f'<path d="M3 3h20v11q-6 3 -11 0t-9 1z" fill="{ACCENT}"/>'
        '<text x="34" y="25" font-family="Source Serif Pro, Source Serif, Georgia, serif" font-size="22"'
        f' font-weight="600" fill="{_LOGO_INK}">Glostbook</text></svg>'
    )
