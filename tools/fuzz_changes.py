"""How whole files are spoilt: cut, doubled, spliced, sprinkled with bytes and with troublesome texts."""

from __future__ import annotations

import random
from collections.abc import Sequence

#: Spoilt files of text are no longer than this: what is doubled fifty times soon says nothing new.
LONGEST = 40_000
#: Between two changes: doubling fifty times twice would fill the memory by itself.
LONGEST_BETWEEN = 8_000_000

#: Texts that have broken readers of files before.
NASTY: tuple[bytes, ...] = (
    *(b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\xed\xa0\x80", b"\xe2\x80\xa8", b"\xe2\x80\xae", b"\r", b"\n\n"),
    *(
        b"NaN",
        b"-Infinity",
        b"1e999",
        b"-0",
        b"9" * 400,
        b"0x10",
        b"1_000",
        b"\xd9\xa3",
        b"1,5",
        b"--1",
        b"1e-400",
    ),
    *(b'"', b"'", b'""', b",", b";" * 50, b"\t", b"(" * 500, b"[" * 3000, b"{" * 3000, b'{"a":' * 2000),
    *(b"=cmd|' /C calc'!A0", b"../../../../etc/passwd", b"C:\\windows", b"%s%n", b"__proto__", b"<a>" * 2000),
    *(
        b"<!DOCTYPE a [<!ENTITY b 'c'>]>",
        b"<![CDATA[",
        b"]]>",
        b"&#0;",
        b"&lt;",
        b"null",
        b"true",
        b"[]",
        b"{}",
    ),
    *(b'{"a":1,"a":2}', b"2026-02-30", b"0000-00-00", b"9999-12-31", b"1582-10-10", b"2026-10-03T25:61:61Z"),
    *(b"-181", b"91", b"4326", b"18446744073709551616", b"-9223372036854775809", b"\x7f\xff\xff\xff"),
    *(b"\x80\x80\x80\x80\x80\x80\x80\x80\x80\x01",),
)


def _at(data: bytes, rng: random.Random) -> tuple[int, int]:
    start = rng.randrange(len(data) + 1)
    return start, min(len(data), start + rng.choice((0, 1, 1, 2, 4, 8, 30)))


def _flip(data: bytes, rng: random.Random) -> bytes:
    if not data:
        return b"\0"
    changed = bytearray(data)
    changed[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    return bytes(changed)


def _put(data: bytes, rng: random.Random) -> bytes:
    start, end = _at(data, rng)
    return data[:start] + rng.choice(NASTY) + data[end:]


def _noise(data: bytes, rng: random.Random) -> bytes:
    start, end = _at(data, rng)
    return data[:start] + rng.randbytes(rng.choice((1, 1, 2, 4))) + data[end:]


def _cut(data: bytes, rng: random.Random) -> bytes:
    start, end = _at(data, rng)
    return data[:start] if rng.random() < 0.3 else data[:start] + data[end:]


def _double(data: bytes, rng: random.Random) -> bytes:
    start, end = sorted((rng.randrange(len(data) + 1), rng.randrange(len(data) + 1)))
    times = rng.choice((1, 1, 2, 50))
    more = data[start:end] * min(times, 1 + LONGEST_BETWEEN // (1 + end - start))
    return data[:end] + more + data[end:]


def _swap(data: bytes, rng: random.Random) -> bytes:
    a, b, c = sorted(rng.randrange(len(data) + 1) for _ in range(3))
    return data[:a] + data[b:c] + data[a:b] + data[c:]


def _lines(data: bytes, rng: random.Random) -> bytes:
    rows = data.split(b"\n")
    rows.insert(rng.randrange(len(rows) + 1), rng.choice(rows))
    return b"\n".join(rows)


_CHANGES = (_flip, _put, _put, _noise, _cut, _double, _swap, _lines)


def spoilt(seeds: Sequence[bytes], rng: random.Random) -> bytes:
    """One of the whole files after one to five changes."""
    return changed(rng.choice(seeds), rng)[:LONGEST]


def changed(data: bytes, rng: random.Random) -> bytes:
    """The bytes after one to five changes."""
    for _ in range(rng.choice((1, 1, 1, 2, 3, 5))):
        data = rng.choice(_CHANGES)(data, rng)[:LONGEST_BETWEEN]
    return data
