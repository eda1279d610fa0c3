"""The second photo of a pair, opened once and asked piece by piece for its view."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.balance import Correction, correct_image, fit_correction, shading_gain
from vision.card import FoundCard, find_card
from vision.chart import find_chart
from vision.errors import PairMismatchError
from vision.labels import find_labels
from vision.photo import Photo
from vision.settings import Settings
from vision.sharpness import measure_blur
from vision.surface import Surface
from vision.taught_card import TaughtCard
from vision.two_lamps_align import Guesses, guess_places, lay_over
from vision.two_lamps_light import LampPair, join_views, lamp_side, second_surface
from vision.view import StraightView

__all__ = ["SecondPhoto", "open_second"]


@dataclass(frozen=True, slots=True, eq=False)
class SecondPhoto:
    """A second photo of the same tiles, the lamp on the other side.

    Attributes
    ----------
    first, photo : the first photo and this one
    guesses : where the first photo's pixels lie in this one
    correction : of this one's colours
    lamp : (2,) unit vector in pixels of the first photo, towards the first lamp
    """

    first: Photo
    photo: Photo
    guesses: Guesses
    correction: Correction
    lamp: NDArray[np.float64]

    def beside(
        self, view: StraightView, surface: Surface, correction: Correction, settings: Settings
    ) -> LampPair | None:
        """Join a piece's views in both photos; None where they do not match.

        Parameters
        ----------
        view : the piece as straightened from the first photo
        surface : the first photo's surface of it
        correction : of the first photo's colours
        settings : `settings.two_lamps`, `settings.tiles`
        """
        two = settings.two_lamps
        laid = lay_over(self.first.pixels, self.photo.pixels, view.to_photo, view.piece, self.guesses, two)
        if laid is None or laid.alike < two.least_alike or laid.seen[view.piece].mean() < two.least_seen:
            return None
        rows, cols = view.piece.shape
        middle = np.array([[[cols / 2, rows / 2]]])
        x, y = cv2.perspectiveTransform(middle, laid.to_second)[0, 0]
        image = correct_image(self.correction, laid.image, shading_gain(self.correction, x, y))
        blur = measure_blur(laid.image, settings.tiles)
        blurred = surface.blur_px if blur is None else max(blur, settings.tiles.blur_floor_px)
        other = second_surface(image, laid.seen, surface, blurred, settings)
        if _hue_apart(surface, other) > two.most_hue_apart:
            return None
        kinds = (correction.kind, self.correction.kind)
        return join_views(surface, other, kinds, self._lamp_in(view), laid.alike, settings)

    def _lamp_in(self, view: StraightView) -> NDArray[np.float32]:
        """Turn the lamp's direction from the first photo's pixels to the view's."""
        rows, cols = view.piece.shape
        middle = cv2.perspectiveTransform(np.array([[[cols / 2, rows / 2]]]), view.to_photo)[0, 0]
        ends = np.array([[middle, middle + self.lamp]])
        start, end = cv2.perspectiveTransform(ends, np.linalg.inv(view.to_photo))[0]
        step = end - start
        return np.asarray(step / max(float(np.hypot(*step)), 1e-9), np.float32)


def _hue_apart(one: Surface, other: Surface) -> float:
    """Give how far apart the middle a* and b* of one glaze lie in both photos."""
    middles = []
    for surface in (one, other):
        clear = (surface.glazed & ~surface.glint)[::4, ::4]
        if clear.sum() < 50:
            return 0.0
        middles.append(np.median(surface.lab[::4, ::4][clear][:, 1:], axis=0))
    return float(np.hypot(*(middles[0] - middles[1])))


def open_second(
    first: Photo,
    second: Photo,
    card: FoundCard | None,
    codes: Collection[str],
    taught: Sequence[TaughtCard],
    settings: Settings,
) -> SecondPhoto:
    """Find the card and the colours of a second photo, and how it lies on the first.

    Parameters
    ----------
    first, second : the photos
    card : the card in the first one
    codes : labels read in the first one
    taught : the studio's cards whose true colours are known
    settings : every threshold

    Raises
    ------
    PairMismatchError : both are one and the same photo, they show other labels, or nothing tells how one lies
        on the other.
    """
    if first.sha256 == second.sha256:
        raise PairMismatchError(first.name, second.name, "they are one and the same photo")
    there = [label.text for label in find_labels(second.pixels, settings.labels)]
    if codes and there and not set(codes) & set(there):
        reason = f"one shows the label {', '.join(sorted(codes))}, the other {', '.join(sorted(there))}"
        raise PairMismatchError(first.name, second.name, reason)
    other = find_card(second.pixels, settings)
    correction = fit_correction(other, find_chart(second.pixels, settings, other), settings, taught)
    guesses = guess_places(first.pixels, second.pixels, card, other, settings.two_lamps)
    if not guesses.places:
        raise PairMismatchError(first.name, second.name, "nothing in one was found again in the other")
    lamp = lamp_side(first.pixels, second.pixels, guesses.places[0], settings.two_lamps)
    return SecondPhoto(first, second, guesses, correction, lamp)
