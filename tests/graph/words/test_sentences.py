from __future__ import annotations

import numpy as np
import pytest

from api.sentence_model import sentence_model
from graph.words.sentences import Encoder, Single


def tiny(layers: int = 2, width: int = 8, wide: int = 16) -> Encoder:
    dice = np.random.default_rng(4)
    weights: dict[str, Single] = {}

    def put(name: str, *shape: int) -> None:
        weights[name] = dice.normal(size=shape).astype(np.float32)

    put("embeddings.word_embeddings.weight", 9, width)
    put("embeddings.position_embeddings.weight", 70, width)
    put("embeddings.token_type_embeddings.weight", 2, width)
    names = ["embeddings.LayerNorm"]
    for layer in range(layers):
        at = f"encoder.layer.{layer}."
        for dense, out, into in (
            ("attention.self.query", width, width), ("attention.self.key", width, width),
            ("attention.self.value", width, width), ("attention.output.dense", width, width),
            ("intermediate.dense", wide, width), ("output.dense", width, wide),
        ):
            put(f"{at}{dense}.weight", out, into)
            put(f"{at}{dense}.bias", out)
        names += [at + "attention.output.LayerNorm", at + "output.LayerNorm"]
    for name in names:
        put(name + ".weight", width)
        put(name + ".bias", width)
    pieces = ["[PAD]", "[UNK]", "[CLS]", "[SEP]", "ice", "cold", "##er", "!", "leak"]
    return Encoder(weights, {piece: i for i, piece in enumerate(pieces)}, 2, 1e-12)


def test_words_are_cut_into_their_longest_known_pieces() -> None:
    encoder = tiny()
    assert encoder.pieces("Colder ICE!") == [2, 5, 6, 4, 7, 3]
    assert encoder.pieces("çold ïce zzz") == [2, 5, 4, 1, 3]
    assert len(encoder.pieces("ice " * 500)) == 64


def test_vectors_are_of_length_one_and_the_same_alone_or_together() -> None:
    encoder = tiny()
    texts = ["ice", "cold leak", "ice cold!", "leak cold", ""]
    together = encoder.vectors(texts)
    assert np.linalg.norm(together, axis=1) == pytest.approx(1.0, abs=1e-5)
    alone = np.array([encoder.vectors([text])[0] for text in texts])
    assert together == pytest.approx(alone, abs=1e-5)


def test_order_matters_to_the_encoder() -> None:
    encoder = tiny()
    first, second = encoder.vectors(["ice cold", "cold ice"])
    assert np.abs(first - second).max() > 1e-3


@pytest.mark.skipif(sentence_model() is None, reason="the sentence model's package is not installed")
def test_what_means_the_same_is_nearer_than_what_does_not() -> None:
    encoder = sentence_model()
    assert encoder is not None
    puddle, floor, bill = encoder.vectors(["someone slipped on a puddle", "water on the floor", "the invoice is wrong"])
    assert puddle @ floor > puddle @ bill + 0.2
