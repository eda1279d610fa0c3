"""Fit the piece net to photos with a class for every pixel.

    python -m vision.piece_net_fit --shares 0.45 0.35 0.2 --minutes 120
        --layouts .renders/layouts_train .renders/layouts_train_again .renders/layouts_drawn_train

Needs the `train` extra (PyTorch, ONNX). The folders come from `sample_images/render_layouts.py` and
`draw_layouts.py`. What is written is an ONNX file that OpenCV's DNN module runs; users need neither PyTorch
nor ONNX.

The net is a small U-Net (Ronneberger, Fischer & Brox 2015) with residual blocks (He et al. 2016). It sees the
photo and how unlike the table each place is. A second answer, an eighth as fine, is the subject.
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.nets_export import hold_levels, read_net, write_net
from vision.piece_net import (
    BACKGROUND,
    CHANNELS,
    SUBJECT_STEP,
    SUBJECTS,
    encoded,
    levelled,
    shrunken,
    table_maps,
)
from vision.settings import TileSettings

__all__ = ["altered", "build_net", "load_layouts"]

WIDTHS = (16, 24, 48, 96, 128)
"""Channels at half size, quarter, ..."""
CROP_PX = (256, 320)
"""Rows and columns of a training crop."""
BATCH = 8
CLASS_WEIGHTS = (1.0, 1.0, 1.5, 2.5)
EDGE_WEIGHT = 2.0
"""How much more a pixel near the border of two classes counts."""

Image = NDArray[np.uint8]
Maps = NDArray[np.float16]
Example = tuple[Image, Maps, Image]
"""Photo (rows, cols, 3) RGB, table maps (rows, cols, 2) and classes (rows, cols), at the net's resolution."""


def _load(path: Path) -> Example | None:
    labels = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    photo = cv2.imread(str(path.with_name(path.name.replace(".classes.png", ".jpg"))))
    if labels is None or photo is None or photo.shape[:2] != labels.shape:
        return None
    if (labels >= SUBJECT_STEP * len(SUBJECTS)).any():
        return None
    settings = TileSettings()
    pixels = cv2.cvtColor(photo, cv2.COLOR_BGR2RGB).astype(np.uint8)
    small, _ = shrunken(pixels, settings)
    kept = path.with_name(path.name.replace(".classes.png", ".maps.npy"))
    if kept.is_file():
        maps = np.load(kept, allow_pickle=False)
    else:
        maps = table_maps(pixels, small.shape[:2], settings).astype(np.float16)
        np.save(kept, maps, allow_pickle=False)
    size = (small.shape[1], small.shape[0])
    return small, maps, cv2.resize(labels, size, interpolation=cv2.INTER_NEAREST).astype(np.uint8)


def load_layouts(folder: Path) -> list[Example]:
    """Load a folder's examples in order of name.

    Close-ups are left out: nothing in a crop tells a frame full of glaze from a frame full of table.
    """
    made = (_load(path) for path in sorted(folder.glob("*.classes.png")))
    return [example for example in made if example is not None]


def altered(
    rng: np.random.Generator, example: Example, crop: tuple[int, int] = CROP_PX
) -> tuple[NDArray[np.float32], Image]:
    """Cut a crop and alter it as another phone, light or place would; as the net takes it.

    Parameters
    ----------
    rng : seeded generator
    example : photo, maps, classes
    crop : rows, cols of the answer

    Returns
    -------
    input : (len(CHANNELS), rows, cols) float32
    labels : (rows, cols)
    """
    photo, maps, labels = example
    rows, cols = crop
    scale = float(np.exp(rng.uniform(np.log(0.78), np.log(1.4))))
    turn = np.radians(90.0 * int(rng.integers(4)) * (rng.random() < 0.4) + rng.normal(0, 6))
    mirror = -1.0 if rng.random() < 0.5 else 1.0
    linear = scale * np.array([[np.cos(turn) * mirror, -np.sin(turn)], [np.sin(turn) * mirror, np.cos(turn)]])
    size = np.array([photo.shape[1], photo.shape[0]])
    piece = np.argwhere(labels[::4, ::4] > 0) * 4
    centre = size / 2 + rng.normal(0, 0.06, 2) * size
    if len(piece):
        centre = centre + (piece[int(rng.integers(len(piece)))][::-1] - centre) * max(0.0, scale - 0.8)
    shift = np.array([cols / 2, rows / 2]) - linear @ centre
    matrix = np.column_stack([linear, shift]).astype(np.float32)
    how = {"borderMode": cv2.BORDER_REFLECT_101}
    seen = cv2.warpAffine(photo, matrix, (cols, rows), flags=cv2.INTER_LINEAR, **how)
    table = cv2.warpAffine(maps.astype(np.float32), matrix, (cols, rows), flags=cv2.INTER_LINEAR, **how)
    kinds = cv2.warpAffine(labels, matrix, (cols, rows), flags=cv2.INTER_NEAREST, **how)
    light = (seen.astype(np.float32) / 255.0) ** 2.2
    light = light * np.exp(rng.normal(0, 0.15, 3) + rng.normal(0, 0.3)).astype(np.float32)
    if rng.random() < 0.3:
        y, x = np.mgrid[-1 : 1 : rows * 1j, -1 : 1 : cols * 1j].astype(np.float32)
        a, b = rng.normal(0, 0.3, 2)
        light = light * np.exp(a * x + b * y)[..., None].astype(np.float32)
    if rng.random() < 0.2:
        grey = light.mean(axis=2, keepdims=True)
        light = grey + (light - grey) * float(rng.uniform(0, 1.4))
    code = np.clip(light, 0, 1) ** np.float32(1 / 2.2 * float(np.exp(rng.normal(0, 0.15))))
    if rng.random() < 0.3:
        code = cv2.GaussianBlur(code, (0, 0), float(rng.uniform(0.3, 1.0)))
    code = code + rng.normal(0, rng.uniform(0, 0.02), code.shape).astype(np.float32)
    if rng.random() < 0.15:  # now and then the table cannot be told
        table = table * np.float32(0)
    out = np.clip(code * 255 + 0.5, 0, 255).astype(np.uint8)
    return encoded(levelled(out), table), kinds


