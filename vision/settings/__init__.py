"""Every threshold of the reading, a module a stage, with its unit and where it comes from.

None stands bare in a function.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from vision.settings.balance import BalanceSettings
from vision.settings.card import CardSettings
from vision.settings.chart import ChartSettings
from vision.settings.colour import ColourSettings
from vision.settings.crawling import CrawlingSettings
from vision.settings.crazing import CrazingSettings
from vision.settings.drawn import DrawnSettings
from vision.settings.face import FaceSettings
from vision.settings.gloss import GlossSettings
from vision.settings.grounds import GroundSettings
from vision.settings.labels import LabelSettings
from vision.settings.marks import MarkSettings
from vision.settings.photo import PhotoSettings
from vision.settings.running import RunningSettings
from vision.settings.shadow import ShadowSettings
from vision.settings.tiles import TileSettings
from vision.settings.two_lamps import TwoLampSettings

__all__ = [
    "BalanceSettings",
    "CardSettings",
    "ChartSettings",
    "ColourSettings",
    "CrawlingSettings",
    "CrazingSettings",
    "DrawnSettings",
    "FaceSettings",
    "GlossSettings",
    "GroundSettings",
    "LabelSettings",
    "MarkSettings",
    "PhotoSettings",
    "RunningSettings",
    "Settings",
    "ShadowSettings",
    "TileSettings",
    "TwoLampSettings",
]


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings of one reading."""

    photo: PhotoSettings = field(default_factory=PhotoSettings)
    card: CardSettings = field(default_factory=CardSettings)
    chart: ChartSettings = field(default_factory=ChartSettings)
    balance: BalanceSettings = field(default_factory=BalanceSettings)
    tiles: TileSettings = field(default_factory=TileSettings)
    drawn: DrawnSettings = field(default_factory=DrawnSettings)
    colour: ColourSettings = field(default_factory=ColourSettings)
    face: FaceSettings = field(default_factory=FaceSettings)
    labels: LabelSettings = field(default_factory=LabelSettings)
    gloss: GlossSettings = field(default_factory=GlossSettings)
    grounds: GroundSettings = field(default_factory=GroundSettings)
    marks: MarkSettings = field(default_factory=MarkSettings)
    running: RunningSettings = field(default_factory=RunningSettings)
    shadow: ShadowSettings = field(default_factory=ShadowSettings)
    crazing: CrazingSettings = field(default_factory=CrazingSettings)
    crawling: CrawlingSettings = field(default_factory=CrawlingSettings)
    two_lamps: TwoLampSettings = field(default_factory=TwoLampSettings)
