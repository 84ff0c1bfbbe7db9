"""Sentences as vectors: a small transformer encoder in plain numpy.

The encoder is that of BERT (J. Devlin and others, "BERT: pre-training of deep bidirectional transformers for language
understanding", 2019) with mean pooling over the words (N. Reimers and I. Gurevych, "Sentence-BERT", 2019). The weights
come from outside: this module reads no file.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

Single = np.ndarray[tuple[int, ...], np.dtype[np.float32]]
Whole = np.ndarray[tuple[int, ...], np.dtype[np.int64]]
TOGETHER = 32
"""Texts that go through the encoder at once."""
MOST_PIECES = 64
"""Pieces of words that are read of a sentence."""
_SPLIT = re.compile(r"\w+|[^\w\s]")


@dataclass(frozen=True, slots=True, eq=False)
class Encoder:
    """Weights by their usual names, the vocabulary (piece: number), how many heads attend, and the layers' epsilon."""

    weights: Mapping[str, Single]
    vocabulary: Mapping[str, int]
    heads: int
    epsilon: float

    def vectors(self, texts: Sequence[str]) -> Single:
        """Unit vectors, shape (texts, width); texts of one length go through together."""
        numbers = [self.pieces(text) for text in texts]
        by_length: dict[int, list[int]] = {}
        for i, pieces in enumerate(numbers):
            by_length.setdefault(len(pieces), []).append(i)
        width = self.weights["embeddings.word_embeddings.weight"].shape[1]
        vectors = np.zeros((len(texts), width), dtype=np.float32)
        for places in by_length.values():
            for first in range(0, len(places), TOGETHER):
                some = places[first: first + TOGETHER]
                vectors[some] = self._vectors(np.array([numbers[i] for i in some]))
        return vectors

    def pieces(self, text: str) -> list[int]:
        """The numbers of a text's pieces, the longest known ones first (WordPiece), in lower case, without accents."""
        bare = "".join(c for c in unicodedata.normalize("NFD", text.lower()) if unicodedata.category(c) != "Mn")
        found = []
        for word in _SPLIT.findall(bare):
            found += self._word(word)
        return [self.vocabulary["[CLS]"], *found[: MOST_PIECES - 2], self.vocabulary["[SEP]"]]

    def _word(self, word: str) -> list[int]:
        pieces, start = [], 0
        while start < len(word):
            mark = "##" if start else ""
            end = next((e for e in range(len(word), start, -1) if mark + word[start:e] in self.vocabulary), 0)
            if not end:
                return [self.vocabulary["[UNK]"]]
            pieces.append(self.vocabulary[mark + word[start:end]])
            start = end
        return pieces

    def _vectors(self, numbers: Whole) -> Single:
        w = self.weights
        state = self._normal(
            w["embeddings.word_embeddings.weight"][numbers]
            + w["embeddings.position_embeddings.weight"][: numbers.shape[1]]
            + w["embeddings.token_type_embeddings.weight"][0],
            "embeddings.LayerNorm",
        )
        layer = 0
        while f"encoder.layer.{layer}.output.dense.weight" in w:
            state = self._layer(state, f"encoder.layer.{layer}.")
            layer += 1
        mean = state.mean(axis=1)
        return np.asarray(mean / np.linalg.norm(mean, axis=1, keepdims=True), dtype=np.float32)

    def _layer(self, state: Single, at: str) -> Single:
        texts, count, width = state.shape
        size = width // self.heads

        def heads(name: str) -> Single:
            wide = self._dense(state, f"{at}attention.self.{name}")
            return np.asarray(wide.reshape(texts, count, self.heads, size).transpose(0, 2, 1, 3))

        query, key, value = heads("query"), heads("key"), heads("value")
        scores = query @ key.transpose(0, 1, 3, 2) / np.float32(np.sqrt(size))
        scores = np.exp(scores - scores.max(axis=-1, keepdims=True))
        scores /= scores.sum(axis=-1, keepdims=True)
        seen = (scores @ value).transpose(0, 2, 1, 3).reshape(texts, count, width)
        state = self._normal(state + self._dense(seen, f"{at}attention.output.dense"),
        f"{at}attention.output.LayerNorm")
        from scipy.special import erf  # few services load a sentence model

        wide = self._dense(state, f"{at}intermediate.dense")
        wide = wide * np.float32(0.5) * (1 + erf(wide / np.float32(np.sqrt(2))))
        return self._normal(state + self._dense(wide, f"{at}output.dense"), f"{at}output.LayerNorm")

    def _dense(self, state: Single, name: str) -> Single:
        flat = state.reshape(-1, state.shape[-1]) @ self.weights[f"{name}.weight"].T + self.weights[f"{name}.bias"]
        return np.asarray(flat.reshape(*state.shape[:-1], -1))

    def _normal(self, state: Single, name: str) -> Single:
        centred = state - state.mean(axis=-1, keepdims=True)
        spread = np.sqrt((centred**2).mean(axis=-1, keepdims=True) + np.float32(self.epsilon))
        return np.asarray(centred / spread * self.weights[f"{name}.weight"] + self.weights[f"{name}.bias"])
