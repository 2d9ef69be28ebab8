"""Fills closed depressions to their rim, and says in which order the ground drains."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled

_SIGN = np.uint32(0x8000_0000)
_DONE = np.uint32(0xFFFF_FFFF)


@dataclass(frozen=True)
class Filled:
    """A surface without closed depressions and the order in which water leaves it.

    All arrays have a rim of one cell without ground around the heights, so that every cell has
    eight neighbours. ``level_m`` is float32, shape (n_rows + 2, n_columns + 2), NaN without ground.
    ``order`` holds the flat indices of all ground, lowest first; of equal level those nearer to the
    way out first. ``steps`` is how many cells of its own level lie between a cell and lower ground.
    """

    level_m: NDArray[np.float32]
    order: NDArray[np.int32]
    steps: NDArray[np.int32]

    @property
    def inner_m(self) -> NDArray[np.float32]:
        """Filled heights [m] in the shape of the heights they come from."""
        return self.level_m[1:-1, 1:-1]


def filled(heights_m: NDArray[np.float32]) -> Filled:
    """Raise every closed depression to the lowest rim over which it spills.

    Parameters
    ----------
    heights_m : shape (n_rows, n_columns); NaN is no ground. Water leaves over the edge of the array
        and into every hole. A cell's water can go to any of its eight neighbours.

    References
    ----------
    Barnes, Lehman, Mulla (2014), Priority-flood, Computers & Geosciences 62, 117-127, algorithm 2.
    Here all cells of one level enter the queue together, so that flats are crossed by the
    shortest way out.
    """
    rows, columns = heights_m.shape
    padded = np.full((rows + 2, columns + 2), np.nan, np.float32)
    padded[1:-1, 1:-1] = heights_m
    padded += np.float32(0)  # makes -0 equal to 0 in bits
    bits = padded.view(np.uint32)
    keys = np.where(bits & _SIGN, ~bits, bits | _SIGN)
    keys[np.isnan(padded)] = _DONE
    n_ground = int((keys != _DONE).sum())
    order = np.empty(n_ground, np.int32)
    steps = np.zeros(keys.shape, np.int32)
    level = np.full(keys.shape, _DONE, np.uint32)
    _flood(keys.ravel(), level.ravel(), order, steps.ravel(), columns + 2)
    bits = np.where(level & _SIGN, level ^ _SIGN, ~level)
    bits[level == _DONE] = np.float32(np.nan).view(np.uint32)
    return Filled(bits.view(np.float32), order, steps)


@compiled
def _flood(
    keys: NDArray[np.uint32],
    level: NDArray[np.uint32],
    order: NDArray[np.int32],
    steps: NDArray[np.int32],
    width: int,
) -> None:
    """Grow inward from the edge, lowest first; ``order`` is also the queue.

    ``keys`` are heights as whole numbers in the same order; they become _DONE as cells are reached.
    The heap holds key and index in one number.
    """
    none = np.uint32(0xFFFF_FFFF)
    around = np.array([-width, 1, width, -1, -width - 1, -width + 1, width + 1, width - 1])
    heap = np.empty(max(1024, keys.size // 16), np.uint64)
    size = 0
    for cell in range(width, keys.size - width):
        if keys[cell] == none:
            continue
        at_edge = False
        for k in range(8):
            if keys[cell + around[k]] == none:
                at_edge = True
        if at_edge:
            if size == heap.size:
                heap = _larger(heap)
            size = _push(heap, size, (np.uint64(keys[cell]) << np.uint64(32)) | np.uint64(cell))
            level[cell] = keys[cell]
    # Only now: a cell marked done while its neighbours are still looked at would be an edge itself.
    for i in range(size):
        keys[heap[i] & np.uint64(0xFFFF_FFFF)] = none
    head = 0
    tail = 0
    while size > 0:
        here = np.uint32(heap[0] >> np.uint64(32))
        while size > 0 and np.uint32(heap[0] >> np.uint64(32)) == here:
            order[tail] = np.int32(heap[0] & np.uint64(0xFFFF_FFFF))
            tail += 1
            size = _pop(heap, size)
        while head < tail:
            cell = order[head]
            head += 1
            for k in range(8):
                other = cell + around[k]
                key = keys[other]
                if key == none:
                    continue
                keys[other] = none
                if key <= here:
                    level[other] = here
                    steps[other] = steps[cell] + 1
                    order[tail] = other
                    tail += 1
                else:
                    level[other] = key
                    if size == heap.size:
                        heap = _larger(heap)
                    size = _push(heap, size, (np.uint64(key) << np.uint64(32)) | np.uint64(other))


@compiled
def _push(heap: NDArray[np.uint64], size: int, entry: np.uint64) -> int:
    place = size
    while place > 0:
        parent = (place - 1) >> 1
        if heap[parent] <= entry:
            break
        heap[place] = heap[parent]
        place = parent
    heap[place] = entry
    return size + 1


@compiled
def _pop(heap: NDArray[np.uint64], size: int) -> int:
    size -= 1
    entry = heap[size]
    place = 0
    child = 1
    while child < size:
        if child + 1 < size and heap[child + 1] < heap[child]:
            child += 1
        if entry <= heap[child]:
            break
        heap[place] = heap[child]
        place = child
        child = 2 * place + 1
    heap[place] = entry
    return size


@compiled
def _larger(heap: NDArray[np.uint64]) -> NDArray[np.uint64]:
    larger = np.empty(2 * heap.size, np.uint64)
    for i in range(heap.size):  # not as a slice: that takes longer to compile than all the rest
        larger[i] = heap[i]
    return larger