def build_net(widths: tuple[int, ...] = WIDTHS) -> Any:
    """Build the net, a `torch.nn.Module` from (n, len(CHANNELS), rows, cols) to class and subject scores.

    Returns
    -------
    module giving (n, 4, rows, cols) and (n, 2, rows / 8, cols / 8)
    """
    import torch
    from torch import nn
    from torch.nn import functional as f

    class Residual(nn.Module):  # type: ignore[misc]
        def __init__(self, inner: int, outer: int, stride: int = 1) -> None:
            super().__init__()
            self.first = nn.Conv2d(inner, outer, 3, stride, 1, bias=False)
            self.level = nn.BatchNorm2d(outer)
            self.second = nn.Conv2d(outer, outer, 3, 1, 1, bias=False)
            self.level2 = nn.BatchNorm2d(outer)
            self.skip = nn.Sequential()
            if inner != outer or stride > 1:
                self.skip = nn.Sequential(
                    nn.Conv2d(inner, outer, 1, stride, bias=False), nn.BatchNorm2d(outer)
                )

        def forward(self, x: Any) -> Any:
            return f.relu(self.level2(self.second(f.relu(self.level(self.first(x))))) + self.skip(x))

    class PieceNet(nn.Module):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__()
            self.stem = nn.Sequential(
                nn.Conv2d(len(CHANNELS), widths[0], 5, 2, 2, bias=False), nn.BatchNorm2d(widths[0]), nn.ReLU()
            )
            self.down = nn.ModuleList([Residual(widths[0], widths[0])])
            for a, b in pairwise(widths):
                self.down.append(Residual(a, b, 2))
            self.up = nn.ModuleList(
                [
                    nn.Sequential(nn.Conv2d(a + b, a, 3, 1, 1, bias=False), nn.BatchNorm2d(a), nn.ReLU())
                    for a, b in pairwise(widths)
                ]
            )
            self.classes = nn.Sequential(nn.Conv2d(widths[0], 16, 3, 1, 1), nn.PixelShuffle(2))
            self.subject = nn.Conv2d(widths[2], len(SUBJECTS), 1)

        def forward(self, x: Any) -> tuple[Any, Any]:
            x = self.stem(x)
            kept = []
            for step in self.down:
                x = step(x)
                kept.append(x)
            subject = None
            for level in range(len(self.up) - 1, -1, -1):
                x = f.interpolate(x, scale_factor=2.0, mode="nearest")
                x = self.up[level](torch.cat([kept[level], x], dim=1))
                if level == 2:
                    subject = self.subject(x)
            return self.classes(x), subject

    return PieceNet()


