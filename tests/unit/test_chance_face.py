"""The public face of chance: complete, and light to import."""

import subprocess
import sys

import pytest

import trysquare.chance as chance


def test_every_public_name_is_there() -> None:
    assert sorted(chance.__all__) == sorted(chance._HOME)
    for name in chance.__all__:
        assert getattr(chance, name) is not None


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="nothing_such"):
        _ = chance.nothing_such


def test_importing_it_loads_neither_scipy_nor_numba() -> None:
    code = "import sys, trysquare.chance; print([m for m in ('scipy', 'numba', 'numpy') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
