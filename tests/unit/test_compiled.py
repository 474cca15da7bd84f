"""The cache of compiled kernels: a kernel is compiled again when it, or a kernel it calls, has changed."""

import ast
from pathlib import Path

from trysquare.core import compiled
from trysquare.core.waiting import when_compiling

SOURCE = Path(compiled.__file__).parents[1]
KERNELS = sorted([*SOURCE.glob("*/kernels.py"), *SOURCE.glob("*/kernels/*.py")])


def test_kernels_import_kernels_only_from_beside_them():
    """What the key of the cache follows is all there is to follow."""
    for path in KERNELS:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom) and node.level:
                beside = node.level == 1 and node.module is not None and path.with_name(f"{node.module}.py").exists()
                assert beside or node.module == "core.compiled", f"{path}: {node.module}"


def test_the_key_follows_the_callee(tmp_path):
    caller, callee, other = (tmp_path / f"{name}.py" for name in ("caller", "callee", "other"))
    caller.write_text("from .callee import f\n")
    callee.write_text("x = 1\n")
    other.write_text("x = 1\n")
    keys = []
    for path in (None, other, callee):
        if path is not None:
            path.write_text("x = 2\n")
        compiled._version.cache_clear()
        keys.append(compiled._version(str(caller)))
    compiled._version.cache_clear()
    assert keys[0] == keys[1] != keys[2]


def test_who_waits_is_told_when_a_kernel_is_compiled_and_not_after():
    @compiled.kernel(cache=False)
    def one_more(x):
        return x + 1

    said = []
    with when_compiling(lambda: said.append("now")):
        one_more(1)
        assert said == ["now"]
        one_more(2)
    one_more(1.5)  # another kernel, nobody listens
    assert said == ["now"]
