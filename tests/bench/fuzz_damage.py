"""How the fuzzer damages a file: its bytes, words, numbers, lines, and the keys and values of its tables."""

import re

NUMBERS = (
    *(
        "nan",
        "inf",
        "-inf",
        "1e308",
        "-1e308",
        "1e999",
        "1e-320",
        "0",
        "-0",
        "-1",
        "1e9",
        "1e5",
        "0.5",
        "1_0",
    ),
    *(
        "9" * 19,
        "9" * 400,
        "9" * 5000,
        "٣",
        "0x10",
        "1,5",
        "1e",
        "",
        "true",
        "1979-05-27",
        "[]",
        "{}",
        '""',
        "[[1]]",
    ),
)
WORDS = (
    "\x00",
    "\x1b[2J",
    "=1+1",
    "🐎",
    "\u202e",
    "{",
    "}",
    "JOINT",
    "OFFSET",
    "[",
    "]]",
    '"',
    "'",
    "\\",
    "x" * 300,
)
OTHER_TYPES = (
    "true",
    "7",
    "-0.0",
    '"word"',
    "[]",
    "[1, 2]",
    '["a", 1]',
    "{}",
    "{ a = { b = 1 } }",
    "1979-05-27T07:32:00Z",
    "'''a\nb'''",
    "[" * 40 + "]" * 40,
    "[" * 5000 + "]" * 5000,
    "0x" + "f" * 5000,
    "[[0x" + "f" * 5000 + ", 1, 2]]",
    "{ " + "a." * 3000 + "a = 1 }",
)
_KEY = re.compile(r"^(\s*)([A-Za-z_][\w\-]*)(\s*=\s*)(.*)$")


def words_damaged(text, draw):
    """Put other words in the place of some."""
    words = text.replace("\n", " \n ").split(" ")
    for _ in range(draw.choice((1, 1, 2, 5, 20))):
        words[draw.randrange(len(words))] = draw.choice(NUMBERS + WORDS)
    return " ".join(words)


def numbers_damaged(text, draw):
    """Put other numbers in the place of some, most of them such as might be meant."""
    words = text.replace("\n", " \n ").split(" ")
    places = [k for k, word in enumerate(words) if word.strip("-[],").replace(".", "").isdigit()]
    gentle = draw.random() < 0.7
    for place in draw.sample(places, min(len(places), draw.choice((1, 1, 2, 10)))):
        word = words[place]
        own = word.strip("[],")
        likely = (
            float(own) * draw.choice((0.0, -1.0, 0.5, 0.9, 1.1, 2.0, 10.0, 1e3, 1e6)),
            draw.uniform(-2, 2),
        )
        value = f"{draw.choice(likely):.6g}" if gentle else draw.choice(NUMBERS)
        words[place] = word.replace(own, value)
    return " ".join(words)


def lines_damaged(text, draw):
    """Drop, double, swap or add lines."""
    lines = text.split("\n")
    for _ in range(draw.choice((1, 2, 5))):
        place = draw.randrange(len(lines))
        kind = draw.randrange(4)
        if kind == 0 and len(lines) > 1:
            del lines[place]
        elif kind == 1:
            lines.insert(place, lines[draw.randrange(len(lines))])
        elif kind == 2:
            other = draw.randrange(len(lines))
            lines[place], lines[other] = lines[other], lines[place]
        else:
            lines.insert(place, draw.choice(WORDS + NUMBERS))
    return "\n".join(lines)


def bytes_damaged(data, draw):
    """Cut, or put some bytes in the place of others."""
    place = draw.randrange(len(data) + 1)
    if draw.random() < 0.3:
        return data[:place]
    return data[:place] + draw.randbytes(draw.randrange(12)) + data[place + draw.randrange(40) :]


def keys_damaged(text, draw):
    """Misspell, nest or take out keys and tables of TOML, or give a key a value of another type."""
    lines = text.split("\n")
    heads = [k for k, line in enumerate(lines) if line.lstrip().startswith("[")]
    for _ in range(draw.choice((1, 1, 1, 2, 4))):
        if heads and draw.random() < 0.2:
            place = draw.choice(heads)
            lines[place] = draw.choice(("", _misspelt(lines[place], draw), "[x.y]", "[[x]]", lines[place]))
            continue
        found = [(k, match) for k, line in enumerate(lines) if (match := _KEY.match(line))]
        if found:
            place, match = draw.choice(found)
            lines[place] = _key_damaged(match, draw)
    return "\n".join(lines)


def _key_damaged(match, draw):
    before, key, between, value = match.groups()
    return draw.choice(
        (
            before + _misspelt(key, draw) + between + value,
            "",
            before + key + between + draw.choice(OTHER_TYPES),
            f"{before}{key}{draw.choice(('.x', f'.{key}', '.a' * 3000))}{between}{value}",
        )
    )


def _misspelt(word, draw):
    """Swap, drop or double a letter, put a foreign one in its place, or write all in capitals."""
    k = draw.randrange(max(1, len(word) - 1))
    before, letter, after = word[:k], word[k : k + 1], word[k + 1 :]
    return draw.choice(
        (
            before + after[:1] + letter + after[1:],
            before + after,
            before + letter * 2 + after,
            before + "é" + after,
            word.upper(),
        )
    )


def damaged(data, draw):
    """Damage a file of text."""
    ways = (words_damaged, *[numbers_damaged] * 4, lines_damaged, None)
    how = draw.choice((*ways, *[keys_damaged] * 4) if b" = " in data else ways)
    if how is None:
        return bytes_damaged(data, draw)
    return how(data.decode(), draw).encode("utf-8", "surrogateescape")
