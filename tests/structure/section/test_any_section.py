"""Whatever a page says, its section is drawn or the page says why not."""

import math

from hypothesis import given
from hypothesis import strategies as st

UNITS = ("Dd", "Cc", "Bb", "Aa")
HEAD = (
    "notation 1\nbearings true\nattitudes dip-direction\n"
    + "".join(
        f"unit {one} Unit {one} ; {age}\n" for one, age in zip(UNITS, ("Quaternary", "", "", ""), strict=True)
    )
    + "control 0 1000 E 1000 N 100 m\nat 0\nunit Aa\n"
)

attitude = st.one_of(
    st.just("flat"),
    st.builds(
        lambda way, dip, over: f"{way:03d}/{dip}{' overturned' if over and dip else ''}",
        st.integers(0, 359),
        st.integers(0, 90),
        st.booleans(),
    ),
)
pair = st.sampled_from([f"{a}/{b}" for i, a in enumerate(UNITS) for b in UNITS[i + 1 :]])
certainty = st.sampled_from(("certain", "approximate", "inferred ±5 m", "concealed"))
thing = st.one_of(
    st.builds("bed {}".format, attitude),
    st.builds("contact {} {}".format, pair, certainty),
    st.builds("unconformity {} {}".format, pair, certainty),
    st.builds("fault {} certain {:03d}/{}".format, pair, st.integers(0, 359), st.integers(0, 90)),
    st.builds("fault {} approximate".format, pair),
    st.just("crossbed 25->080"),
    st.just("sample S"),
)
leg = st.tuples(
    st.integers(0, 359),
    st.integers(5, 200),
    st.integers(-30, 30),
    st.lists(st.tuples(st.floats(0, 1), thing), max_size=4),
)


def written(legs, section):
    lines, samples = [], 0
    for index, (azimuth, length, slope, things) in enumerate(legs, start=1):
        lines.append(f"to {index} {azimuth:03d} {length}m {slope:+d}")
        for share, what in things:
            samples += what == "sample S"
            lines += [f"along {share * length:.2f}m", f"{what}{samples}" if what == "sample S" else what]
    return HEAD + "\n".join([*lines, section.format(last=len(legs)), ""])


@given(
    st.lists(leg, min_size=1, max_size=7),
    st.sampled_from(
        (
            "section A-A' from 0 to {last}",
            "section A-A' 090 through 0, project strike",
            "section A-A' 045 through {last}, project plunge, depth 200 m",
            "",
        )
    ),
)
def test_every_line_stays_in_finite_space_and_pieces_join(compile_text, legs, section):
    compiled = compile_text(written(legs, section), errors=True)
    if compiled.failed:
        return
    for one in compiled.geology.sections:
        for construction in (one.construction, one.arcs):
            if construction is None:
                continue
            for line in construction.lines:
                for before, after in zip(line.pieces, line.pieces[1:], strict=False):
                    assert math.dist(before.points[-1], after.points[0]) < 1e-6
                for piece in line.pieces:
                    for distance, up in piece.points:
                        assert -1e-6 <= distance <= one.length_m + 1e-6
                        assert math.isfinite(up)
            assert all(sentence.endswith(".") for sentence in construction.sentences)
    assert all(one.words[-1] in ".?" for one in compiled.geology.findings)
