"""Block-tridiagonal elimination of 2 by 2 blocks. Compiled."""

from __future__ import annotations

import numpy as np

from warmside.physics.moisture._compile import FloatArray, compiled


@compiled
def less(D: FloatArray, A: FloatArray, Q: FloatArray) -> None:
    """D = D - A Q of 2 by 2 blocks."""
    D[0] -= A[0] * Q[0] + A[1] * Q[2]
    D[1] -= A[0] * Q[1] + A[1] * Q[3]
    D[2] -= A[2] * Q[0] + A[3] * Q[2]
    D[3] -= A[2] * Q[1] + A[3] * Q[3]


@compiled
def times(A: FloatArray, B: FloatArray, C: FloatArray) -> None:
    """C = A B of 2 by 2 blocks; C may be A or B."""
    c0, c1 = A[0] * B[0] + A[1] * B[2], A[0] * B[1] + A[1] * B[3]
    c2, c3 = A[2] * B[0] + A[3] * B[2], A[2] * B[1] + A[3] * B[3]
    C[0], C[1], C[2], C[3] = c0, c1, c2, c3


@compiled
def invert(D: FloatArray) -> None:
    """D = D^-1 of a 2 by 2 block."""
    scale = 1.0 / (D[0] * D[3] - D[1] * D[2])
    d0, d1, d2, d3 = D[0], D[1], D[2], D[3]
    D[0], D[1], D[2], D[3] = d3 * scale, -d1 * scale, -d2 * scale, d0 * scale


@compiled
def factorise(J: FloatArray) -> None:
    """Block elimination in place, from both ends to the middle row: two chains at once.

    ``J[1]`` becomes the inverses of the pivots. Of the two other blocks of a row, the one that
    points to its end becomes the multiplier, the one that points to the middle inverse times
    itself. Without pivoting: the blocks are dominated by storage and by what leaves the cell.
    """
    n = J.shape[1]
    m = n // 2
    for i in range(m):
        if i > 0:
            less(J[1, i], J[0, i], J[2, i - 1])
            times(J[0, i], J[1, i - 1], J[0, i])
        invert(J[1, i])
        times(J[1, i], J[2, i], J[2, i])
    for i in range(n - 1, m, -1):
        if i < n - 1:
            less(J[1, i], J[2, i], J[0, i + 1])
            times(J[2, i], J[1, i + 1], J[2, i])
        invert(J[1, i])
        times(J[1, i], J[0, i], J[0, i])
    if m > 0:
        less(J[1, m], J[0, m], J[2, m - 1])
        times(J[0, m], J[1, m - 1], J[0, m])
    if m < n - 1:
        less(J[1, m], J[2, m], J[0, m + 1])
        times(J[2, m], J[1, m + 1], J[2, m])
    invert(J[1, m])


@compiled
def substitute(J: FloatArray, r: FloatArray) -> None:
    """Solve with the factors of ``factorise``; ``r`` (2, n) becomes the solution.

    The two chains run side by side, so that one works while the other waits. Unsigned indices
    spare the check for negative ones.
    """
    n = J.shape[1]
    m = n // 2
    both = n - 1 - m  # rows beyond the middle
    a0, a1, b0, b1 = r[0, 0], r[1, 0], r[0, n - 1], r[1, n - 1]
    for k in range(1, both):
        j = np.uint64(n - 1 - k)
        y0 = r[0, k] - J[0, k, 0] * a0 - J[0, k, 1] * a1
        a1 = r[1, k] - J[0, k, 2] * a0 - J[0, k, 3] * a1
        a0 = y0
        r[0, k], r[1, k] = a0, a1
        z0 = r[0, j] - J[2, j, 0] * b0 - J[2, j, 1] * b1
        b1 = r[1, j] - J[2, j, 2] * b0 - J[2, j, 3] * b1
        b0 = z0
        r[0, j], r[1, j] = b0, b1
    for k in range(max(both, 1), m):
        y0 = r[0, k] - J[0, k, 0] * a0 - J[0, k, 1] * a1
        a1 = r[1, k] - J[0, k, 2] * a0 - J[0, k, 3] * a1
        a0 = y0
        r[0, k], r[1, k] = a0, a1
    y0 = r[0, m] - J[0, m, 0] * a0 - J[0, m, 1] * a1 - J[2, m, 0] * b0 - J[2, m, 1] * b1
    y1 = r[1, m] - J[0, m, 2] * a0 - J[0, m, 3] * a1 - J[2, m, 2] * b0 - J[2, m, 3] * b1
    a0, a1 = J[1, m, 0] * y0 + J[1, m, 1] * y1, J[1, m, 2] * y0 + J[1, m, 3] * y1
    b0, b1 = a0, a1
    r[0, m], r[1, m] = a0, a1
    for k in range(1, both + 1):
        i, j = np.uint64(m - k), np.uint64(m + k)
        y0 = J[1, i, 0] * r[0, i] + J[1, i, 1] * r[1, i] - J[2, i, 0] * a0 - J[2, i, 1] * a1
        a1 = J[1, i, 2] * r[0, i] + J[1, i, 3] * r[1, i] - J[2, i, 2] * a0 - J[2, i, 3] * a1
        a0 = y0
        r[0, i], r[1, i] = a0, a1
        z0 = J[1, j, 0] * r[0, j] + J[1, j, 1] * r[1, j] - J[0, j, 0] * b0 - J[0, j, 1] * b1
        b1 = J[1, j, 2] * r[0, j] + J[1, j, 3] * r[1, j] - J[0, j, 2] * b0 - J[0, j, 3] * b1
        b0 = z0
        r[0, j], r[1, j] = b0, b1
    for k in range(both + 1, m + 1):
        i = np.uint64(m - k)
        y0 = J[1, i, 0] * r[0, i] + J[1, i, 1] * r[1, i] - J[2, i, 0] * a0 - J[2, i, 1] * a1
        a1 = J[1, i, 2] * r[0, i] + J[1, i, 3] * r[1, i] - J[2, i, 2] * a0 - J[2, i, 3] * a1
        a0 = y0
        r[0, i], r[1, i] = a0, a1
