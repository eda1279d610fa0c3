"""Fit the net that sees craze lines (needs the extra `train`).

``python -m vision.craze_lines_fit --renders .renders/train .renders/shaded .renders/far``.
Photos whose number is divisible by ``--hold`` are never learnt from.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.craze_lines import LINES_FILE, line_input
from vision.craze_net import line_domain
from vision.marks.renders import known_surfaces, split_files, with_grain
from vision.nets_export import hold_levels, read_net, write_net
from vision.settings import Settings
from vision.surface import BoolMask, FloatImage

__all__ = ["Lined", "build_net", "disturbed", "main"]

_CROP = 160
_BATCH = 12
_NET_SHARE = 0.6
"""Share of crops from surfaces with a net: most of their pixels are no line all the same."""


@dataclass(frozen=True, slots=True, eq=False)
class Lined:
    """A surface at working resolution: (rows, cols, 3) float16 lab, domain, and its lines (None: no net)."""

    lab: NDArray[np.float16]
    domain: BoolMask
    lines: BoolMask | None


def _surfaces(files: Sequence[Path], settings: Settings) -> list[Lined]:
    out = []
    for number, file in enumerate(files):
        rng = np.random.default_rng(number)
        for known in known_surfaces(file, settings):
            if known.surface.blur_px > settings.crazing.most_blur_px:
                continue
            present = bool(known.crazing["present"])
            if present and known.crazed is None:
                continue
            surface = known.surface
            if not present and rng.random() < 0.35:
                surface = with_grain(surface, rng)
            lab, domain, factor = line_domain(surface, settings.crazing)
            lines = None
            if present and known.crazed is not None:
                wide = known.crazed.astype(np.float32)
                lines = cv2.resize(wide, domain.shape[::-1], interpolation=cv2.INTER_AREA) > 0.3 * factor
            if domain.any():
                out.append(Lined(lab.astype(np.float16), domain, lines))
    return out


def _crop(part: Lined, rng: np.random.Generator) -> tuple[FloatImage, FloatImage, FloatImage]:
    """Cut a square out at a random size, turn and contrast: input, lines, and weight."""
    zoom = float(np.exp(rng.uniform(np.log(0.7), np.log(1.45))))
    side = round(_CROP / zoom)
    rows, cols = part.domain.shape
    # centred on a place inside the domain, so that no crop is empty
    inside = np.flatnonzero(part.domain[::4, ::4])
    at = int(inside[int(rng.integers(len(inside)))])
    thin_cols = part.domain[::4, ::4].shape[1]
    top = int(np.clip(4 * (at // thin_cols) - rng.integers(side), 0, max(rows - side, 0)))
    left = int(np.clip(4 * (at % thin_cols) - rng.integers(side), 0, max(cols - side, 0)))
    box = np.s_[top : top + side, left : left + side]
    lab = part.lab[box].astype(np.float32)
    domain = part.domain[box].astype(np.uint8)
    lines = np.zeros(domain.shape, np.float32) if part.lines is None else part.lines[box].astype(np.float32)
    short = (0, side - lab.shape[0], 0, side - lab.shape[1])
    if max(short) > 0:
        lab = cv2.copyMakeBorder(lab, *short, cv2.BORDER_REFLECT_101)
        domain = cv2.copyMakeBorder(domain, *short, cv2.BORDER_CONSTANT, value=0)
        lines = cv2.copyMakeBorder(lines, *short, cv2.BORDER_CONSTANT, value=0)
    how = cv2.INTER_AREA if side > _CROP else cv2.INTER_LINEAR
    lab = cv2.resize(lab, (_CROP, _CROP), interpolation=how)
    lines = cv2.resize(lines, (_CROP, _CROP), interpolation=how)
    domain = cv2.resize(domain, (_CROP, _CROP), interpolation=cv2.INTER_NEAREST)
    lab = disturbed(lab, rng)
    planes = line_input(lab, domain > 0)
    if rng.random() < 0.12:
        planes[0] = -planes[0]  # a dark net on pale glaze and a pale one on dark glaze are the same net
    turn, mirrored = int(rng.integers(4)), bool(rng.random() < 0.5)
    target = (lines > 0.4).astype(np.float32)
    # a pixel beside a line is neither: nothing is learnt there
    beside = (cv2.dilate(target, np.ones((3, 3), np.uint8)) > 0) & (target == 0)
    weight = planes[3] * np.where(beside, np.float32(0.0), np.float32(1.0))
    made = [planes, target[None], weight[None]]
    made = [np.rot90(p, turn, axes=(1, 2)) for p in made]
    made = [p[..., ::-1] if mirrored else p for p in made]
    return (
        np.ascontiguousarray(made[0], np.float32),
        np.ascontiguousarray(made[1], np.float32),
        np.ascontiguousarray(made[2], np.float32),
    )


def disturbed(lab: FloatImage, rng: np.random.Generator) -> FloatImage:
    """Change contrast, add noise, parallel ridges and lone scratches, which are no net."""
    lab = lab.copy()
    rows, cols = lab.shape[:2]
    lab *= np.float32(np.exp(rng.normal(0, 0.25)))
    if rng.random() < 0.25:  # throwing rings and brush marks
        turn, period = rng.uniform(0, np.pi), rng.uniform(5, 40)
        y, x = np.mgrid[:rows, :cols].astype(np.float32)
        bend = rng.uniform(-0.002, 0.002)
        wave = x * np.cos(turn) + y * np.sin(turn) + bend * (x * np.sin(turn) - y * np.cos(turn)) ** 2
        ridge = np.abs(np.sin(np.pi * wave / period + rng.uniform(0, 6))) ** rng.uniform(0.5, 12)
        lab[..., 0] += ridge.astype(np.float32) * np.float32(rng.normal(0, 4))
    for _ in range(int(rng.poisson(0.25))):  # lone scratches, fibres, pencil lines
        ink = np.zeros((rows, cols), np.uint8)
        start, turn = rng.uniform(0, rows, 2), rng.uniform(0, 2 * np.pi)
        steps = np.cumsum(rng.normal(0, 0.04, 20)) + turn
        points = start + np.cumsum(np.stack([np.cos(steps), np.sin(steps)], 1) * rng.uniform(2, 9), axis=0)
        cv2.polylines(ink, [np.round(points * 16).astype(np.int32)], False, 255, 1, cv2.LINE_AA, 4)
        soft = cv2.GaussianBlur(ink.astype(np.float32) / 255, (0, 0), rng.uniform(0.4, 1.2))
        lab[..., 0] += soft * np.float32(rng.normal(0, 14))
    if rng.random() < 0.5:
        noise = rng.standard_normal((rows, cols, 3), dtype=np.float32)
        noise = cv2.GaussianBlur(noise, (0, 0), rng.uniform(0.3, 1.1))
        lab += noise * np.float32(rng.uniform(0.1, 2.0))
    if rng.random() < 0.25:
        lab = np.asarray(cv2.GaussianBlur(lab, (0, 0), rng.uniform(0.3, 0.9)), np.float32)
    return lab


def build_net() -> Any:
    """Build the net: halved once on entry and twice more, widened context, and up again to full size."""
    import torch
    from torch import nn

    def block(inputs: int, outputs: int, stride: int = 1, spread: int = 1) -> nn.Sequential:
        return nn.Sequential(
            nn.Conv2d(inputs, outputs, 3, stride, spread, dilation=spread, bias=False),
            nn.BatchNorm2d(outputs),
            nn.ReLU(),
        )

    class LineNet(nn.Module):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__()
            self.entry = nn.Sequential(nn.Conv2d(4, 12, 4, 2, 1, bias=False), nn.BatchNorm2d(12), nn.ReLU())
            self.middle = nn.Sequential(block(12, 24, 2), block(24, 24))
            self.deep = nn.Sequential(
                block(24, 32, 2), block(32, 32), block(32, 32, 1, 2), block(32, 32, 1, 4), block(32, 32)
            )
            self.join_half = block(32 + 24, 16)
            self.join_full = block(16 + 12, 12)
            self.exit = nn.Conv2d(12, 4, 3, 1, 1)

        def forward(self, planes: torch.Tensor) -> torch.Tensor:
            entry = self.entry(planes)
            half = self.middle(entry)
            low = self.deep(half)
            half = self.join_half(torch.cat([nn.functional.interpolate(low, scale_factor=2.0), half], 1))
            full = self.join_full(torch.cat([nn.functional.interpolate(half, scale_factor=2.0), entry], 1))
            return nn.functional.pixel_shuffle(self.exit(full), 2)

    return LineNet()


def _loss(score: Any, target: Any, weight: Any) -> Any:
    """Weighted cross entropy plus overlap (Milletari, Navab & Ahmadi 2016) over the whole batch."""
    import torch

    entropy = torch.nn.functional.binary_cross_entropy_with_logits(score, target, weight * (1 + 2 * target))
    chance = torch.sigmoid(score) * weight
    true = target * weight
    overlap = (2 * (chance * true).sum() + 1) / (chance.sum() + true.sum() + 1)
    return entropy + 0.15 * (1 - overlap)


def _batch(
    parts: tuple[list[Lined], list[Lined]], rng: np.random.Generator
) -> tuple[FloatImage, FloatImage, FloatImage]:
    crops = []
    for _ in range(_BATCH):
        pool = parts[0] if rng.random() < _NET_SHARE else parts[1]
        crops.append(_crop(pool[int(rng.integers(len(pool)))], rng))
    return np.stack([c[0] for c in crops]), np.stack([c[1] for c in crops]), np.stack([c[2] for c in crops])


def _write(net: Any, path: Path) -> None:
    """Write the net as ONNX with free rows and columns."""
    import torch

    net.eval().to(memory_format=torch.contiguous_format)
    sides = {2: "rows", 3: "cols"}
    like = torch.zeros(1, 4, _CROP, _CROP)
    write_net(net, like, path, ("planes", ("score",)), {"planes": sides, "score": sides})
    net.train().to(memory_format=torch.channels_last)


def main() -> int:
    """Run the command; gives the exit code."""
    import torch

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--hold", type=int, default=5, help="photos whose number this divides are held out")
    parser.add_argument("--steps", type=int, default=2200)
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--begin", type=Path, default=None, help="fitted net (.onnx) to go on from")
    parser.add_argument("--out", type=Path, default=LINES_FILE)
    args = parser.parse_args()
    torch.manual_seed(7)
    torch.set_num_threads(1)
    cv2.setNumThreads(1)
    settings = Settings()
    surfaces = _surfaces(split_files(args.renders, args.hold)[0], settings)
    parts = ([s for s in surfaces if s.lines is not None], [s for s in surfaces if s.lines is None])
    sys.stderr.write(f"{len(parts[0])} nets, {len(parts[1])} surfaces without\n")
    rng = np.random.default_rng(7)
    net = build_net()
    if args.begin is not None:
        read_net(net, torch.zeros(1, 4, _CROP, _CROP), args.begin)
    net = net.to(memory_format=torch.channels_last)
    optimiser = torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=1e-3)
    began, running = time.perf_counter(), 0.0
    for step in range(1, args.steps + 1):
        fall = 0.5 * (1 + np.cos(np.pi * step / args.steps))
        for group in optimiser.param_groups:
            group["lr"] = args.rate * min(1.0, step / 50) * fall + 1e-5
        if args.begin is not None:
            hold_levels(net)
        planes, target, weight = (torch.from_numpy(a) for a in _batch(parts, rng))
        with torch.autocast("cpu", torch.bfloat16):
            score = net(planes.to(memory_format=torch.channels_last))
        loss = _loss(score.float(), target, weight)
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        running += float(loss.detach())
        if step % 100 == 0:
            sys.stderr.write(f"{step} {running / 100:.4f} {time.perf_counter() - began:.0f} s\n")
            running = 0.0
        if step % 500 == 0:
            _write(net, args.out)  # a stopped run leaves something to use
    _write(net, args.out)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
