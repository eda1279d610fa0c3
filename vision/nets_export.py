"""Writes a fitted net as an ONNX file that ONNX Runtime runs. Needs the `train` extra."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["write_net"]

_SMALL = 256
"""Weights of so few numbers stay in full precision; they add up to nothing."""


def write_net(
    net: Any, like: Any, path: Path, names: tuple[str, tuple[str, ...]], free: dict[str, dict[int, str]]
) -> None:
    """Write a net, its weights in half precision, which halves the file and moves chances by under 0.01.

    Parameters
    ----------
    net : `torch.nn.Module`, in its evaluating state
    like : a tensor such as it takes
    path : of the file
    names : of the input, and of the outputs
    free : for each input or output, its axes that may have any size, with a name
    """
    import onnx
    import torch
    from onnx import TensorProto, helper, numpy_helper

    torch.onnx.export(
        net,
        (like,),
        str(path),
        input_names=[names[0]],
        output_names=list(names[1]),
        dynamic_axes=free,
        opset_version=13,
        dynamo=False,
    )
    model = onnx.load(str(path))
    graph = model.graph
    for tensor in list(graph.initializer):
        values = numpy_helper.to_array(tensor)
        if values.dtype != np.float32 or values.size < _SMALL:
            continue
        graph.initializer.remove(tensor)
        half = f"{tensor.name}_half"
        graph.initializer.append(numpy_helper.from_array(values.astype(np.float16), half))
        graph.node.insert(0, helper.make_node("Cast", [half], [tensor.name], to=TensorProto.FLOAT))
    onnx.save(model, str(path))
