"""Draws pieces of levels for the mark net to learn from, altered as other lamps, phones and glazes would."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks.classify import CLASSES
from vision.marks.examples import IGNORED
from vision.marks.field_levels import Level

__all__ = ["SIDE", "Draw"]

SIDE = 64
"""Half-size rows and columns of a piece."""
_KINDS = len(CLASSES) - 1


class Draw:
    """Draws pieces of levels, half of them round a mark, altered as other lamps, phones and glazes would."""

    def __init__(self, levels: Sequence[Level], seed: int) -> None:
        self.levels = levels
        self.rng = np.random.default_rng(seed)
        self.cells: list[NDArray[np.intp]] = []
        for kind in range(_KINDS):
            rows = []
            for k, level in enumerate(levels):
                found = np.argwhere(level.label == kind)
                rows.append(np.column_stack([np.full(len(found), k), found]).astype(np.intp))
            self.cells.append(np.concatenate(rows))
        self.odds = np.sqrt([max(1, len(c)) for c in self.cells])
        self.odds = self.odds / self.odds.sum()
        self.area = np.array([level.label.size for level in levels], np.float64)
        self.area /= self.area.sum()

    def one(self) -> tuple[NDArray[np.float32], NDArray[np.int8], NDArray[np.float32]]:
        """Give channels, label and places of one piece."""
        rng = self.rng
        if rng.random() < 0.6:
            cells = self.cells[int(rng.choice(_KINDS, p=self.odds))]
            k, row, col = cells[rng.integers(len(cells))]
            row, col = row * 2 - rng.integers(8, SIDE - 8), col * 2 - rng.integers(8, SIDE - 8)
        else:
            k = int(rng.choice(len(self.levels), p=self.area))
            row, col = (rng.integers(-8, max(1, size - SIDE + 8)) for size in self.levels[k].rest.shape[1:])
        level = self.levels[k]
        rows, cols = level.rest.shape[1:]
        row, col = (
            int(np.clip(v, min(0, n - SIDE), max(0, n - SIDE))) // 4 * 4
            for v, n in ((row, rows), (col, cols))
        )
        take = [np.clip(np.arange(at, at + SIDE), 0, n - 1) for at, n in ((row, rows), (col, cols))]
        inside = [
            (np.arange(at, at + SIDE) >= 0) & (np.arange(at, at + SIDE) < n)
            for at, n in ((row, rows), (col, cols))
        ]
        twice = [
            np.clip(np.arange(2 * at, 2 * (at + SIDE)), 0, 2 * n - 1) for at, n in ((row, rows), (col, cols))
        ]
        half = [
            np.clip(np.arange(at // 2, (at + SIDE) // 2), 0, n // 2 - 1)
            for at, n in ((row, rows), (col, cols))
        ]
        there = np.outer(*inside)
        light = level.light[np.ix_(*twice)].astype(np.float32)
        rest = level.rest[(slice(None), *np.ix_(*take))].astype(np.float32)
        rest[3] *= there
        label = level.label[np.ix_(*half)].copy()
        label[~there[::2, ::2]] = IGNORED
        places = level.places[(slice(None), *np.ix_(*half))].astype(np.float32)
        return self._altered(light, rest, label, places)  # type: ignore[no-any-return]

    def _altered(self, light: Any, rest: Any, label: Any, places: Any) -> Any:
        rng = self.rng
        if rng.random() < 0.5:
            light, rest, label, places = (
                light[:, ::-1],
                rest[..., ::-1],
                label[:, ::-1],
                places[..., ::-1].copy(),
            )
            places[1] *= -1
        if rng.random() < 0.5:
            light, rest, label, places = light[::-1], rest[:, ::-1], label[::-1], places[:, ::-1].copy()
            places[2] *= -1
        if rng.random() < 0.5:
            light, rest, label = light.T, rest.transpose(0, 2, 1), label.T
            places = places.transpose(0, 2, 1)[[0, 2, 1]]
        light, rest = light * np.float32(np.exp(rng.normal(0, 0.25))), rest.copy()
        rest[:2] *= np.float32(np.exp(rng.normal(0, 0.3)))
        rest[:2] += np.float32(0.06) * rng.standard_normal((2, 1, 1), np.float32) * light[::2, ::2]
        rest[4:7] += np.float32(0.25) * rng.standard_normal((3, 1, 1), np.float32)
        if rng.random() < 0.3:
            light = light + self._blotches(light.shape, rest)
        if rng.random() < 0.35:
            light = self._glints(light, rest)
        if rng.random() < 0.2:
            light = light + self._lines(light.shape)
        if rng.random() < 0.3:
            light = cv2.GaussianBlur(light, (0, 0), float(rng.uniform(0.3, 0.9)))
        noise = np.float32(0.15 * rng.random() ** 2)
        light = light + noise * rng.standard_normal(light.shape, np.float32)
        rest[:2] += noise * rng.standard_normal(rest[:2].shape, np.float32)
        rest[7] += np.float32(0.15 * rng.standard_normal())
        squares = [light[r::2, c::2] for r in (0, 1) for c in (0, 1)]
        return np.concatenate([np.stack(squares), rest]), np.ascontiguousarray(label), places

    def _blotches(self, shape: tuple[int, int], rest: Any) -> NDArray[np.float32]:
        """Draw soft clouds of lightness and colour: variegated and breaking glazes, which are no marks."""
        rng = self.rng
        cloud = rng.standard_normal(shape, np.float32)
        cloud = cv2.GaussianBlur(cloud, (0, 0), float(np.exp(rng.uniform(np.log(1.5), np.log(14)))))
        cloud *= np.float32(np.exp(rng.uniform(np.log(0.06), np.log(0.5)))) / max(float(cloud.std()), 1e-6)
        rest[:2] += cloud[::2, ::2] * rng.standard_normal((2, 1, 1), np.float32)
        return np.asarray(cloud, np.float32)

    def _glints(self, light: NDArray[np.float32], rest: Any) -> NDArray[np.float32]:
        """Lay lights on the glaze that are nothing: lamps in a wavy face, long or round, soft or sharp."""
        rng = self.rng
        y, x = np.mgrid[: light.shape[0], : light.shape[1]].astype(np.float32)
        white = np.repeat(np.repeat((1 - rest[4]) * np.float32(50 / 15), 2, 0), 2, 1)
        for _ in range(int(rng.integers(1, 5))):
            long, turn = float(np.exp(rng.uniform(np.log(2), np.log(14)))), float(rng.uniform(0, 3.14))
            thin = long / float(np.exp(rng.uniform(0, 1.5)))
            u, v = x - rng.uniform(0, light.shape[1]), y - rng.uniform(0, light.shape[0])
            a, b = u * np.cos(turn) + v * np.sin(turn), v * np.cos(turn) - u * np.sin(turn)
            away = np.sqrt((a / long) ** 2 + (b / thin) ** 2)
            edge = float(np.exp(rng.uniform(np.log(0.08), np.log(0.8))))
            veil = (1 / (1 + np.exp(np.clip((away - 1) / edge * 3, -30, 30)))).astype(np.float32)
            if rng.random() < 0.5:
                light = light + veil * (white - light)
                shown = veil > rng.uniform(0.2, 0.6)
            else:
                strength = float(rng.uniform(0.3, 2.5))
                light = light + np.float32(strength) * veil
                shown = (veil > 0.4) & (strength > 1)
            rest[2] = np.maximum(rest[2], shown[::2, ::2].astype(np.float32))
        return np.asarray(light, np.float32)

    def _lines(self, shape: tuple[int, int]) -> NDArray[np.float32]:
        """Draw scratches, hairs and brush strokes: thin, dark or bright, straight or bent."""
        rng = self.rng
        out = np.zeros(shape, np.float32)
        for _ in range(int(rng.integers(1, 4))):
            at, step = rng.uniform(0, shape[0], 2), rng.normal(0, 14, (6, 2))
            path = np.cumsum(np.vstack([at, step + rng.normal(0, 18, 2)]), axis=0)
            line = np.zeros(shape, np.float32)
            cv2.polylines(
                line,
                [np.round(path * 8).astype(np.int32)],
                False,
                1.0,
                int(rng.integers(1, 3)),
                cv2.LINE_AA,
                3,
            )
            line = cv2.GaussianBlur(line, (0, 0), float(rng.uniform(0.5, 1.2)))
            out += np.float32(rng.choice([-1, 1]) * rng.uniform(0.3, 2.0)) * line
        return out
