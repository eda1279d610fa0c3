"""Names in any alphabet on paper: which font each letter is set in, and in which order they stand.

Sheets carry their letters with them, embedded. Latin, Greek, Cyrillic, Hebrew, Arabic, Armenian and Georgian
are set in DejaVu Sans, Chinese and Japanese in Droid Sans Fallback; both lie in ``fonts`` with their licence.
Any other letter is looked for in the TrueType fonts of this computer. Korean found in none is set in the font
that PDF readers supply themselves (ISO 32000-1, 9.7.5.2). What nothing covers is told by `uncovered`.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from pathlib import Path
from typing import Any

__all__ = ["BOLD", "PLAIN", "runs", "uncovered", "visual", "width_pt"]

PLAIN, BOLD, _EAST_ASIAN = "Glostbook-Plain", "Glostbook-Bold", "Glostbook-East-Asian"
_FILES = {PLAIN: "DejaVuSans.ttf", BOLD: "DejaVuSans-Bold.ttf", _EAST_ASIAN: "DroidSansFallbackFull.ttf"}
_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts", "/Library/Fonts", "/System/Library/Fonts")
_KOREAN = "HYGothic-Medium"
_RIGHT_TO_LEFT = ("R", "AL")


@lru_cache(maxsize=3)
def _own(name: str) -> Any:
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    font = TTFont(name, str(Path(__file__).with_name("fonts") / _FILES[name]))
    registerFont(font)
    return font


@lru_cache(maxsize=1)
def _computers_files() -> tuple[Path, ...]:
    folders = [Path(folder) for folder in _FOLDERS] + [Path.home() / ".local/share/fonts"]
    found = [path for folder in folders if folder.is_dir() for path in sorted(folder.rglob("*.tt[fc]"))]
    return tuple(path for path in found if "mono" not in path.name.casefold())


@lru_cache(maxsize=2048)
def _computers(letter: str) -> str | None:
    """Give the name of a font of this computer that holds a letter, None if there is none."""
    from reportlab.pdfbase.pdfmetrics import getRegisteredFontNames, registerFont
    from reportlab.pdfbase.ttfonts import TTFError, TTFont

    for path in _computers_files():
        name = f"of-this-computer-{path.stem}"
        try:
            font = TTFont(name, str(path))
        except (TTFError, OSError):
            continue  # outlines of another kind, which a PDF made here cannot carry
        if ord(letter) in font.face.charToGlyph:
            if name not in getRegisteredFontNames():
                registerFont(font)
            return name
    return None


def _font_of(letter: str, wanted: str) -> str | None:
    for name in (wanted, _EAST_ASIAN):
        if ord(letter) in _own(name).face.charToGlyph:
            return name
    return _computers(letter) or _readers(letter)


def _readers(letter: str) -> str | None:
    """Give the font that a PDF reader supplies for a Korean letter, None for any other."""
    if not unicodedata.name(letter, "").startswith("HANGUL"):
        return None
    from reportlab.pdfbase.cidfonts import UnicodeCIDFont
    from reportlab.pdfbase.pdfmetrics import getRegisteredFontNames, registerFont

    if _KOREAN not in getRegisteredFontNames():
        registerFont(UnicodeCIDFont(_KOREAN))
    return _KOREAN


def visual(words: str) -> str:
    """Give words in the order and the forms in which their letters stand on paper.

    Hebrew and Arabic run from the right; Arabic letters take the form of their place in the word.
    """
    if not any(unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT for letter in words):
        return words
    import arabic_reshaper
    from bidi.algorithm import get_display

    return str(get_display(arabic_reshaper.reshape(words)))


def runs(words: str, wanted: str = PLAIN) -> list[tuple[str, str]]:
    """Part words into (font, letters), in the order they stand on paper.

    A letter that no font covers becomes the empty box of the wanted font.
    """
    found: list[tuple[str, str]] = []
    for letter in visual(unicodedata.normalize("NFC", words)):
        font = _font_of(letter, wanted)
        if font is None:
            font, letter = wanted, "▯"
        if found and found[-1][0] == font:
            found[-1] = (font, found[-1][1] + letter)
        else:
            found.append((font, letter))
    return found


def width_pt(words: str, size_pt: float, wanted: str = PLAIN) -> float:
    """Give how wide words stand, in points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return sum(float(stringWidth(letters, font, size_pt)) for font, letters in runs(words, wanted))


def uncovered(words: str) -> str:
    """Give the letters of `words` that no font here covers, each once."""
    composed = unicodedata.normalize("NFC", words)
    return "".join(dict.fromkeys(x for x in composed if not x.isspace() and _font_of(x, PLAIN) is None))
