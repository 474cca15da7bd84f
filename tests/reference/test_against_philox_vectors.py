"""The generator under the draws against its published known answers.

Source: Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as easy as 1, 2, 3" (2011), and the known-answer file
`kat_vectors` of its authors' library, lines "philox4x64 10". Expected values: certified (published), exact.
"""

import hashlib

import numpy as np
import pytest
from scipy.special import ndtri

from trysquare.chance.kernels import _normal, streams
from trysquare.chance.sources import Draws

ONES = 2**64 - 1
VECTORS = [  # counter (4 words), key (2 words), output (4 words)
    ((0, 0, 0, 0), (0, 0), "16554d9eca36314c db20fe9d672d0fdc d7e772cee186176b 7e68b68aec7ba23b"),
    ((ONES,) * 4, (ONES,) * 2, "87b092c3013fe90b 438c3c67be8d0224 9cc7d7c69cd777b6 a09caebf594f0ba0"),
    (
        (0x243F6A8885A308D3, 0x13198A2E03707344, 0xA4093822299F31D0, 0x082EFA98EC4E6C89),
        (0x452821E638D01377, 0xBE5466CF34E90C6C),
        "a528f45403e61d95 38c72dbd566e9788 a5a1610e72fd18b5 57bd43b5e52b7fe6",
    ),
]
WORD = 2**64 - 1


def philox(counter: tuple[int, ...], key: tuple[int, ...], rounds: int = 10) -> list[int]:
    """Philox 4x64 written from the paper, in plain integers."""
    c0, c1, c2, c3 = counter
    k0, k1 = key
    for _ in range(rounds):
        p, q = 0xD2E7470EE14C6C93 * c0, 0xCA5A826395121157 * c2
        c0, c1, c2, c3 = (q >> 64) ^ c1 ^ k0, q & WORD, (p >> 64) ^ c3 ^ k1, p & WORD
        k0, k1 = (k0 + 0x9E3779B97F4A7C15) & WORD, (k1 + 0xBB67AE8584CAA73B) & WORD
    return [c0, c1, c2, c3]


def minus_one(counter: tuple[int, ...]) -> list[int]:
    whole = (sum(word << (64 * i) for i, word in enumerate(counter)) - 1) % 2**256
    return [(whole >> (64 * i)) & WORD for i in range(4)]


@pytest.mark.parametrize(("counter", "key", "expected"), VECTORS)
def test_the_paper_s_cipher_and_the_library_give_the_published_words(
    counter: tuple[int, ...], key: tuple[int, ...], expected: str
) -> None:
    words = [int(word, 16) for word in expected.split()]
    generator = np.random.Philox(
        key=np.array(key, dtype=np.uint64), counter=np.array(minus_one(counter), dtype=np.uint64)
    )  # NumPy steps the counter before each block
    assert generator.random_raw(4).tolist() == words
    assert philox(counter, key) == words
    assert philox(counter, key, rounds=9) != words  # the twin


def test_our_stream_is_philox_keyed_by_the_label() -> None:
    """Independent computation: the paper's cipher in plain integers, counters 1, 2, .. in blocks of four draws."""
    digest = hashlib.blake2b(b"7\x1f5\x1fnoise\x1faim 3", digest_size=16).digest()
    key = (int.from_bytes(digest[:8], "little"), int.from_bytes(digest[8:], "little"))
    words = [word for block in range(1, 6) for word in philox((block, 0, 0, 0), key)]
    expected = [((word >> 12) + 0.5) / 2**52 for word in words]
    assert Draws(7, 0, 20).uniform("noise", "aim 3").tolist() == expected
    assert Draws(7, 5, 18).uniform("noise", "aim 3").tolist() == expected[5:18]


def test_many_streams_are_those_of_the_library() -> None:
    """Independent computation: NumPy's generator, key by key, from draws within, before and after a block."""
    keys = np.random.default_rng(1).integers(0, WORD, size=(37, 2), dtype=np.uint64, endpoint=True)
    for start, stop in ((0, 9), (3, 4), (6, 31), (4 * 10**11 + 2, 4 * 10**11 + 13)):
        found = np.empty((stop - start, len(keys)))
        streams(keys, start, False, found)
        for key, column in zip(keys, found.T, strict=True):
            generator = np.random.Philox(key=key)
            generator.advance(start // 4)
            words = generator.random_raw(stop - 4 * (start // 4))[start % 4 :]
            assert column.tolist() == [((int(word) >> 12) + 0.5) / 2**52 for word in words]


def test_normal_variates_are_quantiles_of_the_uniform_ones() -> None:
    """Independent computation: scipy.special.ndtri; central part, tails, and the last word at either end."""
    keys = np.random.default_rng(2).integers(0, WORD, size=(50, 2), dtype=np.uint64, endpoint=True)
    p, z = np.empty((2000, 50)), np.empty((2000, 50))
    streams(keys, 0, False, p)
    streams(keys, 0, True, z)
    np.testing.assert_allclose(z, ndtri(p), rtol=4e-15, atol=0)
    for p in (2.0**-53, 1e-13, 1.38e-11, 1.39e-11, 1e-4, 0.0749, 0.0751, 0.4, 0.9999, 1.0 - 2.0**-53):
        assert _normal(p) == pytest.approx(ndtri(p), rel=4e-15)
    assert _normal(0.5) == 0.0
