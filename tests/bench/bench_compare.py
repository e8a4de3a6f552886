"""Fifty parties against a key: over what reading and reducing the same logs takes. Prints the ratio; asserts nothing."""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from tests.compare.camp import VALLEY, no_files, walked_again
from traverse.compare.against_key import against_key
from traverse.compare.scheme import read_scheme
from traverse.compile import compile_log
from traverse.source import Source

PARTIES = 50
SLIPS = (("4.7 E", "4.7 W"), ("dip-direction", "dip-left"), ("double 100 m in", "double 200 m in"))
AIM_CLEAN, AIM_SLIP = 2.0, 8.0


def logs():
    """Every second party with a slip of its heading."""
    for seed in range(PARTIES):
        text = walked_again(VALLEY, seed)
        yield text.replace(*SLIPS[seed // 2 % len(SLIPS)]) if seed % 2 else text


def main():
    scheme = read_scheme(None)[0].value
    key = compile_log(Source(name="key.trav", text=VALLEY), load=no_files).trav
    reading, comparing = [0.0, 0.0], [0.0, 0.0]
    for seed, text in enumerate(logs()):
        started = time.perf_counter()
        compiled = compile_log(Source(name="party.trav", text=text), load=no_files)
        read = time.perf_counter()
        if compiled.failed:
            continue
        against_key("party.trav", compiled, key, scheme, no_files)
        reading[seed % 2] += read - started
        comparing[seed % 2] += time.perf_counter() - read
    told("comparing over reading, parties without a slip", comparing[0] / reading[0], AIM_CLEAN)
    told("comparing over reading, with a slip of the heading", comparing[1] / reading[1], AIM_SLIP)


if __name__ == "__main__":
    main()
