"""The same log gives the same bytes whichever way the machine adds and takes sines.

One process for the narrowest and the widest kernel that this processor has: the kernel of linear algebra is chosen by
a variable of OpenBLAS, the width of numpy's own loops and the C library's sines by one each. Another library or
processor than those named ignores them, and the comparison then holds of itself.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
WIDE = "X86_V4 AVX512_ICL AVX512_SPR"
KERNELS = {
    "plain": {
        "OPENBLAS_CORETYPE": "Prescott",
        "NPY_DISABLE_CPU_FEATURES": f"X86_V3 {WIDE}",
        "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX2,-FMA,-AVX512F",
    },
    "middle": {"OPENBLAS_CORETYPE": "Haswell", "NPY_DISABLE_CPU_FEATURES": WIDE},
    "wide": {"OPENBLAS_CORETYPE": "SkylakeX"},
}
NEEDS = {"plain": set(), "middle": {"AVX2", "FMA3"}, "wide": {"AVX512F"}}

HEAD = (
    "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ;\nunit Aa Lower ;\n"
    "control 0 412350 E 4289020 N 100 m ±3\n"
)
HARD = {
    # Loops that share legs, adjusted by least squares, with an error ellipse that is nearly a circle.
    "network": HEAD
    + "at 0\nunit Aa\nbed 120/30\nto 1 000 100m +2\nalong 50m\ncontact Bb/Aa certain\nat 1\nunit Bb\nbed 120/34\n"
    "to 2 090 101m level\nunit Bb\nto 3 180 99m -2\nunit Bb\nbed 300/45\nclose 0 271 100m level\nat 1\nclose 3 135 142m -1\n"
    "at 2\nto 4 090 100m level\nbed 300/45\nunit Bb\nto 5 180 100m level\nclose 3 270 101m level\n"
    "section A-A' from 0 via 3 to 5, project strike\n",
    # Stations, beds and a contact exactly at the bends of a section over one plane; the dip midway between two beds.
    "bends": HEAD
    + "at 0\nunit Aa\nbed 128/32\nto 1 100 150m level\nunit Aa\nbed 128/32\nto 2 140 150m level\ncontact Bb/Aa certain\n"
    "bed 128/40\nto 3 170 150m level\nunit Bb\nbed 128/50\nsection A-A' from 0 via 1 via 2 to 3, depth 200 m\n",
    # A fold: poles in two planes, a level axis, beds as near to a contact on either side, legs that run on in one line.
    "fold": HEAD
    + "at 0\nunit Aa\nbed 090/40\nto 1 090 100m level\nunit Aa\nbed 090/40\nalong 50m\ncontact Bb/Aa certain\nat 1\n"
    "to 2 090 100m level\nunit Bb\nbed flat\nto 3 090 100m level\nbed 270/40\nunit Bb\nalong 50m\ncontact Bb/Aa certain\nat 3\n"
    "to 4 090 100m level\nunit Aa\nbed 270/40\nbed 270/70\nclose 0 270 400m level\nsection A-A' from 0 to 4\n",
    # A bearing turned round: suspects are sought and ranked.
    "slip": HEAD + "at 0\nto 1 000 100m\nto 2 090 100m\nto 3 360 100m\nclose 0 270 100m\n",
}


def available():
    """Kernels that this processor has."""
    try:
        from numpy._core._multiarray_umath import __cpu_features__
    except ImportError:  # numpy 1
        from numpy.core._multiarray_umath import __cpu_features__

    return [name for name in KERNELS if all(__cpu_features__.get(one, False) for one in NEEDS[name])]


def ends(kernels):
    """The narrowest and the widest; `.ci/kernels` runs all."""
    return list(dict.fromkeys([kernels[0], kernels[-1]]))


# Run in a process of its own: digests of what is exported and drawn of every log named.
WORK = """
import hashlib, json, sys
from pathlib import Path
from traverse.command.drawing import compiled_log, mark_of
from traverse.command.files import LogFiles
from traverse.output.json_file import write_json
from traverse.output.pdf import write_pdf
from traverse.compile import map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.template.reading import read_template

template = read_template("field").value
found = {}
for path in sys.argv[1:]:
    one = compiled_log(LogFiles(path), "sheet.pdf", "sheet")
    sheet = compose(map_ground(one.trav), one.diagnostics, template=template, mark=mark_of(one)).value
    for what, data in (
        ("json", write_json(one.log, one.trav, one.diagnostics)), ("pdf", write_pdf(sheet))
    ):
        found[f"{Path(path).stem} {what}"] = hashlib.sha256(data).hexdigest()
print(json.dumps(found))
"""


@pytest.fixture(scope="module")
def digests(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hard")
    # The other samples are drawn under each kernel by `.ci/kernels`.
    paths = [str(ROOT / "samples" / "copperjar-wash" / "copperjar-wash.trav")]
    for name, text in HARD.items():
        (folder / f"{name}.trav").write_text(text, encoding="utf-8")
        paths.append(str(folder / f"{name}.trav"))
    running = {
        name: subprocess.Popen(
            [sys.executable, "-c", WORK, *paths],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1", **KERNELS[name]},
        )
        for name in ends(available())
    }
    found = {}
    outs = {name: process.communicate()[0] for name, process in running.items()}
    for name, process in running.items():
        assert process.returncode == 0, name
        found[name] = json.loads(outs[name])
    return found


@pytest.mark.thorough
def test_every_kernel_writes_the_same_bytes(digests):
    first, *others = digests
    assert len(digests[first]) == 2 * (len(HARD) + 1)
    for other in others:
        differ = [what for what, digest in digests[first].items() if digest != digests[other][what]]
        assert differ == [], f"{first} and {other}"
