#!/usr/bin/env python3
"""Writes stream.json: words, bounded draws, shuffles and one whole draw, from an
implementation of its own of the ChaCha8 generator (C2SP chacha8rand) and of the rules
documented in stream.go and in the package comment of design/order."""
import json
from fractions import Fraction

M32, M64 = 2**32 - 1, 2**64 - 1


def rotl(x, k):
    return ((x << k) | (x >> (32 - k))) & M32


def quarter(s, a, b, c, d):
    s[a] = (s[a] + s[b]) & M32; s[d] = rotl(s[d] ^ s[a], 16)
    s[c] = (s[c] + s[d]) & M32; s[b] = rotl(s[b] ^ s[c], 12)
    s[a] = (s[a] + s[b]) & M32; s[d] = rotl(s[d] ^ s[a], 8)
    s[c] = (s[c] + s[d]) & M32; s[b] = rotl(s[b] ^ s[c], 7)


def chacha8(key, counter):
    """One block without the final addition except to the key words, as chacha8rand has it."""
    start = [0x61707865, 0x3320646E, 0x79622D32, 0x6B206574] + list(key) + [counter, 0, 0, 0]
    s = list(start)
    for _ in range(4):
        quarter(s, 0, 4, 8, 12); quarter(s, 1, 5, 9, 13); quarter(s, 2, 6, 10, 14); quarter(s, 3, 7, 11, 15)
        quarter(s, 0, 5, 10, 15); quarter(s, 1, 6, 11, 12); quarter(s, 2, 7, 8, 13); quarter(s, 3, 4, 9, 14)
    for i in range(4, 12):
        s[i] = (s[i] + start[i]) & M32
    return s


class Source:
    def __init__(self, seed, stream):
        raw = seed.to_bytes(8, "little") + stream.to_bytes(8, "little") + b"fairrun order v1"
        self.key = [int.from_bytes(raw[4 * i:4 * i + 4], "little") for i in range(8)]
        self.words = []
        self.counter = 0

    def refill(self):
        """Four blocks side by side, word i of each in turn; 1,024 bytes from four such refills, whose last 32 bytes are the next key."""
        out = b""
        for group in range(4):
            blocks = [chacha8(self.key, 4 * group + i) for i in range(4)]
            for i in range(16):
                for b in blocks:
                    out += b[i].to_bytes(4, "little")
        self.key = [int.from_bytes(out[992 + 4 * i:996 + 4 * i], "little") for i in range(8)]
        self.words = [int.from_bytes(out[8 * i:8 * i + 8], "little") for i in range(124)]

    def word(self):
        if not self.words:
            self.refill()
        return self.words.pop(0)

    def below(self, n):
        while True:
            p = self.word() * n
            if (p & M64) >= (2**64 % n):
                return p >> 64

    def shuffle(self, x):
        i = len(x)
        while i > 1:
            bounds, product = [], 1
            while i - len(bounds) > 1 and product * (i - len(bounds)) <= 2**48:
                product *= i - len(bounds)
                bounds.append(i - len(bounds))
            while True:
                places, low = [], self.word()
                for b in bounds:
                    p = low * b
                    places.append(p >> 64)
                    low = p & M64
                if low >= 2**64 % product:
                    break
            for j in places:
                i -= 1
                x[i], x[j] = x[j], x[i]
        return x


def linear_loss(blocks, treatments, replicates):
    """Loss under one straight drift for all blocks: sums of scores over each treatment."""
    n = treatments * replicates
    s = [0] * treatments
    for block in blocks:
        for i, t in enumerate(block):
            s[t] += 2 * i - (n - 1)
    size = len(blocks) * sum((2 * i - (n - 1))**2 for i in range(n))
    lam = Fraction(sum(v * v for v in s), size * len(blocks) * replicates)
    return lam / (1 - lam) / (treatments - 1)


def draw(treatments, blocks, replicates, seed):
    """A draw for one straight drift, its threshold from 10,000 candidates."""
    first = [t for t in range(treatments) for _ in range(replicates)]
    pilot = Source(seed, 1)
    losses = sorted(linear_loss([pilot.shuffle(list(first)) for _ in range(blocks)], treatments, replicates)
                    for _ in range(10000))
    threshold = losses[len(losses) // 20 - 1]
    src = Source(seed, 0)
    tries = 0
    while True:
        tries += 1
        order = [src.shuffle(list(first)) for _ in range(blocks)]
        if linear_loss(order, treatments, replicates) <= threshold:
            return order, float(threshold), tries


def main():
    out = {}
    s = Source(41, 0)
    w = [s.word() for _ in range(400)]
    out["words"] = [str(v) for v in w[:5] + w[120:130] + w[390:]]
    s = Source(2**64 - 1, 2**32)
    out["below"] = [[n, s.below(n)] for n in (1, 2, 3, 6, 10, 1000, 10**9 + 7)]
    s = Source(7, 5)
    out["shuffles"] = [s.shuffle(list(range(n))) for n in (1, 2, 5, 15, 16, 17, 40, 300)]
    order, threshold, tries = draw(5, 4, 3, 41)
    out["draw"] = {"blocks": order, "threshold": threshold, "candidates": tries}
    with open(__file__.replace("source.py", "stream.json"), "w") as f:
        json.dump(out, f, indent=None, separators=(",", ":"))
        f.write("\n")


main()
