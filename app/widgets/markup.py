"""Small pieces of HTML for the views: swatches, notes, cause bars. Text from outside is escaped.

Where Streamlit takes Markdown (written text, captions, headings, labels of buttons), text that a person typed
goes through `plain`: a name with a picture's address in it would call that address.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

from app.words import Advice

__all__ = [
    "advice_note",
    "bar_row",
    "facts_table",
    "note",
    "palette_strip",
    "plain",
    "stop_box",
    "swatch",
]


def swatch(hex_colour: str, words: str) -> str:
    """Give a colour square with its numbers beside it."""
    return (
        f'<span class="gb-swatch"><i style="background:{escape(hex_colour)}" role="img"'
        f' aria-label="colour {escape(words)}"></i><span class="gb-num">{escape(words)}</span></span>'
    )


def palette_strip(colours: Sequence[tuple[str, float]]) -> str:
    """Give a glaze's colours side by side, each as wide as its share of the face (0..1)."""
    cells = "".join(
        f'<i style="background:{escape(colour)};width:{share:.1%}" title="{share:.0%} of the face"></i>'
        for colour, share in colours
    )
    return f'<div class="gb-strip" role="img" aria-label="the glaze’s colours by area">{cells}</div>'


_MARKUP = re.compile(r"[\\`*_\[\]<>$~|^&@]|:(?=[A-Za-z/])|^[#+\-=]|(?<=www)\.", re.MULTILINE)
_NUMBERED = re.compile(r"^(\d+)([.)])", re.MULTILINE)


def plain(words: str) -> str:
    """Give text as Markdown that shows it letter for letter: no picture, link, formula, colour or HTML."""
    return _NUMBERED.sub(r"\1\\\2", _MARKUP.sub(r"\\\g<0>", words))


def note(words: str) -> str:
    """Give a plain note."""
    return f'<div class="gb-note">{escape(words)}</div>'


def advice_note(advice: Advice) -> str:
    """Give what is so and what to do next."""
    return f'<div class="gb-note"><b>{escape(advice.sentence)}</b> {escape(advice.next_step)}</div>'


def stop_box(words: str) -> str:
    """Give a notice that comes before all else."""
    return f'<div class="gb-stop" role="note">{escape(words)}</div>'


def bar_row(title: str, share: float, colour: str) -> str:
    """Give one cause with its share (0..1) as a bar."""
    return (
        f'<div class="gb-cause"><span>{escape(title)}</span><span class="gb-share">{share * 100:.0f}</span>'
        f'<span class="gb-bar"><i style="width:{share:.1%};background:{escape(colour)}"></i></span></div>'
    )


def facts_table(rows: Sequence[tuple[str, str]]) -> str:
    """Give a two-column table: what, and what is known of it."""
    body = "".join(f"<tr><th scope='row'>{escape(a)}</th><td>{escape(b)}</td></tr>" for a, b in rows)
    return f'<table class="gb-facts">{body}</table>'
