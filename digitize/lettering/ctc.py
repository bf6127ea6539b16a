"""Reading a network's columns: best strings by prefix beam search, and the probability of a whole string.

Connectionist temporal classification (Graves, Fernandez, Gomez, Schmidhuber 2006): each column gives probabilities of
the characters and of a blank (class 0); a string's probability is the sum over all ways to lay it along the columns.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Real = NDArray[np.float32]
Classes = NDArray[np.int64]
NEGLIGIBLE = -12.0  # natural logarithm of a probability that cannot matter in one column


@njit(cache=True)
def add_logs(a: float, b: float) -> float:
    """Logarithm of the sum of two numbers given by their natural logarithms."""
    if a < b:
        a, b = b, a
    if b == -np.inf:
        return a
    return float(a + np.log1p(np.exp(b - a)))


@njit(cache=True)
def _best(nodes: Classes, blank: NDArray[np.float64], mark: NDArray[np.float64], beams: int) -> Classes:
    """The most probable prefixes, best first."""
    best, totals, count = np.empty(beams, np.int64), np.empty(beams), 0
    for node in nodes:
        total = add_logs(blank[node], mark[node])
        if count == beams and total <= totals[count - 1]:
            continue
        place = min(count, beams - 1)
        while place > 0 and totals[place - 1] < total:
            best[place], totals[place] = best[place - 1], totals[place - 1]
            place -= 1
        best[place], totals[place] = node, total
        count = min(count + 1, beams)
    return best[:count].copy()


@njit(cache=True)
def _search(scores: Real, beams: int, floor: float) -> tuple[Classes, Classes, NDArray[np.float64]]:
    columns, classes = scores.shape
    limit = 1 + beams * columns * 6
    # Of each prefix, written when it is made.
    parent, label, depth = np.empty(limit, np.int64), np.empty(limit, np.int64), np.empty(limit, np.int64)
    first, elder = np.empty(limit, np.int64), np.empty(limit, np.int64)  # its latest continuation, its elder sibling
    blank, mark, new_blank, new_mark = np.empty(limit), np.empty(limit), np.empty(limit), np.empty(limit)
    parent[0], label[0], depth[0], first[0], elder[0] = -1, 0, 0, -1, -1
    blank[0], mark[0], new_blank[0], new_mark[0] = 0.0, -np.inf, -np.inf, -np.inf
    continued = np.full(classes, -1, np.int64)  # by each class, of the prefix in hand
    alive = np.zeros(1, np.int64)
    made = 1
    for t in range(columns):
        likely = 1 + np.flatnonzero(scores[t, 1:] >= floor)
        touched = np.empty(len(alive) * (len(likely) + 1), np.int64)
        count = 0
        for node in alive:
            whole = add_logs(blank[node], mark[node])
            if new_blank[node] == -np.inf and new_mark[node] == -np.inf:
                touched[count] = node
                count += 1
            new_blank[node] = add_logs(new_blank[node], whole + scores[t, 0])
            if node > 0:
                new_mark[node] = add_logs(new_mark[node], mark[node] + scores[t, label[node]])
            before = first[node]
            step = before
            while step >= 0:
                continued[label[step]] = step
                step = elder[step]
            for c in likely:
                start = blank[node] if (node > 0 and c == label[node]) else whole
                if start == -np.inf:
                    continue
                step = continued[c]
                if step < 0:
                    if made >= limit:
                        continue
                    step = made
                    made += 1
                    elder[step], first[node] = first[node], step
                    parent[step], label[step], depth[step], first[step] = node, c, depth[node] + 1, -1
                    new_blank[step], new_mark[step] = -np.inf, -np.inf
                if new_blank[step] == -np.inf and new_mark[step] == -np.inf:
                    touched[count] = step
                    count += 1
                new_mark[step] = add_logs(new_mark[step], start + scores[t, c])
            while before >= 0:
                continued[label[before]] = -1
                before = elder[before]
        alive = _best(touched[:count], new_blank, new_mark, beams)
        for i in range(count):
            node = touched[i]
            blank[node], mark[node] = new_blank[node], new_mark[node]
            new_blank[node], new_mark[node] = -np.inf, -np.inf
    lengths = depth[alive]
    strings = np.zeros((len(alive), max(1, lengths.max())), np.int64)
    totals = np.empty(len(alive))
    for i in range(len(alive)):
        node = alive[i]
        totals[i] = add_logs(blank[node], mark[node])
        for place in range(lengths[i] - 1, -1, -1):
            strings[i, place] = label[node]
            node = parent[node]
    return strings, lengths, totals


@njit(cache=True)
def _forward(scores: Real, string: Classes) -> float:
    places = 2 * len(string) + 1
    before, now = np.full(places, -np.inf), np.empty(places)
    before[0] = scores[0, 0]
    if len(string):
        before[1] = scores[0, string[0]]
    for t in range(1, scores.shape[0]):
        for s in range(places):
            total = before[s]
            if s > 0:
                total = add_logs(total, before[s - 1])
            if s > 1 and s % 2 == 1 and string[s // 2] != string[s // 2 - 1]:
                total = add_logs(total, before[s - 2])
            now[s] = total + (scores[t, 0] if s % 2 == 0 else scores[t, string[s // 2]])
        before, now = now, before
    return float(add_logs(before[places - 1], before[places - 2] if places > 1 else -np.inf))


@njit(cache=True)
def _forwards(scores: Real, strings: Classes, lengths: Classes) -> NDArray[np.float64]:
    totals = np.empty(len(strings))
    for n in range(len(strings)):
        totals[n] = _forward(scores, strings[n, : lengths[n]])
    return totals


def best_strings(scores: Real, beams: int = 12, floor: float = NEGLIGIBLE) -> list[tuple[tuple[int, ...], float]]:
    """Most probable strings of classes, best first, each with the natural logarithm of its whole probability.

    Parameters
    ----------
    scores : ndarray, float32, shape (T, C)
        Natural logarithms of each column's probabilities; class 0 is the blank.
    beams : int
        Prefixes kept at each column.
    floor : float
        Natural logarithm: characters less probable than this in a column are not tried there, and strings less
        probable than this against the best are not listed.

    Returns
    -------
    list of (tuple of int, float)

    Examples
    --------
    >>> columns = np.log(np.array([[0.1, 0.9], [0.6, 0.4]], np.float32))
    >>> [(s, round(float(np.exp(p)), 2)) for s, p in best_strings(columns)]
    [((1,), 0.94), ((), 0.06)]
    """
    scores = np.ascontiguousarray(scores)
    strings, lengths, bounds = _search(scores, beams, floor)
    kept = bounds > bounds.max() + floor
    strings, lengths = strings[kept], lengths[kept]
    whole = zip(strings.tolist(), lengths.tolist(), _forwards(scores, strings, lengths).tolist(), strict=True)
    return sorted(((tuple(string[:length]), total) for string, length, total in whole), key=lambda item: -item[1])
