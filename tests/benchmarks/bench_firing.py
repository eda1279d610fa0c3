"""Speed of heat work: a log of 20 000 rows to its verdict in under 50 ms of the processor (one thread).

Run with ``python -m pytest -s -m benchmark tests/benchmarks/bench_firing.py``.
"""

from time import process_time

import numpy as np
import pytest

from catalog.firing.course_facts import course_facts
from catalog.firing.heatwork import end_point_cone
from catalog.firing.log_csv import import_log_csv
from catalog.firing.path import path_of_log

TURNS_MIN = [0.0, 540.0, 662.0, 672.0, 1500.0]
TURNS_C = [20.0, 1100.0, 1222.0, 1222.0, 100.0]


def readings():
    rng = np.random.default_rng(3)
    minutes = np.linspace(0.0, 1500.0, 20_000)
    return minutes, np.interp(minutes, TURNS_MIN, TURNS_C) + 0.5 * rng.standard_normal(minutes.size)


def best_ms(action, times=7):
    spent = []
    for _ in range(times):
        start = process_time()
        action()
        spent.append(1000.0 * (process_time() - start))
    return min(spent)


@pytest.mark.benchmark
def test_a_log_of_20_000_rows_to_its_verdict():
    minutes, temperatures = readings()
    end_point_cone(path_of_log(minutes[:10], temperatures[:10] + 1000.0))  # tables read once
    spent = best_ms(lambda: end_point_cone(path_of_log(minutes, temperatures)))
    print(f"20 000 readings to the verdict: {spent:.1f} ms")
    assert spent < 50.0
    facts = best_ms(lambda: course_facts(path_of_log(minutes, temperatures)))
    print(f"20 000 readings to the facts: {facts:.1f} ms")


@pytest.mark.benchmark
@pytest.mark.parametrize("clock", ["elapsed", "dated"])
def test_a_file_of_20_000_rows_to_its_verdict(tmp_path, clock):
    minutes, temperatures = readings()
    if clock == "elapsed":
        rows = [f"{m:.3f},{t:.1f}" for m, t in zip(minutes, temperatures, strict=True)]
    else:
        moments = np.datetime64("2026-03-01T08:00:00") + (minutes * 60).astype("timedelta64[s]")
        rows = [f"{str(w).replace('T', ' ')},{t:.1f}" for w, t in zip(moments, temperatures, strict=True)]
    file = tmp_path / "log.csv"
    file.write_text(f"{'time_min' if clock == 'elapsed' else 'stamp'},temp_c\n" + "\n".join(rows))
    spent = best_ms(lambda: end_point_cone(import_log_csv(file).path))
    print(f"file of 20 000 rows, {clock} time, to the verdict: {spent:.1f} ms")
    assert spent < 50.0
