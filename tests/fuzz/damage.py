"""Damage as hands, programs and disks do it: to the words of a text, and to bytes."""

import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LOGS = sorted([*ROOT.glob("samples/*/*.trav"), *ROOT.glob("tests/reference/logs/*.trav")])
FIGURES = (
    *("0", "-0", "0.001", "90.1", "-90", "360", "1000%", "12000", "100000.1", "1e5", "1/0", "½", "9" * 16, "²"),
    *("nan", "inf", "-inf", "1_000", "1e400", "-9999", "0x1f", "12,5", "+", "٣"),
)  # fmt: skip
ODD_WORDS = (
    *("\u001b[31mred", "\u202eturned", "a" * 3000, "\x00", "UNİT", "approxımate", "e\u0301", "=1+1", "'", '"', "[[["),
    *("../../x", "con.trav", "/dev/zero", "\u2028", "\ufeff", "{", "}", "\\", "%s%n", "-", "#", ";", "`", "𝔘" * 40),
)  # fmt: skip


@cache
def words():
    """Terminals that the grammar spells out."""
    grammar = "\n".join(one.read_text(encoding="utf-8") for one in ROOT.glob("grammar/*.lark"))
    return sorted(set(re.findall(r'"([a-z][a-z-]+)"', grammar)))


@cache
def lines():
    """The lines of all logs."""
    return [line for log in LOGS for line in log.read_text(encoding="utf-8").splitlines() if line.strip()]


@cache
def settings():
    """Every line of the templates and schemes that ship, and with it every name of a setting."""
    files = sorted(ROOT.glob("templates/*.toml"))
    return [line for one in files for line in one.read_text("utf-8").splitlines() if line.strip()]


def slips(text, draw, *, known, others, between=" "):
    """A text with one to four faults of the hand: of rows, of words, of figures. `others` are rows of its kind."""
    rows = text.splitlines() or [""]
    for _ in range(draw.choice((1, 1, 2, 4))):
        at = draw.randrange(len(rows))
        parts = rows[at].split(between)
        match draw.randrange(9):
            case 0:
                rows.insert(at, draw.choice(others))
            case 1 if len(rows) > 2:
                del rows[at]
            case 2 | 3:
                figure = draw.choice(FIGURES)
                found = list(re.finditer(r"\d+(?:\.\d+)?", rows[at]))
                if found:
                    one = draw.choice(found)
                    rows[at] = rows[at][: one.start()] + figure + rows[at][one.end() :]
            case 4:
                parts[draw.randrange(len(parts))] = draw.choice(known)
                rows[at] = between.join(parts)
            case 5:
                parts[draw.randrange(len(parts))] += draw.choice(ODD_WORDS)
                rows[at] = between.join(parts)
            case 6:
                draw.shuffle(parts)
                rows[at] = between.join(parts)
            case 7:
                rows[at : at + 1] = [rows[at]] * draw.choice((2, 40))
            case _:
                other = draw.randrange(len(rows))
                rows[at], rows[other] = rows[other], rows[at]
    return "\n".join(rows).encode("utf-8", "surrogatepass")


def broken(data, draw):
    """Bytes with a bit turned, a piece lost, filled with zeros or doubled, or the end cut off."""
    data = bytearray(data or b"\0")
    at = draw.randrange(len(data))
    size = draw.choice((1, 4, 60, 2000))
    match draw.randrange(6):
        case 0 | 1:
            data[at] ^= 1 << draw.randrange(8)
        case 2:
            del data[at : at + size]
        case 3:
            data[at : at + size] = bytes(min(size, len(data) - at))
        case 4:
            data[at:at] = data[at : at + size]
        case _:
            del data[at:]
    return bytes(data)


def log(draw, text):
    """A damaged log; now and then its bytes as well."""
    data = slips(text, draw, known=words(), others=lines())
    return broken(data, draw) if draw.random() < 0.2 else data


def toml(draw, text):
    """A damaged template or scheme."""
    names = [line.partition("=")[0].strip() or line for line in settings()]
    data = slips(text, draw, known=names, others=settings())
    return broken(data, draw) if draw.random() < 0.1 else data


def table(draw, text, between=","):
    """A damaged table of figures."""
    data = slips(text, draw, known=(*FIGURES, *ODD_WORDS), others=text.splitlines(), between=between)
    return broken(data, draw) if draw.random() < 0.2 else data
