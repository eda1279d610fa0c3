"""Writes the nets in whole numbers of eight bits: python -m vision.nets_quicken --renders .renders/train.

To be run again after a net was fitted anew, before what is fitted to its answers; takes half a minute of an
idle processor, and needs the `train` extra. Nothing is learnt: the range of every layer is looked up on
training renders, weights are rounded to seven bits a channel, so that no processor's sums overflow and all
give one answer. The last layer, whose answer is a score, stays in floating point, and so does the first,
which sees fine contrasts, or it gets its picture in two bytes.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import logging
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from vision import craze_lines, craze_web
from vision.craze_net import line_domain
from vision.marks import field, net
from vision.marks.candidates import build_pyramid, measuring_domain
from vision.marks.find import look_closely
from vision.marks.renders import known_surfaces, truth_files
from vision.nets import MADE_FROM
from vision.settings import Settings
from vision.surface import FloatImage, Surface

__all__ = ["QUICKENED", "Quick", "main", "quicken", "shown", "shown_of"]

_SIDES = {"web": 256, "field": 128}
"""Side of the parts of pictures that ranges are looked up on, pixels: all parts are of one size."""
_PARTS, _SQUARES = 40, 32
"""Parts looked at, evenly chosen; squares that make one."""
_PERCENTILE = 99.999
"""Share of a layer's numbers that its range holds, percent. On training renders the scores of the net of
marks then err by 0.09 (RMS; they spread by 3.2); with every number held by 0.15, with one in 10 000 left out
by 0.10 and twice as far in the worst cases."""
_STEPS = 20.0
"""Steps of a picture's first byte, of 127 either way, for 1 in the net's input, in the heaviest channel."""
_FINER = 8.0
"""Steps of the second byte within one of the first: finer ones the rounded weights could not use."""
_LEAST_WIDE = 16
"""Channels of an answer under which ONNX Runtime's whole-number layers take three times as long. In floating
point, as the last layer is, it is the other way round."""


@dataclass(frozen=True, slots=True)
class Quick:
    """How a net is made quick.

    Attributes
    ----------
    path : of the net
    two_bytes : its first layer is one of whole numbers too, and sees each channel in two bytes
    """

    path: Path
    two_bytes: bool = False


# the net of pieces is left as it is: in whole numbers it drew outlines less well (IoU of 0.95 on the tune
# split in 80 of 114 pieces, as it is in 85), for a fortieth of the time. So is the net of lines: on renders
# it drew as well, on open photos of craquelure less well (F1 at 3 px 0.77, as it is 0.82)
QUICKENED = {
    "web": Quick(craze_web.WEB_FILE),
    "field": Quick(field.MODEL_FILE, two_bytes=True),
    "squares": Quick(net.MODEL_FILE),
}


def _parts(name: str, planes: FloatImage, rng: np.random.Generator) -> list[FloatImage]:
    """Cut a part (1, channels, side, side) out of a picture that is no smaller."""
    side, (rows, cols) = _SIDES[name], planes.shape[1:]
    if min(rows, cols) < side:
        return []
    row, col = (int(rng.integers(0, whole - side + 1)) for whole in (rows, cols))
    return [np.ascontiguousarray(planes[None, :, row : row + side, col : col + side])]


def shown_of(surface: Surface, settings: Settings) -> Iterator[tuple[str, FloatImage]]:
    """Give what the nets of a surface are shown of it: the key in `QUICKENED`, and (channels, rows, cols)."""
    pyramid = build_pyramid(surface, measuring_domain(surface, settings.marks), settings.marks)
    largest = settings.marks.largest_fraction * min(surface.glazed.shape)
    for level in field.view_levels(pyramid, surface.blur_px, largest):
        yield "field", level.channels
    yield "squares", look_closely(surface, settings.marks)[1]
    lab, domain, _ = line_domain(surface, settings.crazing)
    planes = craze_lines.line_input(lab, domain)
    yield "web", np.stack(craze_web.with_odds(planes, craze_lines.chances_of(planes)))


def shown(files: Sequence[Path], settings: Settings) -> dict[str, list[FloatImage]]:
    """Give what each net is shown of rendered photos, in parts of one size, by the keys of `QUICKENED`.

    Parameters
    ----------
    files : truth files
    settings : of the reading
    """
    rng = np.random.default_rng(11)
    kept: dict[str, list[FloatImage]] = {name: [] for name in QUICKENED}
    for file in files:
        for known in known_surfaces(file, settings, read=True):
            if known.surface.glazed.any():
                for name, planes in shown_of(known.surface, settings):
                    kept[name] += [planes] if name == "squares" else _parts(name, planes, rng)
    squares = np.concatenate(kept["squares"])
    kept["squares"] = np.split(squares, range(_SQUARES, len(squares), _SQUARES))[:-1]
    return {name: parts[:: max(1, len(parts) // _PARTS)][:_PARTS] for name, parts in kept.items()}


def _in_full(model: Any) -> None:
    """Put the weights, kept in half precision (`nets_export`), into single precision."""
    from onnx import numpy_helper

    graph = model.graph
    halves = {tensor.name: tensor for tensor in graph.initializer}
    for node in [node for node in graph.node if node.op_type == "Cast" and node.input[0] in halves]:
        half = halves[node.input[0]]
        values = numpy_helper.to_array(half).astype(np.float32)
        graph.initializer.remove(half)
        graph.node.remove(node)
        graph.initializer.append(numpy_helper.from_array(values, node.output[0]))


def _layers(model: Any) -> list[Any]:
    return [node for node in model.graph.node if node.op_type in ("Conv", "Gemm")]


def _weights(model: Any, name: str) -> Any:
    return next(tensor for tensor in model.graph.initializer if tensor.name == name)


def _set_weights(model: Any, name: str, values: np.ndarray[Any, Any]) -> None:
    from onnx import numpy_helper

    _weights(model, name).CopyFrom(numpy_helper.from_array(values.astype(np.float32), name))


def _widen(model: Any) -> None:
    """Give a layer of few channels, that only the last one sees, empty ones more, cut off before the last."""
    from onnx import helper, numpy_helper

    layer, last = _layers(model)[-2:]
    after = [node for node in model.graph.node if layer.output[0] in node.input]
    weight, offset = (numpy_helper.to_array(_weights(model, name)) for name in layer.input[1:3])
    missing = _LEAST_WIDE - weight.shape[0]
    if missing <= 0 or layer.op_type != "Conv" or [node.op_type for node in after] != ["Relu"]:
        return
    _set_weights(model, layer.input[1], np.pad(weight, ((0, missing), (0, 0), (0, 0), (0, 0))))
    _set_weights(model, layer.input[2], np.pad(offset, (0, missing)))
    for name, value in (("from", 0), ("to", weight.shape[0]), ("axis", 1)):
        model.graph.initializer.append(numpy_helper.from_array(np.array([value]), name))
    wide = [after[0].output[0], "from", "to", "axis"]
    cut = helper.make_node("Slice", wide, ["narrow"], name="narrow")
    model.graph.node.insert(list(model.graph.node).index(last), cut)
    last.input[0] = "narrow"


def _in_two_bytes(model: Any) -> dict[str, list[dict[str, Any]]]:
    """Let the first layer see each channel twice: rounded to steps, and what that left out, enlarged.

    Returns
    -------
    The scales to be used for both
    """
    from onnx import helper, numpy_helper

    first = _layers(model)[0]
    picture = first.input[0]
    weight = numpy_helper.to_array(_weights(model, first.input[1]))
    heavy = np.abs(weight).max(axis=(0, 2, 3))
    # light channels made smaller, their weights larger: half of what would round all weights equally finely
    steps = (_STEPS * np.sqrt(heavy / heavy.max())).reshape(1, -1, 1, 1).astype(np.float32)
    _set_weights(model, first.input[1], np.concatenate([weight / steps, weight / steps / _FINER], axis=1))
    for name, value in (("steps", steps), ("enlarged", np.float32(_FINER))):
        model.graph.initializer.append(numpy_helper.from_array(value, name))
    made = [
        helper.make_node("Mul", [picture, "steps"], ["in_steps"], name="in_steps"),
        helper.make_node("Identity", ["in_steps"], ["coarse"], name="coarse"),  # only this is rounded
        helper.make_node("Round", ["in_steps"], ["rounded"], name="rounded"),
        helper.make_node("Sub", ["in_steps", "rounded"], ["left"], name="left"),
        helper.make_node("Mul", ["left", "enlarged"], ["finer"], name="finer"),
        helper.make_node("Concat", ["coarse", "finer"], ["both"], name="both", axis=1),
    ]
    first.input[0] = "both"
    for place, node in enumerate(made):
        model.graph.node.insert(place, node)
    scale = [{"scale": np.array(1.0, np.float32), "zero_point": np.array(128, np.uint8)}]
    return dict.fromkeys(("coarse", "finer", "both"), scale)


def _last_layers(model: Any) -> list[str]:
    """Name the layers whose answer reaches an output without passing another layer."""
    makers = {name: node for node in model.graph.node for name in node.output}
    ends, ask = [], [output.name for output in model.graph.output]
    while ask:
        node = makers.get(ask.pop())
        if node is None:
            continue
        if node.op_type in ("Conv", "Gemm"):
            ends.append(node.name)
        else:
            ask += list(node.input)
    return ends


def quicken(quick: Quick, seen: Sequence[FloatImage]) -> Path:
    """Write a net in whole numbers beside it.

    Parameters
    ----------
    quick : which, and how
    seen : what it is shown, each (n, channels, rows, cols) float32, alike: gives the ranges of its layers

    Returns
    -------
    The file written
    """
    import onnx
    from onnxruntime.quantization import CalibrationMethod, QuantFormat, QuantType, quantize_static
    from onnxruntime.quantization.calibrate import CalibrationDataReader

    class Reader(CalibrationDataReader):  # type: ignore[misc]
        def __init__(self, name: str) -> None:
            self.rest = iter([{name: planes} for planes in seen])

        def get_next(self) -> dict[str, FloatImage] | None:
            return next(self.rest, None)

    model = onnx.load(str(quick.path))
    _in_full(model)
    for number, node in enumerate(model.graph.node):
        node.name = node.name or f"node{number}"
    apart = [*_last_layers(model), "narrow"]
    _widen(model)
    scales: dict[str, list[dict[str, Any]]] = {}
    if quick.two_bytes:
        scales = _in_two_bytes(model)
        apart += ["in_steps", "coarse", "rounded", "left", "finer"]
    else:
        apart.append(_layers(model)[0].name)
    written = quick.path.with_suffix(".int8.onnx")
    # the tool tells every number it looks up
    with redirect_stdout(io.StringIO()), tempfile.TemporaryDirectory() as folder:
        whole = Path(folder) / "whole.onnx"
        onnx.save(model, str(whole))
        quantize_static(
            whole,
            Path(folder) / "quick.onnx",
            Reader(model.graph.input[0].name),
            quant_format=QuantFormat.QDQ,
            per_channel=True,
            reduce_range=True,
            activation_type=QuantType.QUInt8,
            weight_type=QuantType.QInt8,
            nodes_to_exclude=apart,
            calibrate_method=CalibrationMethod.Percentile,
            extra_options={"TensorQuantOverrides": scales, "CalibPercentile": _PERCENTILE},
        )
        made = onnx.load(str(Path(folder) / "quick.onnx"))
    onnx.helper.set_model_props(made, {MADE_FROM: hashlib.sha256(quick.path.read_bytes()).hexdigest()})
    onnx.save(made, str(written))
    return written


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--renders", nargs="+", type=Path, required=True, help="folders of training renders")
    parser.add_argument("--only", nargs="+", choices=tuple(QUICKENED), default=tuple(QUICKENED))
    parser.add_argument("--photos", type=int, default=36, help="how many of them are looked at")
    args = parser.parse_args(arguments)
    logging.disable(logging.WARNING)  # the tool's advice on optimising first does not hold for these nets
    files = truth_files(args.renders)
    seen = shown(files[:: max(1, len(files) // args.photos)][: args.photos], Settings())
    for name in args.only:
        written = quicken(QUICKENED[name], seen[name])
        print(f"{written.name}: {written.stat().st_size // 1000} kB, ranges by {len(seen[name])} parts")  # noqa: T201


if __name__ == "__main__":
    main()
