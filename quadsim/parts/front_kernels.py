"""Who is beaten by whom, with an early way out: most comparisons end at the first figure."""

from __future__ import annotations

from quadsim.jit import inner, kernel


@inner
def as_good(a, price_a, b, price_b):
    """True when values a (m,) at price_a are nowhere worse than b at price_b."""
    if price_a > price_b:
        return False
    for k in range(a.shape[0]):  # noqa: SIM110 (the compiler knows no `all`)
        if a[k] < b[k]:
            return False
    return True


@kernel(nogil=True)
def mark_beaten(values, price, lost):
    """Set lost (n,) for every row of values (n, m) that another equals or beats for no more money; of twins the first stays."""
    n = values.shape[0]
    for i in range(n):
        for j in range(n):
            if j == i or lost[j] or not as_good(values[j], price[j], values[i], price[i]):
                continue
            if j < i or not as_good(values[i], price[i], values[j], price[j]):
                lost[i] = True
                break


@kernel(nogil=True)
def mark_beaten_by(values, price, others, other_price, lost):
    """The same against other rows. Starts with the one that won last: neighbours lose to the same."""
    m, last = others.shape[0], 0
    for i in range(values.shape[0]):
        for step in range(m):
            j = last + step if last + step < m else last + step - m
            if as_good(others[j], other_price[j], values[i], price[i]):
                lost[i], last = True, j
                break
