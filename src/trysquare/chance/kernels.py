"""Compiled kernels: distance of a vector from a sphere, in the metric of its errors."""

import numpy as np

from ..core.compiled import kernel


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
