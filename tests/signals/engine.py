"""Functions of time over a repeating cycle, as a row of smooth pieces, evaluated with their Taylor coefficients.

A node knows where it may break, and gives values at any instants of a piece; `middle` is an instant inside that piece, by which all
choices (segment, sign, branch) are made. Integrals and lags are sums over fine Gauss-Legendre slices."""
import numpy as np

import laws

SAMPLES = 101
NODES, WEIGHTS = np.polynomial.legendre.leggauss(14)
TO_LEGENDRE = np.linalg.inv(np.polynomial.legendre.legvander(NODES, len(NODES) - 1)).T  # from values at the nodes
NODES, WEIGHTS = (NODES + 1) / 2, WEIGHTS / 2


def joined(duration, *rows):
    every = np.unique(np.concatenate([np.array([0.0, duration]), *rows]))
    keep = np.concatenate([[True], np.diff(every) > 1e-11 * duration])
    every = every[keep]
    every[-1] = duration
    return every


def between(breaks):
    return ((breaks[:-1] + breaks[1:]) / 2)[:, np.newaxis]


class Node:
    def __init__(self, *kids, duration=None):
        self.kids = kids
        self.duration = duration if duration else max((k.duration for k in kids), default=0.0)

    def breaks(self):
        if not hasattr(self, "known_breaks"):
            self.known_breaks = self.find_breaks()
        return self.known_breaks

    def find_breaks(self):
        return joined(self.duration, *(k.breaks() for k in self.kids))

    def value(self, t, middle):
        return self.series(t, middle, 0)[0]


class Constant(Node):
    def __init__(self, x, duration):
        super().__init__(duration=duration)
        self.x = x

    def series(self, t, middle, order):
        return [np.full(t.shape, self.x)] + [np.zeros(t.shape)] * order


class Time(Node):
    def series(self, t, middle, order):
        return ([t + 0.0, np.ones(t.shape)] + [np.zeros(t.shape)] * order)[:order + 1]


class Step(Node):
    """Constant from one instant to the next."""

    def __init__(self, times, values):
        super().__init__(duration=times[-1])
        self.times, self.values = np.array(times), np.array(values)

    def find_breaks(self):
        return joined(self.duration, self.times)

    def series(self, t, middle, order):
        which = np.clip(np.searchsorted(self.times, middle, "right") - 1, 0, len(self.values) - 1)
        return [self.values[which] + np.zeros(t.shape)] + [np.zeros(t.shape)] * order


class Motion(Node):
    """A derivative of the place."""

    def __init__(self, rows, derivative):
        super().__init__(duration=rows[-1, 1])
        self.rows, self.derivative = rows, derivative

    def find_breaks(self):
        return joined(self.duration, self.rows[:, 0])

    def series(self, t, middle, order):
        which = np.clip(np.searchsorted(self.rows[:, 0], middle, "right") - 1, 0, len(self.rows) - 1) + np.zeros(t.shape, int)
        result = laws.places(self.rows, which, t - self.rows[which, 0], order + self.derivative)
        for _ in range(self.derivative):
            result = [(k + 1) * c for k, c in enumerate(result[1:])]
        return result


def multiplied(x, y):
    return [sum(x[i] * y[k - i] for i in range(k + 1)) for k in range(len(x))]


class Sum(Node):
    def __init__(self, x, y, sign):
        super().__init__(x, y)
        self.sign = sign

    def series(self, t, middle, order):
        x, y = (k.series(t, middle, order) for k in self.kids)
        return [a + self.sign * b for a, b in zip(x, y)]


class Product(Node):
    def series(self, t, middle, order):
        return multiplied(*(k.series(t, middle, order) for k in self.kids))


class Quotient(Node):
    def series(self, t, middle, order):
        x, y = (k.series(t, middle, order) for k in self.kids)
        z = []
        for k in range(order + 1):
            z.append((x[k] - sum(z[i] * y[k - i] for i in range(k))) / y[0])
        return z


class Root(Node):
    def series(self, t, middle, order):
        x = self.kids[0].series(t, middle, order)
        z = [np.sqrt(x[0])]
        for k in range(1, order + 1):
            z.append((x[k] - sum(z[i] * z[k - i] for i in range(1, k))) / (2 * z[0]))
        return z


