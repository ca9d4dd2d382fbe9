"""Read a QR code of versions 1 to 6 by ISO/IEC 18004: format, mask, placement, blocks, byte mode; no correction, as a
drawn code has no errors. The data codewords of each block are that standard's table 9, from memory."""

BLOCKS = {  # version: {level: data codewords of each block}
    1: {"L": [19], "M": [16], "Q": [13], "H": [9]},
    2: {"L": [34], "M": [28], "Q": [22], "H": [16]},
    3: {"L": [55], "M": [44], "Q": [17] * 2, "H": [13] * 2},
    4: {"L": [80], "M": [32] * 2, "Q": [24] * 2, "H": [9] * 4},
    5: {"L": [108], "M": [43] * 2, "Q": [15, 15, 16, 16], "H": [11, 11, 12, 12]},
    6: {"L": [68] * 2, "M": [27] * 4, "Q": [19] * 4, "H": [15] * 4},
}
LEVELS = {0b01: "L", 0b00: "M", 0b11: "Q", 0b10: "H"}
MASKS = [
    lambda y, x: (y + x) % 2,
    lambda y, x: y % 2,
    lambda y, x: x % 3,
    lambda y, x: (y + x) % 3,
    lambda y, x: (y // 2 + x // 3) % 2,
    lambda y, x: y * x % 2 + y * x % 3,
    lambda y, x: (y * x % 2 + y * x % 3) % 2,
    lambda y, x: ((y + x) % 2 + y * x % 3) % 2,
]


def read_code(dark: list[list[bool]]) -> str:
    """What the code says; `dark[y][x]` without the quiet zone."""
    size = len(dark)
    version = (size - 17) // 4
    format_bits = sum(dark[8][x] << (4 - n) for n, x in enumerate(range(5))) ^ 0b10101
    level, mask = LEVELS[format_bits >> 3], MASKS[format_bits & 7]
    bits = [dark[y][x] ^ (mask(y, x) == 0) for y, x in _places(size, version)]
    text = [_number(bits[n : n + 8]) for n in range(0, len(bits) - 7, 8)]
    data = _in_order(text, BLOCKS[version][level])
    stream = [bool(word >> n & 1) for word in data for n in range(7, -1, -1)]
    assert _number(stream[:4]) == 0b0100, "not byte mode"
    length = _number(stream[4:12])
    return bytes(_number(stream[12 + 8 * n : 20 + 8 * n]) for n in range(length)).decode()


def _number(bits) -> int:
    return int("".join("1" if bit else "0" for bit in bits), 2)


def _places(size: int, version: int):
    """Where the data lies: pairs of columns from the right, up and down in turn, past the patterns."""
    upwards = True
    for right in [x for x in range(size - 1, 0, -2) if x > 6] + [5, 3, 1]:
        for y in range(size - 1, -1, -1) if upwards else range(size):
            for x in (right, right - 1):
                if not _is_pattern(y, x, size, version):
                    yield y, x
        upwards = not upwards


def _is_pattern(y: int, x: int, size: int, version: int) -> bool:
    middle = 4 * version + 10  # of the one alignment pattern of versions 2 to 6
    near, far = 9, size - 8
    in_finder = (y < near and x < near) or (y < near and x >= far) or (y >= far and x < near)
    in_alignment = version > 1 and abs(y - middle) <= 2 and abs(x - middle) <= 2
    return in_finder or in_alignment or 6 in (y, x)


def _in_order(text: list[int], blocks: list[int]) -> list[int]:
    """Codewords are dealt out one to each block in turn; the longer blocks get the last ones."""
    dealt: list[list[int]] = [[] for _ in blocks]
    text = iter(text)
    for n in range(max(blocks)):
        for block, most in zip(dealt, blocks, strict=True):
            if n < most:
                block.append(next(text))
    return [word for block in dealt for word in block]
