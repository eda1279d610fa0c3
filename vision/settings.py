"""Every threshold of the reading, with its unit and where it comes from. None stands bare in a function."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = [
    "BalanceSettings",
    "CardSettings",
    "ChartSettings",
    "ColourSettings",
    "CrawlingSettings",
    "CrazingSettings",
    "GlossSettings",
    "MarkSettings",
    "PhotoSettings",
    "Settings",
    "TileSettings",
]


@dataclass(frozen=True, slots=True)
class PhotoSettings:
    """Loading: what is accepted."""

    limit_megapixels: float = 120.0
    """Largest photo decoded, megapixels. Phones in use reach 108; more is taken for a decompression bomb."""


@dataclass(frozen=True, slots=True)
class CardSettings:
    """Finding the reference card."""


@dataclass(frozen=True, slots=True)
class ChartSettings:
    """Finding the 24-patch colour chart."""


@dataclass(frozen=True, slots=True)
class BalanceSettings:
    """Correcting colour from the card or chart."""


@dataclass(frozen=True, slots=True)
class TileSettings:
    """Finding pieces and parting glaze, bare clay and background."""


@dataclass(frozen=True, slots=True)
class ColourSettings:
    """Colour of the glazed face."""


@dataclass(frozen=True, slots=True)
class GlossSettings:
    """Gloss proxy and finish."""


@dataclass(frozen=True, slots=True)
class MarkSettings:
    """Pinholes, blisters, craters and specks."""


@dataclass(frozen=True, slots=True)
class CrazingSettings:
    """The craze net."""


@dataclass(frozen=True, slots=True)
class CrawlingSettings:
    """Bare patches inside the glaze."""


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings of one reading."""

    photo: PhotoSettings = field(default_factory=PhotoSettings)
    card: CardSettings = field(default_factory=CardSettings)
    chart: ChartSettings = field(default_factory=ChartSettings)
    balance: BalanceSettings = field(default_factory=BalanceSettings)
    tiles: TileSettings = field(default_factory=TileSettings)
    colour: ColourSettings = field(default_factory=ColourSettings)
    gloss: GlossSettings = field(default_factory=GlossSettings)
    marks: MarkSettings = field(default_factory=MarkSettings)
    crazing: CrazingSettings = field(default_factory=CrazingSettings)
    crawling: CrawlingSettings = field(default_factory=CrawlingSettings)