class Exponential(Node):
    def series(self, t, middle, order):
        x = self.kids[0].series(t, middle, order)
        z = [np.exp(x[0])]
        for k in range(1, order + 1):
            z.append(sum(i * x[i] * z[k - i] for i in range(1, k + 1)) / k)
        return z


class Sine(Node):
    def series(self, t, middle, order):
        x = self.kids[0].series(t, middle, order)
        s, c = [np.sin(x[0])], [np.cos(x[0])]
        for k in range(1, order + 1):
            s.append(sum(i * x[i] * c[k - i] for i in range(1, k + 1)) / k)
            c.append(-sum(i * x[i] * s[k - i] for i in range(1, k + 1)) / k)
        return s


def crossings(node):
    """Where the node goes through zero inside its pieces."""
    breaks = node.breaks()
    middle = between(breaks)
    low, high = breaks[:-1, np.newaxis], breaks[1:, np.newaxis]
    t = low + (high - low) * np.linspace(0.0, 1.0, SAMPLES)
    value, slope = node.series(t, middle, 1)
    # hills and valleys between the samples
    i, j = np.nonzero(slope[:, :-1] * slope[:, 1:] < 0)
    tops = search(lambda x, m: node.series(x, m, 1)[1], t[i, j], t[i, j + 1], middle[i])
    rows, lows, highs, firsts = [], [], [], []
    for row in range(len(middle)):
        more = np.sort(np.concatenate([t[row], tops[i == row]]))
        at = node.value(more[np.newaxis], middle[row:row + 1])[0] if np.any(i == row) else value[row]
        k = np.nonzero(at[:-1] * at[1:] < 0)[0]
        rows.append(np.full(len(k), row))
        lows.append(more[k])
        highs.append(more[k + 1])
    rows = np.concatenate(rows)
    return search(node.value, np.concatenate(lows), np.concatenate(highs), middle[rows])


def search(function, low, high, middle):
    """Where a function goes through zero between each low and high: straight lines, kept short (Illinois)."""
    if not len(low):
        return low
    below, above = (function(x[:, np.newaxis], middle)[:, 0] for x in (low, high))
    side = np.zeros(low.shape)
    for _ in range(40):
        with np.errstate(all="ignore"):
            x = (low * above - high * below) / (above - below)
        x = np.where(np.isfinite(x) & (x >= low) & (x <= high), x, (low + high) / 2)
        at = function(x[:, np.newaxis], middle)[:, 0]
        left = at * below > 0
        done = (at == 0) | (high - low < 1e-15 * np.abs(high))
        if done.all():
            break
        above = np.where(left & (side > 0), above / 2, above)
        below = np.where(~left & (side < 0), below / 2, below)
        low, below = np.where(left, x, low), np.where(left, at, below)
        high, above = np.where(left, high, x), np.where(left, above, at)
        side = np.where(left, 1.0, -1.0)
    return x


class Switch(Node):
    """`then` where the condition is above zero, else `other`."""

    def __init__(self, condition, then, other):
        super().__init__(condition, then, other)

    def find_breaks(self):
        return joined(self.duration, *(k.breaks() for k in self.kids), crossings(self.kids[0]))

    def series(self, t, middle, order):
        above = self.kids[0].value(middle, middle) > 0
        x, y = (k.series(t, middle, order) for k in self.kids[1:])
        return [np.where(above, a, b) for a, b in zip(x, y)]


class Magnitude(Node):
    def find_breaks(self):
        return joined(self.duration, self.kids[0].breaks(), crossings(self.kids[0]))

    def series(self, t, middle, order):
        sign = np.sign(self.kids[0].value(middle, middle))
        return [sign * a for a in self.kids[0].series(t, middle, order)]


class Sign(Magnitude):
    def series(self, t, middle, order):
        return [np.sign(self.kids[0].value(middle, middle)) + np.zeros(t.shape)] + [np.zeros(t.shape)] * order


class Rate(Node):
    def series(self, t, middle, order):
        return [(k + 1) * c for k, c in enumerate(self.kids[0].series(t, middle, order + 1)[1:])]


