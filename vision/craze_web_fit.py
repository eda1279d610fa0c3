"""Fit the net that sees where a glaze is crazed (needs the extra `train`).

``python -m vision.craze_web_fit --renders .renders/train_nets .renders/far .renders/shaded``. Photos whose
number is divisible by ``--hold`` are never learnt from. None of them may be one that `craze_lines_fit` learnt
from: on those its chances are too sure.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.craze_lines import line_chances
from vision.craze_lines_fit import disturbed
from vision.craze_net import line_domain
from vision.craze_web import CELL_PX, WEB_FILE, web_input
from vision.crazing_fit import with_scratches
from vision.marks.renders import known_surfaces, split_files, with_grain
from vision.nets_export import hold_levels, read_net, write_net
from vision.settings import Settings
from vision.surface import FloatImage

__all__ = ["Shown", "build_web_net", "main"]

_CROP = 192
_BATCH = 12
_LEAST_SHOWN = 0.3
"""Share of a crop that must be glaze."""


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """What the net sees of one piece, (5, rows, cols) float16, and whether it is crazed."""

    planes: NDArray[np.float16]
    crazed: bool


def _shown(file: Path) -> list[Shown]:
    """Give each piece of a photo as it is and disturbed; those without a net also grained and scratched."""
    cv2.setNumThreads(1)
    settings = Settings()
    rng = np.random.default_rng(int(file.stem.rsplit("_", 1)[1]))
    out = []
    for known in known_surfaces(file, settings):
        if known.surface.blur_px > settings.crazing.most_blur_px:
            continue
        crazed = bool(known.crazing["present"])
        lab, domain, _ = line_domain(known.surface, settings.crazing)
        if domain.sum() < settings.crazing.least_domain_px:
            continue
        views = [lab, disturbed(lab, rng)]
        if not crazed:
            spoilt = (with_grain(known.surface, rng), with_scratches(known.surface, rng))
            views += [line_domain(surface, settings.crazing)[0] for surface in spoilt]
        for seen in views:
            planes = web_input(seen, domain, line_chances(seen, domain))
            out.append(Shown(planes.astype(np.float16), crazed))
    return out


def load_shown(files: Sequence[Path], processes: int) -> list[Shown]:
    """Load what the net sees of every piece of some photos."""
    with ProcessPoolExecutor(processes) as pool:
        return [shown for part in pool.map(_shown, files, chunksize=4) for shown in part]


def _crop(shown: Shown, rng: np.random.Generator) -> FloatImage:
    """Cut a square out, turned and mirrored: (5, side, side)."""
    _, rows, cols = shown.planes.shape
    for _ in range(8):
        top = int(rng.integers(-24, max(rows - _CROP + 24, -23)))
        left = int(rng.integers(-24, max(cols - _CROP + 24, -23)))
        box = shown.planes[:, max(top, 0) : top + _CROP, max(left, 0) : left + _CROP]
        if box[3].sum(dtype=np.float32) > _LEAST_SHOWN * _CROP * _CROP * min(1.0, rows * cols / _CROP**2):
            break
    square = np.zeros((len(box), _CROP, _CROP), np.float32)
    square[:, : box.shape[1], : box.shape[2]] = box
    if rng.random() < 0.3:
        square[:3] *= np.float32(np.exp(rng.normal(0, 0.2)))
    square = np.rot90(square, int(rng.integers(4)), axes=(1, 2))
    return square[..., ::-1] if rng.random() < 0.5 else square


def build_web_net() -> Any:
    """Build the net: halved three times, then widened context, one score a place."""
    from torch import nn

    def block(inputs: int, outputs: int, stride: int = 1, spread: int = 1) -> list[nn.Module]:
        return [
            nn.Conv2d(inputs, outputs, 3, stride, spread, dilation=spread, bias=False),
            nn.BatchNorm2d(outputs),
            nn.ReLU(),
        ]

    return nn.Sequential(
        nn.Conv2d(5, 12, 4, 2, 1, bias=False),
        nn.BatchNorm2d(12),
        nn.ReLU(),
        *block(12, 24, 2),
        *block(24, 24),
        *block(24, 40, 2),
        *block(40, 40),
        *block(40, 40, 1, 2),
        *block(40, 40, 1, 4),
        nn.Dropout2d(0.1),
        *block(40, 32, 1, 2),
        nn.Conv2d(32, 1, 1),
    )


def _write(net: Any, path: Path) -> None:
    """Write the net as ONNX with free rows and columns."""
    import torch

    net.eval().to(memory_format=torch.contiguous_format)
    sides = {2: "rows", 3: "cols"}
    like = torch.zeros(1, 5, _CROP, _CROP)
    write_net(net, like, path, ("planes", ("score",)), {"planes": sides, "score": sides})
    net.train().to(memory_format=torch.channels_last)


def _fitted_loss(net: Any, batch: FloatImage, crazed: NDArray[np.bool_]) -> tuple[Any, float]:
    """Give the cross entropy over places of glaze, and the share of crops judged rightly by their mean."""
    import torch

    planes = torch.from_numpy(np.ascontiguousarray(batch)).to(memory_format=torch.channels_last)
    inside = (torch.nn.functional.avg_pool2d(planes[:, 3:4], CELL_PX) > 0.5).float()
    target = torch.from_numpy(crazed.astype(np.float32))[:, None, None, None].expand_as(inside)
    score = net(planes)
    loss = torch.nn.functional.binary_cross_entropy_with_logits(score, target, inside, reduction="sum")
    mean = (score * inside).sum((1, 2, 3)) / inside.sum((1, 2, 3)).clamp(min=1)
    right = float(((mean > 0) == torch.from_numpy(crazed)).float().mean())
    return loss / inside.sum().clamp(min=1), right


def _batch(
    parts: tuple[list[Shown], list[Shown]], rng: np.random.Generator
) -> tuple[FloatImage, NDArray[np.bool_]]:
    crazed = rng.random(_BATCH) < 0.45
    crops = [
        _crop(pool[int(rng.integers(len(pool)))], rng) for pool in (parts[0 if c else 1] for c in crazed)
    ]
    return np.stack(crops), crazed


def main() -> int:
    """Run the command; gives the exit code."""
    import torch

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--hold", type=int, default=3, help="photos whose number this divides are held out")
    parser.add_argument("--steps", type=int, default=2500)
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--threads", type=int, default=1)
    parser.add_argument("--begin", type=Path, default=None, help="fitted net (.onnx) to go on from")
    parser.add_argument("--out", type=Path, default=WEB_FILE)
    args = parser.parse_args()
    torch.manual_seed(7)
    torch.set_num_threads(args.threads)
    sides = []
    for files in split_files(args.renders, args.hold):
        shown = load_shown(files, args.processes)
        sides.append(([s for s in shown if s.crazed], [s for s in shown if not s.crazed]))
        sys.stderr.write(f"{len(sides[-1][0])} views of nets, {len(sides[-1][1])} without\n")
    rng = np.random.default_rng(7)
    watched = [_batch(sides[1], rng) for _ in range(25)]
    net = build_web_net()
    if args.begin is not None:
        read_net(net, torch.zeros(1, 5, _CROP, _CROP), args.begin)
    net = net.to(memory_format=torch.channels_last)
    optimiser = torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=1e-2)
    began, running, steps = time.perf_counter(), 0.0, 0
    for step in range(1, args.steps + 1):
        fall = 0.5 * (1 + np.cos(np.pi * step / args.steps))
        for group in optimiser.param_groups:
            group["lr"] = args.rate * min(1.0, step / 50) * fall + 1e-5
        if args.begin is not None:
            hold_levels(net)
        loss, _ = _fitted_loss(net, *_batch(sides[0], rng))
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        running, steps = running + float(loss.detach()), steps + 1
        if step % 250 == 0:
            net.eval()
            with torch.no_grad():
                held = [_fitted_loss(net, *batch) for batch in watched]
            net.train()
            told = np.mean([[float(loss), right] for loss, right in held], axis=0)
            seconds = time.perf_counter() - began
            sys.stderr.write(f"{step} {running / steps:.4f}; held {told[0]:.4f}, ")
            sys.stderr.write(f"crops right {told[1]:.3f}; {seconds:.0f} s\n")
            running, steps = 0.0, 0
            _write(net, args.out)  # a stopped run leaves something to use
    _write(net, args.out)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
