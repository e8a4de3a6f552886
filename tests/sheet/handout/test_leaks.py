"""Blanks of logs drawn at random: nothing that a party booked as an answer is anywhere in the file."""

import io
import random

import pypdf
import pytest

from tests.sheet.fixture_sheet import compiled
from tests.sheet.handout.test_handout import handout, printed, said_in, words_of
from tests.thorough import some
from traverse.output.pdf import write_pdf

ROCKS = ["Marl", "Shale", "Grit", "Basalt", "Limestone", "Breccia", "Conglomerate", "Slate", "Tuff", "Gneiss"]
TOLD = [
    *(
        "syncline",
        "synclines",
        "Anticlines",
        "dykes",
        "overturned",
        "throw",
        "striae",
        "thrusts",
        "unconformities",
    ),
    *(
        "beds",
        "folded",
        "veins",
        "Shales",
        "marls",
        "basalts",
        "breccias",
        "limestones",
        "gneisses",
        "joints",
    ),
]
"""What gives an answer away to who reads it, in singular and plural."""
PLAIN = ["Mill Lane", "the upper hut", "Tor End", "the ford", "North Gate"]


class Drawn:
    """A log, and the words of it that only the key may print."""

    def __init__(self, seed):
        self.rng = random.Random(seed)  # noqa: S311 - the same logs every time
        self.secret = set()
        self.number = 0
        rng = self.rng
        self.units = rng.sample(["Qz", "Wm", "Lk", "Tb"], rng.randint(2, 4))
        named = [f"{letters} {self.word()} {self.rock()} ; {self.word()}" for letters in self.units]
        self.secret |= set(self.units)
        source = [rng.choice([*TOLD, *self.units, "Mill Lane", "posted at the hut"]) for _ in range(2)]
        title = rng.choice([f"{rng.choice(PLAIN)}, day {seed}", f"Tor and {rng.choice(TOLD)}, day {seed}"])
        told = {word for word in (*source, *title.replace(",", "").split()) if word in TOLD}
        self.secret |= told
        self.title = title
        lines = [
            f"party {self.letters()} {self.word()} {self.word()}",
            f"bearings magnetic\ndeclination {rng.uniform(1, 9):.1f} E, 2026, board {source[0]}, {source[1]}",
            "attitudes dip-right",
            *(f"unit {one}" for one in named),
            "control 1 1000 E 2000 N 50 m",
            "section A-A' from 1 to 3",
            "at 1",
            *self.things(),
        ]
        azimuth = rng.randrange(360)
        for name, turn in (("2", 0), ("3", 70), ("4", 140)):
            lines.append(
                f"to {name} {(azimuth + turn) % 360:03d} {rng.randint(60, 150)}m {rng.randint(-6, 6):+d}"
            )
            lines += [f"along 30m\n  contact {'/'.join(rng.sample(self.units, 2))} certain {self.plane()}"][
                : rng.randint(0, 1)
            ]
            lines += [f"at {name}", *self.things()]
        self.text = "\n".join(lines) + "\n"

    def word(self):
        """One that stands nowhere else."""
        self.number += 1
        word = (
            "Z"
            + "".join(self.rng.choice("aeiou") + self.rng.choice("bdgkvz") for _ in range(4))
            + str(self.number)
        )
        self.secret.add(word)
        return word

    def letters(self):
        return "".join(self.rng.choice("JKVX") for _ in range(2))

    def rock(self):
        rock = self.rng.choice(ROCKS)
        self.secret |= {rock, rock.lower()}
        return rock

    def plane(self):
        words = f"{self.rng.randrange(360):03d}/{self.rng.randint(10, 80)}"
        self.secret.add(words)
        return words

    def things(self):
        every = [
            f"unit {self.rng.choice(self.units)}",
            f"bed {self.plane()}",
            f"rock {self.word()} {self.rock().lower()}s\n  | {self.word()}",
            f"cleavage {self.plane()}",
            f"fossil {self.word()}",
            f"note {self.word()} {self.rng.choice(self.units)}",
            f"sample {self.word()} {self.word()}",
            f"photo {self.word()} looking 140 {self.word()}",
            f"tops up {self.word()}",
        ]
        return [f"  {one}" for one in sorted(self.rng.sample(every, self.rng.randint(1, 6)), key=every.index)]


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(range(300), 60))
def test_no_answer_of_any_log_is_in_its_blank(seed):
    drawn = Drawn(seed)
    found = compiled(drawn.text, title=drawn.title)
    document, _ = handout(found)
    data = write_pdf(document)
    everything = printed(data) + "\n".join(said_in(pypdf.PdfReader(io.BytesIO(data))))
    # Signs to draw with are named, whatever was met.
    empty = compiled("bearings true\nat 1\nto 2 060 120m +4\nat 2\nto 3 130 150m -6\n")
    usual = words_of(printed(write_pdf(handout(empty)[0])))
    shown = words_of(everything) - usual
    assert not {one for one in drawn.secret if one in shown or ("/" in one and one in everything)}
    assert "2026" in everything
