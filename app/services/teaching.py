"""Teaching the printed card its true colours, and handing them to the reading."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from app.words.choices import number
from catalog.home import find_home

if TYPE_CHECKING:
    from catalog.store import Catalog
    from vision.taught_card import TaughtCard

__all__ = ["KnownCard", "kept_cards", "taught_cards", "teach"]


@dataclass(frozen=True, slots=True)
class KnownCard:
    """A taught card for the screen: its size, and when and how well it was taught in words."""

    layout: str
    words: str


def teach(catalog: Catalog, data: bytes, name: str, on: date | None = None) -> TaughtCard:
    """Learn a card's true colours from a photo of it beside a chart, and keep them.

    Parameters
    ----------
    data, name : the photo's bytes and file name
    on : the day to write down, today by default

    Raises
    ------
    CardNotTaughtError, UnreadablePhotoError, and the catalogue's errors; nothing is kept then.
    """
    from vision.photo import decode_photo
    from vision.taught import teach_card

    card = teach_card(decode_photo(data, name), on or date.today())
    catalog.cards.teach(card, data, name)
    return card


def taught_cards(catalog: Catalog, on: date | None = None) -> list[KnownCard]:
    """Give the cards in use with their age and how well they were taught."""
    from app.words.measures import taught_words
    from vision.reading import Taught

    today = on or date.today()
    return [
        KnownCard(
            card.layout,
            f"Card {card.layout}, "
            f"{taught_words(Taught(card.on, card.residual_delta_e_00, (today - card.on).days))}, "
            f"{number(card.residual_delta_e_00, 1)} off on the chart",
        )
        for card in catalog.cards.taught()
    ]


def kept_cards() -> tuple[TaughtCard, ...]:
    """Give the taught cards of the catalogue named by the environment; none where there is no catalogue yet.

    Raises
    ------
    CatalogError : there is one but it cannot be read.
    """
    file = find_home().database_file
    if file is not None and not file.exists():
        return ()
    from catalog.store import Catalog

    with Catalog.open() as catalog:
        return catalog.cards.taught()
