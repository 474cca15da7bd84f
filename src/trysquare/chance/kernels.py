"""Compiled kernels: streams of random numbers; distance of a vector from a sphere, in the metric of its errors."""

import numpy as np

from ..core.compiled import kernel, upper_word

_M0, _M1 = np.uint64(0xD2E7470EE14C6C93), np.uint64(0xCA5A826395121157)
_W0, _W1 = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B)
_TWELVE, _ONE = np.uint64(12), np.uint64(1)
#: Streams filled before they are written side by side.
_TILE = 16


@kernel(inline="always")
def _uniform(word):
    """A word as a number in (0, 1): 52 bits, so that the half is exact and 1 is never met."""
    return (np.float64(word >> _TWELVE) + 0.5) * 2.0**-52


@kernel(inline="always")
def _stream(key, start, out):
    """out (n,): uniform variates `start` on of a stream: Philox 4x64 with ten rounds (Salmon et al., 2011).

    Draws are numbered along blocks of four words; block b has the counter b + 1.
    """
    for block in range(start // 4, (start + out.shape[0] + 3) // 4):
        c0, c1, c2, c3 = np.uint64(block) + _ONE, np.uint64(0), np.uint64(0), np.uint64(0)
        k0, k1 = key[0], key[1]
        for _ in range(10):
            high, other = upper_word(_M0, c0), upper_word(_M1, c2)
            c0, c1, c2, c3 = other ^ c1 ^ k0, _M1 * c2, high ^ c3 ^ k1, _M0 * c0
            k0, k1 = k0 + _W0, k1 + _W1
        d = 4 * block - start
        if d >= 0 and d + 3 < out.shape[0]:
            out[d], out[d + 1], out[d + 2], out[d + 3] = _uniform(c0), _uniform(c1), _uniform(c2), _uniform(c3)
        else:
            words = (c0, c1, c2, c3)
            for i in range(4):
                if 0 <= d + i < out.shape[0]:
                    out[d + i] = _uniform(words[i])


@kernel(inline="always")
def _normal(p):
    """Normal quantile of p (M. J. Wichura, Algorithm AS 241, Applied Statistics 37 (1988) 477: PPND16)."""
    q = p - 0.5
    if abs(q) <= 0.425:
        r = 0.180625 - q * q
        top = (((2509.0809287301226727 * r + 33430.575583588128105) * r + 67265.770927008700853) * r
               + 45921.953931549871457) * r + 13731.693765509461125  # fmt: skip
        top = ((top * r + 1971.5909503065514427) * r + 133.14166789178437745) * r + 3.387132872796366608
        under = (((5226.495278852854561 * r + 28729.085735721942674) * r + 39307.89580009271061) * r
                 + 21213.794301586595867) * r + 5394.1960214247511077  # fmt: skip
        return q * top / (((under * r + 687.1870074920579083) * r + 42.313330701600911252) * r + 1.0)
    r = np.sqrt(-np.log(min(p, 1.0 - p)))
    if r <= 5.0:
        r -= 1.6
        top = (((7.7454501427834140764e-4 * r + 0.0227238449892691845833) * r + 0.24178072517745061177) * r
               + 1.27045825245236838258) * r + 3.64784832476320460504  # fmt: skip
        top = ((top * r + 5.7694972214606914055) * r + 4.6303378461565452959) * r + 1.42343711074968357734
        under = (((1.05075007164441684324e-9 * r + 5.475938084995344946e-4) * r + 0.0151986665636164571966) * r
                 + 0.14810397642748007459) * r + 0.68976733498510000455  # fmt: skip
        found = top / (((under * r + 1.6763848301838038494) * r + 2.05319162663775882187) * r + 1.0)
    else:
        r -= 5.0
        top = (((2.01033439929228813265e-7 * r + 2.71155556874348757815e-5) * r + 0.0012426609473880784386) * r
               + 0.026532189526576123093) * r + 0.29656057182850489123  # fmt: skip
        top = ((top * r + 1.7848265399172913358) * r + 5.4637849111641143699) * r + 6.6579046435011037772
        under = (((2.04426310338993978564e-15 * r + 1.4215117583164458887e-7) * r + 1.8463183175100546818e-5) * r
                 + 7.868691311456132591e-4) * r + 0.0148753612908506148525  # fmt: skip
        found = top / (((under * r + 0.13692988092273580531) * r + 0.59983220655588793769) * r + 1.0)
    return found if q > 0 else -found


@kernel()
def streams(keys, start, normal, out):
    """out (n, k): variates `start` on of the streams of keys (k, 2), side by side; uniform in (0, 1) or normal."""
    n, k = out.shape
    tile = np.empty((_TILE, n))
    for first in range(0, k, _TILE):
        width = min(_TILE, k - first)
        for j in range(width):
            _stream(keys[first + j], start, tile[j])
            if normal:
                for d in range(n):
                    tile[j, d] = _normal(tile[j, d])
        for d in range(n):
            for j in range(width):
                out[d, first + j] = tile[j, d]


@kernel(inline="always")
def _mu(d, ratios, x):
    """Multiplier of the nearest point v on |v| = x: v_i = d_i / (1 - ratios_i + mu ratios_i).

    1 / |v(mu)| is concave and rising, so Newton's method from a lower bound climbs to the root without overshooting
    (the secular equation of the trust-region step: More and Sorensen, SIAM J. Sci. Stat. Comput. 4 (1983) 553).
    """
    mu = 0.0
    for i in range(d.shape[0]):
        mu = max(mu, (abs(d[i]) / x - (1.0 - ratios[i])) / ratios[i])
    for _ in range(60):
        norm2 = 0.0
        slope = 0.0
        for i in range(d.shape[0]):
            w = 1.0 - ratios[i] + mu * ratios[i]
            v = d[i] / w
            norm2 += v * v
            slope += v * v * ratios[i] / w
        norm = np.sqrt(norm2)
        step = (norm / x - 1.0) * norm2 / slope
        mu += step
        if step <= 1e-12 * mu:
            break
    return mu


@kernel()
def signed_roots(d, variances, x, out):
    """out (n,): signed distance of d (n, k) from the sphere of radius x, in standard deviations; positive outside.

    `variances` (k,) fall, the first is the largest; d in their axes; x > 0 or 0.
    """
    k = variances.shape[0]
    ratios = variances / variances[0]
    row = np.empty(k)
    tiny = 1e-150 * np.sqrt(variances[0])
    for j in range(d.shape[0]):
        for i in range(k):
            row[i] = d[j, i]
        if abs(row[0]) < tiny:
            row[0] = tiny
        if x == 0.0:
            q = 0.0
            for i in range(k):
                q += row[i] * row[i] / variances[i]
            out[j] = np.sqrt(q)
        elif k == 1:
            out[j] = (abs(row[0]) - x) / np.sqrt(variances[0])
        else:
            mu = _mu(row, ratios, x)
            q = 0.0
            for i in range(k):
                v = row[i] / (1.0 - ratios[i] + mu * ratios[i])
                q += ratios[i] * v * v
            out[j] = (mu - 1.0) * np.sqrt(q / variances[0])


@kernel()
def nearest(d, variances, x, out):
    """out (k,): the point of the sphere of radius x > 0 nearest to d (k,) in the metric of the errors."""
    k = variances.shape[0]
    ratios = variances / variances[0]
    row = d.copy()
    tiny = 1e-150 * np.sqrt(variances[0])
    if abs(row[0]) < tiny:
        row[0] = tiny
    if k == 1:
        out[0] = x if row[0] > 0.0 else -x
        return
    mu = _mu(row, ratios, x)
    norm2 = 0.0
    for i in range(k):
        out[i] = row[i] / (1.0 - ratios[i] + mu * ratios[i])
        norm2 += out[i] * out[i]
    for i in range(k):
        out[i] *= x / np.sqrt(norm2)


@kernel(inline="always")
def _radius(d, variances, root):
    """Radius at which the signed root of d (1, k) is `root`: bisection, the root falls with the radius."""
    spread = abs(root) * np.sqrt(variances[0])
    size = 0.0
    for i in range(d.shape[1]):
        size += d[0, i] * d[0, i]
    size = np.sqrt(size)
    low = max(size - spread, 0.0) if root > 0.0 else size
    high = size if root > 0.0 else size + spread
    out = np.empty(1)
    for _ in range(48):
        x = 0.5 * (low + high)
        signed_roots(d, variances, x, out)
        if out[0] > root:
            low = x
        else:
            high = x
    return 0.5 * (low + high)


@kernel()
def profile(d, variances, errors, roots, radii, sampled):
    """Fill radii (g,), where d (k,) has the signed root roots[g], and there the roots (g, M) of errors (M, k).

    Readings are made at the point of the sphere nearest to d: the errors as they would act if that were the truth.
    A root that d does not reach at radius 0 is taken at radius 0.
    """
    row = d.copy().reshape(1, d.shape[0])
    at_zero = np.empty(1)
    signed_roots(row, variances, 0.0, at_zero)
    point = np.zeros(d.shape[0])
    for g in range(roots.shape[0]):
        radii[g] = 0.0 if roots[g] >= at_zero[0] else _radius(row, variances, roots[g])
        point[:] = 0.0
        if radii[g] > 0.0:
            nearest(d, variances, radii[g], point)
        signed_roots(errors + point, variances, radii[g], sampled[g])
