"""Starts Mitsuba: its LLVM mode where a libLLVM is found, else its slower scalar mode."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path
from types import ModuleType

__all__ = ["start"]

_LIBRARIES = (
    "*-linux-gnu/libLLVM.so.19*",
    "*-linux-gnu/libLLVM-1[5-9].so*",
    "llvm-*/lib/libLLVM*.so*",
)


@cache
def start() -> ModuleType:
    """Import Mitsuba and choose its mode once; `DRJIT_LIBLLVM_PATH` wins over the search for libLLVM."""
    if "DRJIT_LIBLLVM_PATH" not in os.environ:
        for pattern in _LIBRARIES:
            found = sorted(Path("/usr/lib").glob(pattern))
            if found:
                os.environ["DRJIT_LIBLLVM_PATH"] = str(found[0])
                break
    import mitsuba as mi

    mi.set_variant("llvm_ad_rgb" if "DRJIT_LIBLLVM_PATH" in os.environ else "scalar_rgb")
    mi.set_log_level(mi.LogLevel.Error)
    return mi
