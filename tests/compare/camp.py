"""A key of an invented valley, and parties that walked it with errors of their own and one slip each."""

import random
import re
from functools import cache, lru_cache
from math import radians, sin
from pathlib import Path

from traverse.compare.against_key import against_key
from traverse.compare.scheme import read_scheme
from traverse.compile import compile_log
from traverse.source import Source

ROOT = Path(__file__).parent.parent.parent
VALLEY = (
    (ROOT / "samples/oskerra-valley/oskerra-valley.trav").read_text("utf-8").replace("terrain", "# terrain")
)
WASH = (ROOT / "samples/copperjar-wash/copperjar-wash.trav").read_text("utf-8")
LEG = r"((?:to|close|side) \S+ +)(\d{3}) (\d+)p"


def no_files(path):
    raise FileNotFoundError(path)


@cache
def compiled(text, name="party.trav"):
    """A log's text through the chain; it must have no errors."""
    found = compile_log(Source(name=name, text=text), load=no_files)
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    return found


def held(text, key, name="party.trav"):
    """A log's text held against a key's by the plain scheme."""
    scheme = read_scheme(None)[0].value
    return against_key(name, compiled(text, name), compiled(key).trav, scheme, no_files)


def walked_again(text, seed):
    """The same walk by another party: bearings to 1 degree, paces to 2 per cent, poles to 2 degrees, its own fix."""
    chance = random.Random(seed)  # noqa: S311 - a simulated walk

    def leg(found):
        azimuth = round(int(found[2]) + chance.gauss(0, 1)) % 360
        return f"{found[1]}{azimuth:03d} {max(1, round(int(found[3]) * (1 + chance.gauss(0, 0.02))))}p"

    def bed(found):
        dip = min(89, max(1, round(int(found[3]) + chance.gauss(0, 2))))
        azimuth = round(int(found[2]) + chance.gauss(0, 2) / max(0.2, sin(radians(dip)))) % 360
        return f"{found[1]}{azimuth:03d}/{dip:02d}"

    def back(found):
        return f"back {round(int(found[1]) + chance.gauss(0, 1)) % 360:03d}"

    def fix(found):
        east, north = (int(found[at]) + round(chance.gauss(0, 6)) for at in (1, 2))
        return f"control 1 {east} E {north} N"

    text = re.sub(rf"^{LEG}", leg, text, flags=re.MULTILINE)
    text = _long_enough(text)
    text = re.sub(r"^(\s+bed\s+)(\d{3})/(\d\d)", bed, text, flags=re.MULTILINE)
    text = re.sub(r"back (\d{3})", back, text)
    return re.sub(r"control 1 (\d+) E (\d+) N", fix, text)


def _long_enough(text):
    """No leg shorter than the last place that is booked on it."""
    rows, leg = text.splitlines(), 0
    for at, row in enumerate(rows):
        leg = at if re.match(LEG, row) else leg
        along = re.match(r"along (\d+)p", row)
        if along and int(along[1]) > int(re.match(LEG, rows[leg])[3]):
            rows[leg] = re.sub(rf"^{LEG}", rf"\g<1>\g<2> {along[1]}p", rows[leg])
    return "\n".join(rows) + "\n"


def bearings_turned(text, turn, *, beds):
    """Every bearing of the legs as another figure, and those of the beds."""
    text = re.sub(rf"^{LEG}", lambda f: f"{f[1]}{turn(int(f[2])):03d} {f[3]}p", text, flags=re.MULTILINE)
    text = re.sub(r"back (\d{3})", lambda f: f"back {turn(int(f[1])):03d}", text)
    return re.sub(r"(\s+bed\s+)(\d{3})/", lambda f: f"{f[1]}{turn(int(f[2])):03d}/", text) if beds else text


SLIPS = {
    "feet": lambda t: t.replace("double 100 m in", "double 328 m in"),
    "left": lambda t: t.replace("dip-direction", "dip-left"),
    "twice": lambda t: bearings_turned(t, lambda a: round(a + 4.7) % 360, beds=True),
    "hundred": lambda t: re.sub(r"^(to 10  \d{3} )(\d+)p", lambda f: f"{f[1]}{int(f[2]) + 100}p", t, flags=re.MULTILINE),
    "letter": lambda t: re.sub(r"^to 10  \d{3} ", "to 10  N59E ", t, flags=re.MULTILINE),
    "none": lambda t: t,
}  # fmt: skip
"""What each party of a camp did wrong, with the valley as it was walked."""


def six_parties(seed):
    """Logs of six parties with errors of their own, by what they did wrong."""
    return {name: slip(walked_again(VALLEY, seed + at)) for at, (name, slip) in enumerate(SLIPS.items())}


def joined(seed, *, names=tuple(SLIPS), ties=("5", "9", "13")):
    """The files of a camp: these parties with one known point, tied to the first of them at some stations."""
    fix = re.search(r"^control 1 .*$", VALLEY, re.MULTILINE)[0]
    texts = {
        f"{name}.trav": re.sub(r"^control 1 .*$", fix, text, flags=re.MULTILINE)
        for name, text in six_parties(seed).items()
        if name in names
    }
    letters = dict(zip(names, "ABCDEF", strict=False))
    rows = ["notation 1", "traverse Oskerra camp", "grid EPSG:25833"]
    rows += [f"log {name}.trav as {letters[name]}" for name in names]
    rows += [f"tie A-{at} to {letters[name]}-{at}" for name in names[1:] for at in ties]
    return texts | {"camp.trav": "\n".join(rows) + "\n"}


def compiled_camp(files):
    """A camp from its files by name, through the chain; once for all tests of one."""
    return _compiled_camp(tuple(sorted(files.items())))


@lru_cache(maxsize=16)
def _compiled_camp(texts):
    files = dict(texts)

    def load(path):
        if path not in files:
            raise FileNotFoundError(path)
        return files[path].encode()

    return compile_log(Source(name="camp.trav", text=files["camp.trav"]), load=load)


def line_of(text, words):
    """Number of the first line that begins so."""
    return next(number for number, line in enumerate(text.splitlines(), 1) if line.startswith(words))