def _loss(scores: Any, subject: Any, labels: Any, weights: Any) -> Any:
    import torch
    from torch.nn import functional as f

    kinds = labels % SUBJECT_STEP
    edge = f.max_pool2d(kinds.float()[:, None], 3, 1, 1) + f.max_pool2d(-kinds.float()[:, None], 3, 1, 1)
    weight = 1.0 + (EDGE_WEIGHT - 1.0) * (edge[:, 0] > 0)
    loss = (f.cross_entropy(scores, kinds, weights, reduction="none") * weight).mean()
    share = torch.softmax(scores, 1)
    dice = 0.0
    for found, truth in (
        (share[:, 1] + share[:, 2], (kinds == 1) | (kinds == 2)),
        (share[:, 2], kinds == 2),
    ):
        truth = truth.float()
        both = (found * truth).sum()
        dice = dice + 1 - (2 * both + 50) / (found.sum() + truth.sum() + 50)
    coarse = labels[:, 4::8, 4::8]
    what = torch.where(coarse == BACKGROUND, torch.full_like(coarse, -1), coarse // SUBJECT_STEP)
    on = (what >= 0).float()
    each = f.cross_entropy(subject, what, ignore_index=-1, reduction="none")
    return loss + 0.4 * dice + 0.2 * (each * on).sum() / (on.sum() + 1)


def _overlap(net: Any, examples: list[Example]) -> tuple[float, float, float]:
    """Give the mean overlap (IoU) of faces, of glaze, and how much of the pieces has its subject right."""
    import torch

    face, glaze, right, count = [], [], 0, 0
    for photo, maps, labels in examples:
        rows, cols = (v // 32 * 32 for v in photo.shape[:2])
        taken = encoded(levelled(photo), maps.astype(np.float32))[:, :rows, :cols]
        truth = labels[:rows, :cols]
        with torch.no_grad():
            scores, subject = net(torch.from_numpy(taken)[None])
        found = scores[0].argmax(0).numpy()
        kinds = truth % SUBJECT_STEP
        a, b = (found == 1) | (found == 2), (kinds == 1) | (kinds == 2)
        if b.sum() > 200:
            face.append((a & b).sum() / (a | b).sum())
            glaze.append(((found == 1) & (kinds == 1)).sum() / max(1, ((found == 1) | (kinds == 1)).sum()))
        coarse = truth[4::8, 4::8]
        on = coarse != BACKGROUND
        right += int((subject[0].argmax(0).numpy()[on] == coarse[on] // SUBJECT_STEP).sum())
        count += int(on.sum())
    return float(np.mean(face)), float(np.mean(glaze)), right / max(1, count)


def main() -> int:
    """Run the command; gives the exit code."""
    import torch

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--layouts", type=Path, nargs="+", required=True)
    parser.add_argument("--shares", type=float, nargs="*", help="how often each folder is drawn from")
    parser.add_argument(
        "--watch", type=int, default=24, help="first photos of each folder: watched, not fitted on"
    )
    parser.add_argument("--minutes", type=float, default=40.0)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--out", type=Path, default=Path("vision/piece_net.onnx"))
    parser.add_argument("--begin", type=Path, default=None, help="fitted net (.onnx) to go on from")
    parser.add_argument("--rate", type=float, default=2e-3)
    args = parser.parse_args()
    torch.manual_seed(5)
    torch.set_num_threads(args.threads)
    cv2.setNumThreads(1)
    rng = np.random.default_rng(5)
    net = build_net()
    if args.begin is not None:
        read_net(net, torch.zeros(1, len(CHANNELS), *CROP_PX), args.begin)
    weights = torch.tensor(CLASS_WEIGHTS)
    optimiser = torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=1e-4)
    loaded = [load_layouts(folder) for folder in args.layouts]
    watched, sets = [each[: args.watch] for each in loaded], [each[args.watch :] for each in loaded]
    odds = np.array(args.shares or [1.0] * len(sets))
    odds = odds / odds.sum()

    def next_batch() -> list[tuple[NDArray[np.float32], Image]]:
        drawn = [sets[k] for k in rng.choice(len(sets), BATCH, p=odds)]
        return [altered(rng, examples[int(rng.integers(len(examples)))]) for examples in drawn]

    pool = ThreadPoolExecutor(1)
    coming = pool.submit(next_batch)
    began, step, running, looked = time.monotonic(), 0, 0.0, 0.0
    while (spent := (time.monotonic() - began) / 60) < args.minutes:
        for group in optimiser.param_groups:
            warm = min(1.0, (step + 1) / 50)
            group["lr"] = args.rate * warm * max(0.02, 0.5 + 0.5 * np.cos(np.pi * spent / args.minutes))
        batch, coming = coming.result(), pool.submit(next_batch)
        photos = torch.from_numpy(np.stack([p for p, _ in batch]))
        labels = torch.from_numpy(np.stack([k for _, k in batch])).long()
        if args.begin is None:
            net.train()
        else:
            hold_levels(net)
        with torch.autocast("cpu", torch.bfloat16):
            scores, subject = net(photos)
        loss = _loss(scores.float(), subject.float(), labels, weights)
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        optimiser.step()
        running = 0.99 * running + 0.01 * float(loss.detach()) if step else float(loss.detach())
        step += 1
        if spent - looked > 4:
            looked = spent
            net.eval()
            seen = "; ".join(" ".join(f"{v:.3f}" for v in _overlap(net, each)) for each in watched)
            many = sum(map(len, sets))
            sys.stderr.write(f"{spent:.1f} min, step {step}, {many} photos, loss {running:.3f} {seen}\n")
            export(net, args.out)  # a stopped run leaves something to use
    net.eval()
    export(net, args.out)
    return 0


def export(net: Any, path: Path) -> None:
    """Write the net as ONNX with free rows and columns (multiples of 32)."""
    import torch

    like = torch.zeros(1, len(CHANNELS), 320, 416)
    write_net(net, like, path, ("photo", ("classes", "subject")), {"photo": {2: "rows", 3: "cols"}})


if __name__ == "__main__":
    raise SystemExit(main())