class Running(Node):
    """The lag by tau, or the running integral where tau is None."""

    def __init__(self, x, tau=None):
        super().__init__(x)
        self.tau = tau

    def prepare(self):
        breaks = self.kids[0].breaks()
        cuts = [breaks]
        for low, high in zip(breaks[:-1], breaks[1:]):
            count = 6 if self.tau is None else max(6, int(2 * (high - low) / self.tau) + 1)
            cuts.append(np.linspace(low, high, count + 1))
        self.mesh = joined(self.duration, *cuts)
        low, h = self.mesh[:-1, np.newaxis], np.diff(self.mesh)[:, np.newaxis]
        x = self.kids[0].value(low + h * NODES, between(self.mesh)) @ TO_LEGENDRE
        parts = self.slice(x, h, np.append(NODES, 1.0))
        held, y = [0.0], 0.0
        fade = np.ones(len(h)) if self.tau is None else np.exp(-h[:, 0] / self.tau)
        for a, b in zip(fade, parts[:, -1]):
            y = a * y + b
            held.append(y)
        held = np.array(held)
        if self.tau is not None:  # as it is once it repeats
            held += y / (1 - np.exp(-self.duration / self.tau)) * np.exp(-self.mesh / self.tau)
        fade = 1.0 if self.tau is None else np.exp(-h * NODES / self.tau)
        self.shape = (held[:-1, np.newaxis] * fade + parts[:, :-1]) @ TO_LEGENDRE

    def slice(self, x, h, ends):
        """What x adds from the beginning of each cell to the parts `ends` of it; x as Legendre series."""
        u = ends[:, np.newaxis] * NODES
        at_u = np.einsum("ij,jkl->ikl", x, np.polynomial.legendre.legvander(2 * u - 1, len(NODES) - 1).transpose(2, 0, 1))
        if self.tau is not None:
            at_u = at_u * np.exp(-h[:, :, np.newaxis] * (ends[:, np.newaxis] - u) / self.tau) / self.tau
        return h * ends * (at_u @ WEIGHTS)

    def series(self, t, middle, order):
        if not hasattr(self, "mesh"):
            self.prepare()
        which = np.clip(np.searchsorted(self.mesh, t, "right") - 1, 0, len(self.mesh) - 2)
        low = self.mesh[which]
        u = 2 * (t - low) / (self.mesh[which + 1] - low) - 1
        last, before, total = u, np.ones(u.shape), self.shape[which, 0] + self.shape[which, 1] * u
        for k in range(2, len(NODES)):
            last, before = ((2 * k - 1) * u * last - (k - 1) * before) / k, last
            total = total + self.shape[which, k] * last
        result = [total]
        if order:
            x = self.kids[0].series(t, middle, order - 1)
            for k in range(order):
                result.append((x[k] - result[k]) / self.tau / (k + 1) if self.tau is not None else x[k] / (k + 1))
        return result


# ---- reductions ---------------------------------------------------------------------------------------------------------------

def integral(node, power=1):
    breaks = node.breaks()
    middle = between(breaks)
    low, h = breaks[:-1, np.newaxis], np.diff(breaks)[:, np.newaxis] / 8
    total = 0.0
    for k in range(8):
        total += np.sum(h[:, 0] * (node.value(low + h * (k + NODES), middle) ** power @ WEIGHTS))
    return total


def extremes(node):
    breaks = node.breaks()
    middle = between(breaks)
    low, high = breaks[:-1, np.newaxis], breaks[1:, np.newaxis]
    t = low + (high - low) * np.linspace(0.0, 1.0, SAMPLES)
    value, slope = node.series(t, middle, 1)
    i, j = np.nonzero(slope[:, :-1] * slope[:, 1:] < 0)
    tops = search(lambda x, m: node.series(x, m, 1)[1], t[i, j], t[i, j + 1], middle[i])
    found = np.concatenate([value.ravel(), node.value(tops[:, np.newaxis], middle[i]).ravel()])
    return found.min(), found.max()


def share_above(node):
    breaks = joined(node.duration, node.breaks(), crossings(node))
    middle = between(breaks)
    return np.sum(np.diff(breaks)[node.value(middle, middle)[:, 0] > 0]) / node.duration


def at(node, t):
    breaks = node.breaks()
    k = np.searchsorted(breaks, t, "right") - 1
    return node.value(np.array([[t]]), between(breaks)[k:k + 1])[0, 0]
